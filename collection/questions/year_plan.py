"""A plan in words and as tables: what is done when, with whose hours, what it prevents and what it leaves undone."""

import polars as pl

from collection.frames import returns
from collection.plan.musts import MustsNotMet
from collection.plan.parameters import planning
from collection.plan.plan import Plan
from collection.plan.stability import Stability
from collection.questions.triage import Triage
from collection.questions.words import count, percent, rounded_up
from collection.risk.parameters import HowSure, read
from schemas.vocabularies import vocabulary

SCHEDULE = pl.Schema(
    [("year", pl.Int32())]
    + [(n, pl.String()) for n in ("option_id", "object_id", "title", "place", "steps", "skill")]
    + [(n, pl.Float64()) for n in ("hours", "money", "worth")]
    + [("must", pl.Boolean())]
)
IN_DRAWS = pl.Schema({**SCHEDULE, "in_draws": pl.Float64()})
UNDONE = pl.Schema(
    [(n, pl.String()) for n in ("object_id", "title", "steps", "why")]
    + [("loss_expected", pl.Float64()), ("option_id", pl.String())]
)
USE = pl.Schema([("year", pl.Int32()), ("what", pl.String())] + [(n, pl.Float64()) for n in ("used", "limit", "price")])
MONEY = "money"
c = pl.col


@returns(SCHEDULE)
def schedule(triage: Triage, plan: Plan) -> pl.DataFrame:
    """Treatments and works on places by year, what prevents most first; schema SCHEDULE.

    worth: what more would be lost without the line, in the plan's unit.
    """
    hours = plan.basis.program.situation.option_hours.group_by("option_id").agg(c("hours").sum())
    places = plan.places.join(hours, on="option_id", how="left").with_columns(
        object_id=pl.lit(None, pl.String), must=pl.lit(value=False)
    )
    both = pl.concat([plan.lines, places.select(*plan.lines.columns)])
    rows = described(triage, both)
    return rows.sort("year", "worth", "option_id", descending=[False, True, False]).select(
        c(n).cast(t) for n, t in SCHEDULE.items()
    )


@returns(IN_DRAWS)
def with_draws(rows: pl.DataFrame, draws: Stability) -> pl.DataFrame:
    """Lines of the plan with in_draws, the share of draws in which each is planned, prices held; schema IN_DRAWS.

    rows : schema SCHEDULE.
    """
    shares = draws.rows.select("option_id", "in_draws")
    return rows.join(shares, on="option_id", how="left", maintain_order="left")


@returns(UNDONE)
def left_undone(triage: Triage, plan: Plan) -> pl.DataFrame:
    """Open options that are not in the plan, with why; those without hours too. What loses most first; schema UNDONE.

    loss_expected: what the object is expected to lose over the horizon if nothing is done, in the plan's unit; null
    where another option of the object is planned.
    """
    both = pl.concat([plan.left_out, plan.no_hours])
    options = triage.collection["option"].select("option_id", "object_id")
    objects = plan.basis.program.situation.objects["object_id"]
    expected = pl.DataFrame({"object_id": objects, "loss_expected": plan.basis.program.loss_now})
    undone = expected.join(plan.lines.select("object_id"), on="object_id", how="anti")
    rows = both.join(options, on="option_id", how="left").join(undone, on="object_id", how="left")
    ordered = described(triage, rows).sort("loss_expected", "option_id", descending=[True, False], nulls_last=True)
    return ordered.select(c(n).cast(t) for n, t in UNDONE.items())


@returns(USE)
def use_of_limits(plan: Plan) -> pl.DataFrame:
    """Money and hours of each year against what there is, and what one more of them prevents; schema USE."""
    labels = vocabulary("skill").labels()
    skill = c("skill").replace_strict(labels, default=c("skill")).str.to_lowercase()
    what = pl.when(c("skill").is_null()).then(pl.lit(MONEY)).otherwise(pl.format("hours of {}", skill))
    return plan.limits.with_columns(what=what).select(c(n).cast(t) for n, t in USE.items()).sort("year", "what")


def described(triage: Triage, rows: pl.DataFrame) -> pl.DataFrame:
    """Rows with option_id and object_id, with title, place, steps and skill in words added."""
    known = triage.collection
    named = pl.element().replace_strict(vocabulary("treatment_step").labels(), default=pl.element())
    steps = c("steps").list.eval(named)
    labels = vocabulary("skill").labels()
    options = known["option"].select(
        "option_id", steps=steps.list.join(", "), at="location_id",
        skill=c("skill").replace_strict(labels, default=c("skill")),
    )  # fmt: skip
    objects = known["object"].select("object_id", "title", "location_id")
    names = known["location"].select("location_id", place=pl.coalesce("name", "location_id"))
    joined = rows.join(options, on="option_id", how="left").join(objects, on="object_id", how="left")
    return joined.with_columns(location_id=pl.coalesce("at", "location_id")).join(names, on="location_id", how="left")


