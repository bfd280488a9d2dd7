"""What the checks of a survey say of all objects it stands for: shares by its design with limits, or why none."""

from dataclasses import dataclass

import numpy as np
import polars as pl

from collection.frames import returns
from collection.surveys.estimate import (
    Estimate,
    bounds,
    clusters,
    share,
    share_of_design,
    stratified,
    two_stage,
)
from collection.surveys.outcomes import is_seen, is_waiting
from schemas.vocabularies import vocabulary

RESULTS = pl.Schema(
    {"measure": pl.String, "value": pl.Float64, "low": pl.Float64, "high": pl.Float64, "n": pl.Int64}
    | {"affected": pl.Int64, "not_seen": pl.Int64, "least": pl.Float64, "most": pl.Float64}
    | {"method": pl.String, "refused": pl.String}
)
NO_CHANCES = "chances of being drawn are not known"
NOBODY = "nobody looked yet"
MORE_NOT_SEEN = "more could not be checked than were"
ONE_PLACE = "fewer than two places were checked"
ONE_EACH = "no group has two objects that were checked"
ALL_SEEN = "every object was checked"
c = pl.col


@dataclass(frozen=True)
class Refused:
    """Why there is no estimate."""

    reason: str


@returns(RESULTS)
def results(units: pl.DataFrame, answers: pl.DataFrame, sampling: str | None, confidence: float) -> pl.DataFrame:
    """A row for each measure, schema RESULTS.

    Parameters
    ----------
    units : schema UNITS. answers : unit_id, and a column of yes and no for each measure, of the units that were seen; a
    null is an object of which the check does not say. sampling : a term, null where nobody wrote it.

    Returns
    -------
    value, low, high : share of the objects that could be drawn. least, most : share of all that were drawn and do not
    wait, whatever those are that could not be seen. refused : why there is no value. A measure of which no check says
    anything has no row.
    """
    known = units.filter(~is_waiting())
    measures = [name for name in answers.columns if name != "unit_id"]
    seen = known.filter(is_seen()).join(answers, on="unit_id")
    answered = [name for name in measures if seen.is_empty() or seen[name].null_count() < seen.height]
    rows = [_row(name, units, known, seen.drop_nulls(name), sampling, confidence) for name in answered]
    return pl.DataFrame(rows, schema=RESULTS, orient="row")


def _row(
    name: str, units: pl.DataFrame, known: pl.DataFrame, seen: pl.DataFrame, sampling: str | None, confidence: float
) -> dict[str, object]:
    affected, not_seen = int(seen[name].sum()), known.height - seen.height
    least, most = bounds(affected, seen.height, known.height) if known.height else (None, None)
    row = {"measure": name, "n": seen.height, "affected": affected, "not_seen": not_seen, "least": least, "most": most}
    its = estimated(units, seen.rename({name: "yes"}), not_seen, sampling, confidence)
    if isinstance(its, Refused):
        return {**row, "value": None, "low": None, "high": None, "method": None, "refused": its.reason}
    return {**row, "value": its.value, "low": its.low, "high": its.high, "method": its.method, "refused": None}


def estimated(
    units: pl.DataFrame, seen: pl.DataFrame, not_seen: int, sampling: str | None, confidence: float
) -> Estimate | Refused:
    """The share of `seen` (with `yes`) by the design; units: all that were drawn, schema UNITS."""
    design = vocabulary("sampling")
    if seen.is_empty():
        return Refused(NOBODY)
    if not_seen > seen.height:
        return Refused(MORE_NOT_SEEN)
    if sampling is None or not _chances_known(units):
        return Refused(NO_CHANCES)
    if sampling in design.terms_where("by_cluster"):
        return _of_clusters(units, seen, sampling in design.terms_where("in_part"), confidence)
    if sampling in design.terms_where("by_stratum"):
        return _of_strata(units, seen, confidence)
    its = share(int(seen["yes"].sum()), seen.height, confidence)
    if sampling in design.terms_where("takes_all") and seen.height == units.height:
        return Estimate(its.value, 0.0, its.value, its.value, its.n, ALL_SEEN)
    return its


def _chances_known(units: pl.DataFrame) -> bool:
    return bool((units["chance"].fill_null(0) > 0).all())


def _of_strata(units: pl.DataFrame, seen: pl.DataFrame, confidence: float) -> Estimate | Refused:
    held = units.group_by("stratum").agg(held=(1 / c("chance")).sum()).sort("stratum", nulls_last=True)
    of = {name: rows["yes"].cast(pl.Float64).to_numpy() for (name,), rows in seen.group_by("stratum")}
    strata = [(round(number), of.get(name, np.zeros(0))) for name, number in held.iter_rows()]
    if not any(values.size > 1 for _, values in strata):
        return Refused(ONE_EACH)
    its = stratified([s for s in strata if s[1].size], confidence)
    empty = sum(not values.size for _, values in strata)
    method = f"{its.method}, {empty} groups where nobody looked left out" if empty else its.method
    return share_of_design(its.value, its.variance, its.n, confidence, method)


def _of_clusters(units: pl.DataFrame, seen: pl.DataFrame, in_part: bool, confidence: float) -> Estimate | Refused:  # noqa: FBT001
    if not bool((units["cluster_chance"].fill_null(0) > 0).all()):
        return Refused(NO_CHANCES)
    places = seen.group_by("cluster").agg(yes=c("yes").sum(), looked=pl.len()).sort("cluster")
    if places.height < 2:  # noqa: PLR2004 as the reason says
        return Refused(ONE_PLACE)
    each = units.group_by("cluster").agg(
        held=(c("cluster_chance") / c("chance")).sum(), once=1 / c("cluster_chance").first()
    )
    number = round(float(each["once"].sum()))
    if in_part:
        sizes = places.join(each, on="cluster", maintain_order="left")["held"].round().to_numpy()
        samples = [seen.filter(c("cluster") == p)["yes"].cast(pl.Float64).to_numpy() for p in places["cluster"]]
        its = two_stage(samples, np.maximum(sizes, [s.size for s in samples]), number, confidence)
    else:
        its = clusters(
            places["yes"].cast(pl.Float64).to_numpy(), places["looked"].cast(pl.Float64).to_numpy(), number, confidence
        )
    return share_of_design(its.value, its.variance, its.n, confidence, its.method)
