"""A plan on one page for the director, and as a workbook: both from the frames that the page of the plan shows."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

import polars as pl

from collection.documents.cells import paragraphs
from collection.documents.document import Block, Document
from collection.documents.lists import document
from collection.documents.sheet import workbook_of_sheets
from collection.documents.words import columns, say, sheet_heading, sheet_name, text, title
from collection.plan.plan import Plan
from collection.plan.stability import Stability
from collection.questions.plan_sentences import undone_sentence
from collection.questions.plan_tables import (
    by_way,
    by_year,
    in_reading_unit,
    money_unit,
    use_of_funds,
)
from collection.questions.triage import Triage
from collection.questions.words import count, coverage_sentence, day_in_words, two_figures
from collection.questions.year_plan import (
    draws_sentence,
    left_undone,
    schedule,
    sentence,
    use_of_limits,
    with_draws,
    worth_words,
)

ROOM = 15  # lines of the schedule and years that the page has room for
PERCENT = 100  # in a whole
BY_YEAR = ("year", "treatments", "places", "takes")
SCHEDULE = ("year", "object", "title_or_place", "steps", "hours", "money")
PREVENTS = {False: "prevents", True: "prevents_money"}  # by whether worth is money
UNDONE = ("reason_left", "proposals", "loss_most")
c = pl.col


def plan_page(triage: Triage, plan: Plan, asked: str = "") -> Document:
    """The page for the director. `asked`: a sentence on the money and hours it was made for."""
    rows, undone, prevents = schedule(triage, plan), left_undone(triage, plan), PREVENTS[plan.in_money]
    first = [sentence(plan), asked, coverage_sentence(triage.coverage()), triage.settings.invented, text("house_only")]
    blocks = [
        Block("text", "", paragraphs(first)),
        Block("numbers", "", tuple(_numbers(plan))),
        Block("table", title("years"), tuple(_years(plan)), columns(*BY_YEAR)),
        Block("table", title("lines"), tuple(_lines(plan, rows)), columns(*SCHEDULE, prevents)),
        Block("table", title("undone"), tuple(_undone(plan, undone)), columns(*UNDONE)),
        Block("table", title("ways"), tuple(_ways(plan)), columns("way", prevents)),
    ]
    years = f"{plan.first_year}" if plan.years == 1 else f"{plan.first_year} to {plan.first_year + plan.years - 1}"
    return document("", f"{title('plan')} {years}, {day_in_words(triage.as_of)}", triage.as_of, blocks)


def plan_workbook(triage: Triage, plan: Plan, asked: str = "", draws: Stability | None = None) -> bytes:
    """The whole plan as a workbook, a sheet a table; with `draws`, in how many of them each line is planned."""
    rows, undone = schedule(triage, plan), left_undone(triage, plan)
    words = [
        sentence(plan),
        asked,
        draws_sentence(draws) if draws else "",
        undone_sentence(undone),
        coverage_sentence(triage.coverage()),
        triage.settings.invented,
    ]
    sheets = {
        "summary": pl.DataFrame({"sentence": [w for w in words if w]}, schema={"sentence": pl.String}),
        "years": by_year(plan),
        "schedule": with_draws(rows, draws) if draws else rows,
        "limits": use_of_limits(plan),
        "funds": use_of_funds(plan),
        "undone": undone,
        "ways": by_way(plan),
    }
    return workbook_of_sheets({sheet_name(name): _headed(plan, frame) for name, frame in sheets.items()})


def _headed(plan: Plan, frame: pl.DataFrame) -> pl.DataFrame:
    """A frame in the unit a person reads, its columns headed in words."""
    read = in_reading_unit(plan, frame)
    return read.rename({name: sheet_heading(name) for name in read.columns})


def _numbers(plan: Plan) -> Iterator[Mapping[str, str]]:
    """What is prevented, what is done, what it costs."""
    worth = worth_words(plan, plan.prevented)
    figure = worth.removeprefix("about ").removesuffix(" of the collection's value").removesuffix(" in insured value")
    unit = "of insured value" if plan.in_money else "of the collection's value"
    yield {"label": figure, "text": f"{unit} is kept from being lost in {plan.horizon:g} years"}
    works = f"and {count(plan.places.height, 'work on a place', 'works on places')}" if plan.places.height else ""
    treatments = "treatment" if plan.lines.height == 1 else "treatments"
    yield {"label": f"{plan.lines.height:,}", "text": f"{treatments} {works} in {count(plan.years, 'year')}"}
    money, hours = (plan.limits.filter(c("skill").is_null() == m)["used"].sum() for m in (True, False))
    yield {"label": f"{money:,.0f} {money_unit(plan)}", "text": f"and {hours:,.0f} hours"}


def _years(plan: Plan) -> Iterator[Mapping[str, str]]:
    for row in by_year(plan).iter_rows(named=True):
        yield {name: str(row[name]) for name in BY_YEAR}


def _lines(plan: Plan, rows: pl.DataFrame) -> Iterator[Mapping[str, str]]:
    """The lines that prevent most, in order of the years; the rest is counted."""
    most = rows.with_row_index("at").sort("worth", descending=True).head(ROOM - plan.years).sort("at")
    for row in most.iter_rows(named=True):
        yield _line(plan, row)
    if (rest := rows.height - most.height) > 0:
        yield {"year": "", "title_or_place": say("and_more", count=rest)}


def _line(plan: Plan, row: Mapping[str, Any]) -> Mapping[str, str]:
    must = f" ({say('must')})" if row["must"] else ""
    return {
        "year": str(row["year"]),
        "object": row["object_id"] or "",
        "title_or_place": (row["title"] or row["place"] or "").split(",")[0],
        "steps": f"{row['steps'] or row['option_id']}{must}",
        "hours": two_figures(row["hours"]) if row["hours"] else "",
        "money": f"{row['money']:,.0f}",
        PREVENTS[plan.in_money]: _worth(plan, row["worth"]),
        "option_id": row["option_id"],
    }


def _worth(plan: Plan, worth: float | None) -> str:
    """Two figures, however small: they are compared with each other."""
    if worth is None:
        return say("not_met")
    return f"{worth:,.0f}" if plan.in_money else f"{two_figures(worth * PERCENT)} %"


def _undone(plan: Plan, undone: pl.DataFrame) -> Iterator[Mapping[str, str]]:
    counted = undone.group_by("why").agg(n=pl.len(), most=c("loss_expected").max())
    for why, n, most in counted.sort("n", "why", descending=[True, False]).iter_rows():
        yield {"reason_left": why, "proposals": str(n), "loss_most": "" if most is None else _worth(plan, most)}


def _ways(plan: Plan) -> Sequence[Mapping[str, str]]:
    prevents = PREVENTS[plan.in_money]
    return [{"way": way, prevents: _worth(plan, prevented)} for way, prevented in by_way(plan).iter_rows()]
