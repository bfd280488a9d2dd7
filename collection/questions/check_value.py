"""What a check of an object nobody has checked is worth, and which to check in the hours there are."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import polars as pl

from collection.frames import returns
from collection.plan.assembly import assemble
from collection.plan.look_value import inspection_round
from collection.plan.parameters import asking, planning
from collection.plan.program import Program
from collection.planning.situation import Question, situation_of
from collection.questions.not_yet_checked import Expected
from collection.questions.triage import Triage
from collection.questions.words import count, two_figures
from collection.questions.work_ahead import hours_there_are
from collection.risk.expectation import Expectation
from collection.risk.unchecked import starting

# chance: of a loss at or above the museum's limit. check_worth [share of the collection's value]: over the horizon of a
# plan, less what the hours of the check are worth elsewhere. hours [h]: of the check.
CHECK_VALUE = pl.Schema(
    dict.fromkeys(("object_id", "title", "place", "kind"), pl.String)
    | dict.fromkeys(("chance", "check_worth", "hours"), pl.Float64)
)
Array = npt.NDArray[np.float64]
c = pl.col


@dataclass(frozen=True)
class Job:
    """A usual treatment: years of loss that it prevents [year], its price, and what the last hour of the year's hours
    prevents, both as shares of the collection's value.
    """

    years_prevented: float
    hour_worth: float
    price: float


def usual_job(triage: Triage) -> Job | None:
    """The usual treatment, judged by the museum's proposals; None where none can be planned, or no hours are set."""
    figures, there_are = planning(), hours_there_are(triage)
    program = assemble(situation_of(triage, Question()), figures)
    gains = _gains(triage, program)
    if gains.is_empty() or not there_are:
        return None
    ordered = gains.sort(c("gain") / c("hours"), descending=True)
    inside = ordered.filter((c("hours").cum_sum() <= there_are) | (c("hours").cum_count() == 1))
    last = inside.row(-1, named=True)
    worth = last["gain"] / last["hours"]
    years = float(gains.select((c("gain") / c("lost_a_year")).median()).item())
    return Job(years, worth, worth * float(np.mean(gains["hours"].to_numpy())))


def _gains(triage: Triage, program: Program) -> pl.DataFrame:
    """Of each object the option that gains most: gain [share of the collection's value], hours [h], lost_a_year."""
    its = program.situation
    numbers = pl.Series(list(program.gain_alone), dtype=pl.Int64)
    rows = its.options.select("option_id", "object_id")[numbers.to_list()].with_columns(
        gain=pl.Series(list(program.gain_alone.values()), dtype=pl.Float64)
    )
    lost = triage.risk.objects.select("object_id", lost_a_year=c("annual_loss") * c("value_share"))
    hours = its.option_hours.group_by("option_id").agg(c("hours").sum())
    both = rows.join(hours, on="option_id").join(lost, on="object_id").filter(
        c("gain") > 0, c("hours") > 0, c("lost_a_year") > 0
    )  # fmt: skip
    return both.sort("gain", "option_id", descending=[True, False]).unique("object_id", maintain_order=True)


@returns(CHECK_VALUE)
def check_values(triage: Triage, its: Expected, job: Job) -> pl.DataFrame:
    """What a check of each object waiting is worth, most an hour first, schema CHECK_VALUE."""
    learned, values, rows = its.first.expectation, starting(), its.waiting
    kind, odds = rows["kind"].to_numpy(), rows["odds"].to_numpy()
    chance = learned.chance_above(kind, rows["room"].to_list(), odds, values.chance_at_most)
    hours = np.full(rows.height, asking().check_hours)
    limits = triage.rates.lines.treat_from, values.largest_loss
    worth = worth_of_checks(chance, rows["weight"].to_numpy(), learned, job, limits) - hours * job.hour_worth
    titles = triage.collection["object"].select("object_id", "title", "location_id")
    places = triage.collection["location"].select("location_id", place=pl.coalesce("name", "location_id"))
    labels = {n: its.label for n, its in enumerate(values.kind)}
    full = rows.select("object_id", kind=c("kind").replace_strict(labels, return_dtype=pl.String)).with_columns(
        chance=pl.Series(chance), check_worth=pl.Series(worth), hours=pl.Series(hours)
    )
    named = full.join(titles, on="object_id", how="left").join(places, on="location_id", how="left")
    ordered = named.sort(c("check_worth") / c("hours"), "object_id", descending=[True, False])
    return ordered.select(c(n).cast(t) for n, t in CHECK_VALUE.items())


def worth_of_checks(chance: Array, value: Array, learned: Expectation, job: Job, limits: tuple[float, float]) -> Array:
    """What knowing the loss of each object is worth, in the unit of `value`, before the price of the check.

    With y the loss a year, of density in proportion to y^(-a - 1) between the museum's limit and the largest loss (the
    `limits`), a treatment is worth value x years prevented x y - price; it is done where that is above 0. Nothing is
    treated that nobody has checked.
    """
    least, largest = limits
    a, gain = learned.size_index, value * job.years_prevented
    with np.errstate(divide="ignore", invalid="ignore"):
        treated = np.clip(np.where(gain > 0, job.price / gain, np.inf), least, largest)
    weight = 1 / (least**-a - largest**-a)
    power = 1 - a
    mean = np.log(largest / treated) if abs(power) < SMALL else a / power * (largest**power - treated**power)
    above = gain * weight * mean - job.price * weight * (treated**-a - largest**-a)
    return np.asarray(chance * above)


SMALL = 1e-9


@returns(CHECK_VALUE)
def round_of_checks(values: pl.DataFrame, hours: float) -> pl.DataFrame:
    """The checks to do in so many hours [h], highest worth an hour first, schema CHECK_VALUE; their worth holds one by
    one.
    """
    picked = inspection_round(values["check_worth"].to_numpy(), values["hours"].to_numpy(), hours)
    chosen: pl.DataFrame = values[picked.tolist()]
    return chosen


def round_sentence(chosen: pl.DataFrame, values: pl.DataFrame, hours: float) -> str:
    """*In 20 hours check these 40 first, half an hour each: expect about 6 above the museum's limit.*"""
    within = f"In {two_figures(hours)} {'hour' if hours == 1 else 'hours'}"
    if chosen.is_empty():
        return f"{within} no check here is worth its time, judged by what proposals prevent so far."
    expected = two_figures(float(chosen["chance"].sum()))
    return (
        f"{within} check these {count(chosen.height, 'object')} first, of {values.height:,} not yet checked: expect"
        f" about {expected} of them above the museum's limit."
    )
