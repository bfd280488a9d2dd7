"""Histories: from one inspection that covered a damage or repair to the next that did, what happened between.

Three counts, never mixed (risk model, section 6): loss, activation, and new damage (`collection.learning.new_damage`).

- Loss of a damage: growth beyond error (`collection.learning.growth`). Loss of a repair: it no longer works or does
  harm, and did not before; once it is in such a state, growth of the area where harm shows, where it was measured at
  both ends, else nothing is known. Of one not assessed at the start nothing is known either.
- Activation: at rest or not assessed at the start, seen moving (a repair: letting go, no longer working, doing harm)
  at the end. A repair that was at rest and has let go altogether counts under both.
- A treatment between drops the interval, event or not: what it ends is the one before, at the check before it. So does
  a change of look or of definitions, and closing as superseded. What is missing or lent ends at its last inspection.
"""

from collections.abc import Sequence

import polars as pl

from collection.frames import returns
from collection.learning.growth import growth_events
from collection.learning.inspected_lines import LINES, inspected_lines, treatments
from collection.risk.parameters import DAYS_A_YEAR
from collection.risk.rate_rows import REPAIR
from collection.risk.rates import RatesTable
from collection.risk.years import LIMIT_90
from collection.snapshot import Collection
from schemas.vocabularies import vocabulary

INTERVALS = pl.Schema(
    dict.fromkeys(("hazard_id", "object_id", "part", "source", "cell", "state", "check_id", "end_check_id"), pl.String)
    | {"rate_row": pl.Int32, "starts_on": pl.Date, "ends_on": pl.Date, "exposure_years": pl.Float64}
    | dict.fromkeys(("loss_event", "activation_event", "handled"), pl.Boolean)
)
MODIFIERS = pl.Schema({"hazard_id": pl.String, "check_id": pl.String, "modifier": pl.Float64})
BETWEEN = pl.Schema({"object_id": pl.String, "day": pl.Date})
AT_END = ("state", "seen_on", "position", "look", "definitions_version", "check_id", "loss_event", "harmed_known")
c = pl.col


@returns(INTERVALS)
def histories(
    collection: Collection, checks: pl.DataFrame, rates: RatesTable, modifiers: pl.DataFrame | None = None
) -> pl.DataFrame:
    """Intervals of every damage and repair of a collection cut to a day, schema INTERVALS.

    Parameters
    ----------
    checks : schema CHECKS, of `collection.risk.inspections.inspections`.
    modifiers : schema MODIFIERS, the mean modifier of the model over the interval that begins at a check; 1 where
        there is no row, which is what the register uses where the climate did not change or nobody measured it.

    Returns
    -------
    cell is that of the start. exposure_years = years x modifier, nothing for moves. loss_event, activation_event: null
    where it cannot be known. handled: an accident or a journey is on record between: no time at rest.
    """
    numbered = _with_treatment(inspected_lines(collection, checks, rates), collection)
    judged = _with_loss(numbered, rates)
    pairs = _pairs(judged)
    with_days = _with_handling(pairs, handled_days(collection, checks))
    modified = with_days if modifiers is None else with_days.join(modifiers, on=["hazard_id", "check_id"], how="left")
    factor = pl.lit(1.0) if modifiers is None else c("modifier").fill_null(1.0)
    years = (c("ends_on") - c("starts_on")).dt.total_days() / DAYS_A_YEAR
    flagged = modified.with_columns(exposure_years=years * factor, activation_event=_activation())
    return flagged.select(*INTERVALS).sort("hazard_id", "starts_on")


def _with_treatment(lines: pl.DataFrame, collection: Collection) -> pl.DataFrame:
    """Adds treated (how many treatments were before) and series, a damage between two of them, and last_ended [day]."""
    by_position = lines.lazy().sort("position").join_asof(
        treatments(collection), left_on="position", right_on="begun", by="object_id", check_sortedness=False
    )  # fmt: skip
    numbered = by_position.with_columns(treated=c("nth").fill_null(0)).rename({"ended": "last_ended"})
    named = numbered.with_columns(series=pl.format("{}/{}", "hazard_id", "treated"))
    return named.sort("hazard_id", "place_in_order").collect(engine="in-memory")


def _with_loss(lines: pl.DataFrame, rates: RatesTable) -> pl.DataFrame:
    """Adds loss: growth since the last event, at this line; and harmed_known."""
    relative = (rates.area_range.measured - 1) / LIMIT_90
    grown = growth_events(lines, rates.lines, relative)
    return lines.with_columns(loss_event=grown, harmed_known=c("measured").is_not_null())


