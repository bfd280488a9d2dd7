"""When the air of a room lay beyond the limits that a group of kinds of damage answers to, and for how long."""

import polars as pl

from collection.frames import returns
from collection.risk.climate import limits_of, with_rise
from collection.risk.parameters import Response

BEYOND = pl.Schema({"day": pl.Date, "share": pl.Float64, "excess": pl.Float64})
STRETCHES = pl.Schema({"from_on": pl.Date, "until_on": pl.Date, "days": pl.Int64, "excess": pl.Float64})
PART = 0.25  # of the worst day, from which a day belongs to a stretch
c = pl.col


@returns(BEYOND)
def days_beyond(hours: pl.DataFrame, response: Response, rise_hours: int) -> pl.DataFrame:
    """Each measured day of one room: share of its hours beyond a limit, and how far beyond, schema BEYOND.

    hours : schema HOURS of `collection.risk.climate`, of one room. excess : mean over the day of the part by which a
    reading goes beyond a limit, as a share of the limit; of several limits the one gone beyond most.
    """
    parts = [
        ((c(name) / its.limit - 1) * (1 if above else -1)).clip(0).fill_null(0.0)
        for its, name, above in limits_of(response)
    ]
    excess = pl.max_horizontal(pl.lit(0.0), *parts)
    hourly = with_rise(hours, rise_hours).with_columns(excess=excess)
    daily = hourly.group_by(day=c("hour").dt.date()).agg(share=(c("excess") > 0).mean(), excess=c("excess").mean())
    return daily.select(*BEYOND).sort("day")


@returns(STRETCHES)
def stretches(days: pl.DataFrame) -> pl.DataFrame:
    """Runs of days at least a quarter as far beyond as the worst of them, worst run first, schema STRETCHES."""
    far = days.filter(c("excess") > 0, c("excess") >= PART * c("excess").max())
    run = (c("day").diff().dt.total_days().fill_null(0) > 1).cum_sum()
    runs = far.with_columns(run=run).group_by("run").agg(
        from_on=c("day").min(), until_on=c("day").max(), days=pl.len().cast(pl.Int64), excess=c("excess").sum()
    )  # fmt: skip
    return runs.select(*STRETCHES).sort("excess", "from_on", descending=[True, False])
