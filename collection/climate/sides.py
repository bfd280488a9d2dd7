"""Time inside, above and below targets. A day counts as 24 hours whatever number of readings it has."""

from collections.abc import Sequence

import polars as pl

from collection.frames import returns

LIMITS = (
    "rh_low", "rh_high", "rh_change_24h", "temperature_low", "temperature_high", "temperature_change_24h",
)  # fmt: skip
SIDES = ("below", "above", "swing")
TIME_AT_TARGET = pl.Schema(
    {"air": pl.String(), "target_id": pl.String()} | dict.fromkeys(("inside", *SIDES, "days"), pl.Float64())
)
c = pl.col


def hourly_sides(
    pairs: pl.DataFrame, hours: pl.DataFrame, span_hours: int, names: Sequence[str] = ("outside",)
) -> pl.DataFrame:
    """Whether each hour of each air lies below, above, in too wide a swing, or `outside` (any of these): 1 or 0.

    Parameters
    ----------
    pairs : air, target_id and LIMITS [% or °C]. hours : location_id (the air), hour, rh_percent, temperature_c.
    span_hours : over which a swing is the highest less the lowest.

    Returns
    -------
    air, target_id, hour and the sides named, as Float64.
    """
    asked = pairs.select("air", "target_id", *LIMITS).unique(["air", "target_id"])
    mine = hours.filter(c("location_id").is_in(asked["air"].unique().implode())).sort("location_id", "hour")
    window = f"{span_hours}h"
    moved = mine.with_columns(
        (c(n).rolling_max_by("hour", window) - c(n).rolling_min_by("hour", window))
        .over("location_id")
        .alias(f"{n}_change")
        for n in ("rh_percent", "temperature_c")
    )
    joined = asked.join(moved.rename({"location_id": "air"}), on="air")
    each = _sides()
    return joined.select("air", "target_id", "hour", *(each[n].cast(pl.Float64).alias(n) for n in names))


def _sides() -> dict[str, pl.Expr]:
    rh, temperature = c("rh_percent"), c("temperature_c")
    wide = (c("rh_percent_change") > c("rh_change_24h"), c("temperature_c_change") > c("temperature_change_24h"))
    sides = {
        "below": pl.any_horizontal(rh < c("rh_low"), temperature < c("temperature_low")).fill_null(value=False),
        "above": pl.any_horizontal(rh > c("rh_high"), temperature > c("temperature_high")).fill_null(value=False),
        "swing": pl.any_horizontal(*wide).fill_null(value=False),
    }
    return {**sides, "outside": pl.any_horizontal(*sides.values())}


@returns(TIME_AT_TARGET)
def time_at_target(pairs: pl.DataFrame, hours: pl.DataFrame, span_hours: int) -> pl.DataFrame:
    """Shares of the measured time at each target, and the days measured; schema TIME_AT_TARGET.

    An hour may be below one limit and above another, so the sides may add up to more than what is not `inside`.
    Parameters as of `hourly_sides`.
    """
    names = (*SIDES, "outside")
    each = hourly_sides(pairs, hours, span_hours, names)
    daily = each.group_by("air", "target_id", c("hour").dt.truncate("1d"), maintain_order=True).agg(c(names).mean())
    shares = daily.group_by("air", "target_id", maintain_order=True).agg(c(names).mean(), days=pl.len())
    with_inside = shares.with_columns(inside=1 - c("outside"))
    return with_inside.select(c(n).cast(t) for n, t in TIME_AT_TARGET.items())