def _pairs(lines: pl.DataFrame) -> pl.DataFrame:
    """Each line with the next of its damage, where the two bound an interval."""
    ends = {f"end_{name}": c(name).shift(-1).over("hazard_id") for name in (*AT_END, "last_ended")}
    both = lines.with_columns(**ends).filter(c("end_check_id").is_not_null())
    treated_between = (c("end_last_ended") > c("position")).fill_null(value=False)
    same_definitions = (c("definitions_version") == c("end_definitions_version")).fill_null(value=True)
    superseded = (c("superseded_on") <= c("end_seen_on")).fill_null(value=False)
    comparable = (c("look") == c("end_look")) & same_definitions & (c("end_seen_on") > c("seen_on"))
    apart = both.filter(comparable & ~treated_between & ~superseded)
    return apart.with_columns(starts_on="seen_on", ends_on="end_seen_on", loss_event=_loss())


def _loss() -> pl.Expr:
    """Of a damage what its lines tell; of a repair what became of it."""
    grave, unsaid = _of_stability("no_longer_works", "does_harm"), _of_stability("not_assessed")
    was, became = c("state").is_in(grave), c("end_state").is_in(grave)
    measured = c("harmed_known") & c("end_harmed_known")
    harm_began = c("end_state").is_in(_of_stability("does_harm")) & ~c("state").is_in(_of_stability("does_harm"))
    more_harm = pl.when(measured).then("end_loss_event")
    of_grave = pl.when(harm_began).then(pl.lit(value=True)).otherwise(more_harm)
    unknown = c("state").is_in(unsaid) | c("end_state").is_in(unsaid)
    of_repair = pl.when(was).then(of_grave).when(~unknown).then(became)
    return pl.when(c("source") == REPAIR).then(of_repair).otherwise("end_loss_event")


def _activation() -> pl.Expr:
    """Null for what was moving already, and where the end was not assessed."""
    resting, moving, unsaid = (_of_activity(f) for f in ("at_rest", "moving", "not_assessed"))
    damage = pl.when(c("state").is_in([*resting, *unsaid]) & ~c("end_state").is_in(unsaid))
    spoilt, still, unassessed = _of_stability("spoils"), _of_stability("at_rest"), _of_stability("not_assessed")
    repair = pl.when(c("state").is_in([*still, *unassessed]) & ~c("end_state").is_in(unassessed))
    of_damage, of_repair = damage.then(c("end_state").is_in(moving)), repair.then(c("end_state").is_in(spoilt))
    return pl.when(c("source") == REPAIR).then(of_repair).otherwise(of_damage)


def _of_activity(*flags: str) -> list[str]:
    return [term for flag in flags for term in vocabulary("activity").terms_where(flag)]


def _of_stability(*flags: str) -> list[str]:
    return [term for flag in flags for term in vocabulary("stability").terms_where(flag)]


def handled_days(collection: Collection, checks: pl.DataFrame) -> pl.DataFrame:
    """Days on which an object had an accident or began or ended a journey, schema BETWEEN."""
    accidents = checks.filter(c("occasion").is_in(vocabulary("occasion").terms_where("accident")))
    legs = collection["loan_leg"].select("loan_id", pl.concat_list("starts_on", "ends_on").alias("day")).explode("day")
    lent = collection["loan_object"].select("loan_id", "object_id").unique().join(legs, on="loan_id")
    journeys = list(vocabulary("packing").properties("counts_as"))
    moved = collection["move"].filter(c("packed").is_in(journeys)).select("object_id", day="moved_on")
    days = [accidents.select("object_id", day="seen_on"), lent.select("object_id", "day"), moved]
    return pl.concat(days).drop_nulls().unique().select(*BETWEEN).sort("day", "object_id")


def _with_handling(pairs: pl.DataFrame, days: pl.DataFrame) -> pl.DataFrame:
    """Adds handled: the last such day up to the end lies after the start."""
    last = pairs.sort("ends_on").join_asof(
        days.rename({"day": "last_handled"}), left_on="ends_on", right_on="last_handled", by="object_id",
        check_sortedness=False,
    )  # fmt: skip
    return last.with_columns(handled=(c("last_handled") > c("starts_on")).fill_null(value=False))


def at_rest(intervals: pl.DataFrame, count: str, cells: Sequence[str] | None = None) -> pl.DataFrame:
    """Intervals that say something of `count` (loss or activation) at rest: known, and nothing handled."""
    known = intervals.filter(c(count).is_not_null() & ~c("handled"))
    return known if cells is None else known.filter(c("cell").is_in(cells))


__all__ = ["BETWEEN", "INTERVALS", "LINES", "MODIFIERS", "at_rest", "handled_days", "histories"]
