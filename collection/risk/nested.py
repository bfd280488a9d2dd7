"""Damage and coating on one spot: their areas lie in each other, so what both may cost is counted once.

Of areas l1 >= l2 >= ... of the part, S = sum of (l_i - l_(i+1)) x (1 - product of what the first i leave): what is
taken from the smaller place is taken from within the larger (risk model, section 3).
"""

import narwhals as nw

from collection.risk.series import Lazy, expm1, log_left

OF_PART = ("object_id", "part")


def with_log_kept(hazards: Lazy, rate: str, into: str, years: float = 1.0) -> Lazy:
    """Adds `into`, the logarithm of the share of the part that a hazard leaves after so many years at `rate` [1/year].

    `hazards` has reach, loss_depth, nested and the rate. Rows that lie on one spot share the logarithm of what all of
    them leave, each as to what it would take alone: rows of a part can be summed whatever they are.
    """
    alone = (
        hazards.with_columns(exponent=-(nw.col(rate) * nw.col("loss_depth") * years))
        .with_columns(gone=nw.col("reach") * -expm1(nw.col("exponent")))
        .with_columns(log_left(nw.col("gone")).alias(into))
    )
    spots = _spots(alone.filter("nested"), into)
    joined = alone.join(spots, on=list(OF_PART), how="left")
    shared = nw.col(into) * nw.when("nested").then(nw.col("spot_factor")).otherwise(1.0)
    return joined.with_columns(shared.alias(into)).drop("spot_factor", "exponent", "gone")


def _spots(nested: Lazy, into: str) -> Lazy:
    """object_id, part and spot_factor: by what the logarithms of the rows on one spot are multiplied."""
    largest_first = nested.select(*OF_PART, "hazard_id", into, "exponent", inner=-nw.col("reach"))
    order = ["inner", "hazard_id"]
    chained = largest_first.with_columns(
        so_far=nw.col("exponent").cum_sum().over(*OF_PART, order_by=order),
        next_inner=nw.col("inner").shift(-1).over(*OF_PART, order_by=order),
    ).with_columns(ring=-nw.col("inner") + nw.col("next_inner").fill_null(0.0))
    lossy = chained.with_columns(spot_loss=nw.col("ring") * -expm1(nw.col("so_far")))
    summed = lossy.group_by(*OF_PART).agg(nw.col("spot_loss").sum(), alone=nw.col(into).sum())
    factor = nw.when(nw.col("alone") < 0).then(log_left(nw.col("spot_loss")) / nw.col("alone")).otherwise(1.0)
    return summed.select(*OF_PART, spot_factor=factor)