def sentence(plan: Plan) -> str:
    """*38 treatments and one work on a place over 3 years prevent 0.33 % of the collection's value, of the 0.88 %
    expected to be lost in 10 years; no plan can prevent more than 0.331 %.*
    """
    works = count(plan.lines.height, "treatment")
    if plan.places.height:
        works += f" and {count(plan.places.height, 'work on a place', 'works on places')}"
    if not plan.lines.height and not plan.places.height:
        return "Nothing on record is worth doing with this money and these hours: the plan is empty."
    years, horizon = count(plan.years, "year"), f"{plan.horizon:g}"
    expected = f"{plan.expected:,.0f}" if plan.in_money else percent(plan.expected)
    lost = f"of {expected} expected to be lost in {horizon} years"
    head = f"{works} over {years} {'prevents' if plan.lines.height + plan.places.height == 1 else 'prevent'}"
    return f"{head} {worth_words(plan, plan.prevented)}, {lost}; {bound_words(plan)}."


def bound_words(plan: Plan) -> str:
    """How far from the best plan there can be."""
    if plan.proved:
        return "proved best within 0.01 % of what any plan could prevent"
    stopped = f", stopped at {plan.stopped:g} s" if plan.stopped is not None else ""
    return f"no plan can prevent more than {worth_words(plan, plan.bound)}{stopped}"


def worth_words(plan: Plan, worth: float) -> str:
    """A worth in the unit of the plan."""
    return f"{worth:,.0f} in insured value" if plan.in_money else f"{percent(worth)} of the collection's value"


def rules_sentence(plan: Plan) -> str:
    """By how much the plan does better than both rules of thumb."""
    sentences = [
        f"{row['name']} would prevent {worth_words(plan, row['prevented'])}" for row in plan.rules.iter_rows(named=True)
    ]
    return f"Beside it: {'; '.join(sentences)}." if sentences else ""


def _agreement(draws: Stability) -> str:
    """In how many of the full solves the lines stand as with prices held, and whether that is a guide."""
    if draws.agree is None:
        return ""
    poor = ": too few for the draws to be a guide here" if draws.agree < planning().agree_from else ""
    return f"; {draws.solved} solved in full agree in {draws.agree * 100:.0f} %{poor}"


def draws_sentence(draws: Stability) -> str:
    """*Of 18 lines 13 stay in the plan whatever starting values you believe within their ranges; 1 not in it ...*"""
    rows, share, sure = draws.rows, c("in_draws"), read(HowSure, "lines", "how_sure")
    lines = rows.filter("planned")
    if lines.is_empty():
        return ""
    firm = lines.filter(share >= sure.always).height
    others = rows.filter(~c("planned"), share >= sure.open).height
    stay = f"{firm} {'stays' if firm == 1 else 'stay'} in the plan whatever starting values you believe"
    rest = f"; {others} not in it would be in more often than out" if others else ""
    stopped = ", stopped before all were done" if draws.stopped else ""
    basis = f"prices held, {draws.draws:,} draws{stopped}{_agreement(draws)}"
    return f"Of {count(lines.height, 'line')} {stay} within their ranges{rest} ({basis})."


def not_met_sentence(asked: MustsNotMet) -> str:
    """Which musts no plan meets, and the least more that would do."""
    if asked.impossible:
        return f"No option on record meets {', '.join(asked.impossible)} by its day: give it one, or another day."
    clash = f"{', '.join(asked.conflict)} cannot {'all ' if len(asked.conflict) > 1 else ''}be met"
    each = [_extra_words(row, asked.currency) for row in asked.extras.iter_rows(named=True)]
    alone = "any one of these alone would do" if len(each) > 1 else "this alone would do"
    enough = f"{alone}: {'; '.join(each)}" if each else "more of one limit alone does not do"
    return f"{clash}; {enough}."


def money_words(amount: str, currency: str | None) -> str:
    """*420 GBP*, by the code of ISO 4217; *420 of money* where no currency is on record."""
    return f"{amount} {currency or 'of money'}"


def _extra_words(row: dict[str, object], currency: str | None) -> str:
    extra = rounded_up(float(str(row["extra"])))
    if row["skill"] is None:
        return f"another {money_words(extra, currency)} in {row['year']}"
    label = vocabulary("skill").labels().get(str(row["skill"]), str(row["skill"]))
    return f"{extra} more hours of {label.lower()} in {row['year']}"
