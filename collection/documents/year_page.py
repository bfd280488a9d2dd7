"""The year on one page: in measures beside the year before with what each is, or in three numbers for trustees."""

from collections.abc import Iterator, Mapping

import polars as pl

from collection.documents.cells import paragraphs
from collection.documents.document import Block, Document
from collection.documents.lists import document
from collection.documents.words import columns, say, text, title
from collection.questions.changed_since import YEARLY, yearly
from collection.questions.statement import sentence, two_years
from collection.questions.triage import Triage
from collection.questions.where_lost import LOSSES, by_location
from collection.questions.words import count, coverage_sentence, day_in_words, percent

ROOMS = 8  # bars of the picture
CHANGED = ("measure", "then", "now")


def statement_page(triage: Triage, year: int, now: pl.DataFrame, before: pl.DataFrame, frozen: str = "") -> Document:
    """The page of one year; now, before: schema STATEMENT of the year and of the year before it.

    frozen : a sentence on what of them is frozen.
    """
    rows = two_years(now, before)
    first = [sentence(triage, year, rows), frozen, coverage_sentence(triage.coverage()), triage.settings.invented]
    headings = (*columns("measure"), ("before", f"{year - 1}"), ("now", f"{year}"))
    blocks = [
        Block("text", "", paragraphs(first)),
        Block("table", "", tuple(_figures(row) for row in rows.iter_rows(named=True)), headings),
        Block("text", "", paragraphs([text("statement_limits")])),
        Block("table", title("measures"), tuple(_defined(row, now) for row in rows.iter_rows(named=True)),
              columns("measure", "is_defined", "version")),
    ]  # fmt: skip
    return document("", f"{title('statement')} {year}", triage.as_of, blocks)


def _figures(row: Mapping[str, str]) -> Mapping[str, str]:
    return {"measure": row["label"], "before": row["before"], "now": row["now"]}


def _defined(row: Mapping[str, str], now: pl.DataFrame) -> Mapping[str, str]:
    """What a measure is, by which version, and that it was another in the year before."""
    its = now.filter(measure=row["measure"]).row(0, named=True)
    version = say("version_and_change", version=its["definitions_version"], changed=row["changed"]).strip("; ")
    return {"measure": its["label"], "is_defined": f"{row['definition']}; {its['method']}", "version": version}


def trustees_page(now: Triage, then: Triage | None) -> Document:
    """The page of the day of `now`; `then`: the collection a year before, None where nothing was known yet."""
    blocks = [
        Block("text", "", paragraphs([coverage_sentence(now.coverage()), now.settings.invented])),
        Block("numbers", "", tuple(_numbers(now))),
        Block("bars", title("picture"), tuple(_bars(now))),
        Block("text", "", paragraphs([text("bars")])),
        Block("table", title("changed"), tuple(_changed(now, then)), columns(*CHANGED)),
    ]
    return document("", f"{title('trustees')}, {day_in_words(now.as_of)}", now.as_of, blocks)


def _numbers(triage: Triage) -> Iterator[Mapping[str, str]]:
    """Objects that need attention now, share checked, value expected to be lost in a year."""
    coverage = triage.coverage()
    urgent = triage.objects.filter(pl.col("attention").is_in(triage.now)).height
    lost = float(by_location(triage, triage.objects).select(pl.sum_horizontal(LOSSES).sum()).item())
    verb = "needs" if urgent == 1 else "need"
    yield {"label": f"{urgent:,}", "text": f"of {count(triage.objects.height, 'object')} {verb} attention now"}
    share = coverage["checked"] / coverage["objects"] if coverage["objects"] else 0.0
    yield {"label": f"{share:.0%}".replace("%", " %"), "text": f"have been checked: {coverage['checked']:,}"}
    yield {
        "label": percent(lost),
        "text": "of the collection's value is expected to be lost in a year, if nothing is done",
    }


def _bars(triage: Triage) -> Iterator[Mapping[str, str]]:
    rooms = by_location(triage, triage.objects).head(ROOMS)
    total = pl.sum_horizontal(LOSSES)
    longest = float(rooms.select(total.max()).item() or 0.0)
    for row in rooms.with_columns(total=total).iter_rows(named=True):
        if longest and row["total"]:
            words = f"{percent(row['total'])}; {row['need_attention']} now"
            yield {"label": row["name"], "length": f"{row['total'] / longest:.4f}", "text": words}


def _changed(now: Triage, then: Triage | None) -> Iterator[Mapping[str, str]]:
    rows = yearly(now, then)
    for row in rows.select(YEARLY.names()).iter_rows(named=True):
        yield {"measure": row["measure"], "then": row["then"] or say("not_known"), "now": row["now"] or ""}
