"""An accepted plan against what was done: each line done or not and why, hours and money, totals next to each other."""

import polars as pl

from collection.attention.decisions import standing_decisions, watched
from collection.facts.facts import Facts
from collection.frames import returns
from collection.planning.accepted import AcceptedPlan, Happened
from collection.planning.situation import currency
from collection.questions.triage import Triage
from collection.questions.words import count, day_in_words, percent
from collection.questions.year_plan import money_words
from schemas.vocabularies import vocabulary

# One line of the plan. title: of the object, else the name of the place. stands: in words, done or why not. hours [h],
# money: what treatments of the option took, null where none is finished. worth: of the plan, in its unit.
FOLLOWED = pl.Schema(
    {"year": pl.Int32, "option_id": pl.String, "object_id": pl.String, "title": pl.String}
    | {"steps": pl.String, "done": pl.Boolean, "stands": pl.String, "finished_on": pl.Date}
    | dict.fromkeys(("hours_planned", "hours", "money_planned", "money", "worth"), pl.Float64)
)
# A year of the plan, and all of it (year null): what was planned and what was done. worth: of the plan's lines.
TOTALS = pl.Schema(
    {"year": pl.Int32, "lines": pl.UInt32, "done": pl.UInt32}
    | dict.fromkeys(("hours_planned", "hours", "money_planned", "money", "worth_planned", "worth_done"), pl.Float64)
)
PAIRS = (("hours_planned", "hours"), ("money_planned", "money"))
c = pl.col


@returns(FOLLOWED)
def followed(triage: Triage, plan: AcceptedPlan) -> pl.DataFrame:
    """Every line of an accepted plan with what came of it, by year and option, schema FOLLOWED."""
    known = triage.collection
    names = known["location"].select("location_id", place=pl.coalesce("name", "location_id"))
    options = (
        known["option"]
        .join(names, on="location_id", how="left")
        .select("option_id", "object_id", "steps", "status", "place")
    )
    titles = known["object"].select("object_id", "title", object_status="status")
    rows = plan.lines.join(options, on="option_id", how="left").join(titles, on="object_id", how="left")
    treated = rows.join(_treatments(triage), on="option_id", how="left").join(_left(triage), on="object_id", how="left")
    labels = vocabulary("treatment_step").labels()
    worded = treated.with_columns(
        steps=c("steps").list.eval(pl.element().replace(labels)).list.join(", "),
        title=pl.coalesce("title", "place"), done=_done(), hours_planned="hours",
        money_planned=c("money").cast(pl.Float64),
    ).with_columns(stands=_stands(triage), hours="hours_done", money="money_done")  # fmt: skip
    return worded.select(c(n).cast(t) for n, t in FOLLOWED.items()).sort("year", "option_id")


def _treatments(triage: Triage) -> pl.DataFrame:
    """By option: begun_on, finished_on of its treatments, hours and money of those that are finished."""
    rows = triage.collection["treatment"].drop_nulls("option_id")
    finished = c("finished_on").is_not_null()
    spent = {"hours_done": "hours", "money_done": "materials_cost"}
    sums = {
        name: pl.when(c(column).filter(finished).count() > 0).then(c(column).filter(finished).cast(pl.Float64).sum())
        for name, column in spent.items()
    }
    return rows.group_by("option_id").agg(c("started_on").min(), c("finished_on").max(), **sums)


def _left(triage: Triage) -> pl.DataFrame:
    """object_id, left: objects of which a decision in force leaves or watches the whole."""
    facts = Facts(triage.collection, triage.risk, triage.rates)
    both = pl.concat([standing_decisions(facts).select("object_id"), watched(facts).select("object_id")])
    return both.unique().with_columns(left=pl.lit(value=True)).collect(engine="in-memory")


def _done() -> pl.Expr:
    carried_out = c("status").is_in(vocabulary("option_status").terms_where("carried_out")).fill_null(value=False)
    return c("finished_on").is_not_null() | carried_out


def _stands(triage: Triage) -> pl.Expr:
    """Done, or why not, in words."""
    status = vocabulary("option_status")
    away = c("object_status").is_in(vocabulary("object_status").terms_where("away")).fill_null(value=False)
    begun = pl.format("begun {}, not finished", c("started_on").dt.strftime("%-d %B %Y"))
    finished = pl.format("done {}", c("finished_on").dt.strftime("%-d %B %Y"))
    year = triage.as_of.year
    return (
        pl.when(c("finished_on").is_not_null()).then(finished)
        .when("done").then(pl.lit("done"))
        .when(c("status").is_in(status.terms_where("given_up"))).then(pl.lit("given up"))
        .when(away).then(pl.lit("the object is not here"))
        .when(c("left") & ~c("must").fill_null(value=False)).then(pl.lit("a decision leaves the object as it is"))
        .when(c("started_on").is_not_null()).then(begun)
        .when(c("year") > year).then(pl.lit("its year is still to come"))
        .when(c("year") == year).then(pl.lit("waits; its year is not over"))
        .otherwise(pl.lit("waits; its year is over"))
    )  # fmt: skip


@returns(TOTALS)
def totals(rows: pl.DataFrame) -> pl.DataFrame:
    """By year and in all (last, year null), schema TOTALS. `rows`: schema FOLLOWED.

    worth: lines added up, which is more than the plan prevents where several act on one object.
    """
    sums = {name: c(name).sum() for pair in PAIRS for name in pair}
    worth = {"worth_planned": c("worth").sum(), "worth_done": c("worth").filter("done").sum()}
    figures = {"lines": pl.len(), "done": c("done").sum(), **sums, **worth}
    by_year = rows.group_by("year").agg(**figures).sort("year")
    whole = rows.select(year=pl.lit(None, pl.Int32), **figures)
    return pl.concat([f.select(c(n).cast(t) for n, t in TOTALS.items()) for f in (by_year, whole)])


def sentence(triage: Triage, plan: AcceptedPlan, rows: pl.DataFrame) -> str:
    """*PL1, made on figures of 30 September 2026: 4 of 18 lines done, 6 due by the end of 2027; they took 31 hours
    (planned 28) and 120 GBP (planned 140).*
    """
    due = rows.filter(c("year") <= triage.as_of.year)
    done = rows.filter("done")
    head = f"{plan.plan_id}, made on figures of {day_in_words(plan.made_on)}"
    lines = f"{done.height} of {count(rows.height, 'line')} done, {due.height} due by the end of {triage.as_of.year}"
    hours, money = (_against(done, *pair) for pair in PAIRS)
    took = [f"{hours[0]:,.0f} hours (planned {hours[1]:,.0f})"] if hours else []
    took += [f"{money_words(f'{money[0]:,.0f}', currency(triage))} (planned {money[1]:,.0f})"] if money else []
    rest = f"; they took {' and '.join(took)}" if took else ""
    return f"{head}: {lines}{rest}."


def not_done_sentence(rows: pl.DataFrame) -> str:
    """*Not done: 12 (its year is still to come), 2 (given up).* Empty where all is done.

    rows : schema FOLLOWED.
    """
    waiting = rows.filter(~c("done")).group_by("stands").agg(n=pl.len()).sort("n", "stands", descending=[True, False])
    each = ", ".join(f"{n} ({stands})" for stands, n in waiting.iter_rows())
    return f"Not done: {each}." if each else ""


def _against(done: pl.DataFrame, planned: str, actual: str) -> tuple[float, float] | None:
    """What was used and what was planned for the same lines; None where nothing is known."""
    known = done.drop_nulls([planned, actual])
    return (float(known[actual].sum()), float(known[planned].sum())) if known.height else None


def worth_sentence(plan: AcceptedPlan, rows: pl.DataFrame) -> str:
    """What the plan was to prevent, and how much of its lines' worth is done."""
    of_lines, done = float(rows["worth"].sum()), rows.filter("done")
    share = f"{percent(plan.prevented)} of the collection's value"
    prevented = share if plan.unit == "share" else f"{plan.prevented:,.0f} in insured value"
    head = f"It was to prevent {prevented} in {plan.horizon:g} years"
    if done.is_empty() or of_lines <= 0:
        return f"{head}; none of its lines is done."
    return (
        f"{head}; the lines done were {percent(float(done['worth'].sum()) / of_lines)} of the worth of all its lines."
    )


def happened_sentence(its: Happened) -> str:
    """*Of its 18 objects 5 were looked at since: the checks found 0.01 % of the collection's value lost.*"""
    if not its.objects:
        return ""
    if not its.checked:
        return f"None of its {count(its.objects, 'object')} was checked before and since: what was lost is not known."
    were = "was" if its.checked == 1 else "were"
    lost = f"{percent(its.lost)} of the collection's value lost" if its.lost else "nothing lost"
    more = f", and more in {count(its.unmeasured, 'place')} where nobody recorded how much" if its.unmeasured else ""
    return f"Of its {count(its.objects, 'object')} {its.checked} {were} checked since: the checks found {lost}{more}."
