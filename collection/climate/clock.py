"""Local times of a logger turned into UTC; the hours that a change of the clock skips or repeats are marked."""

from zoneinfo import ZoneInfo

import polars as pl

HOUR = pl.duration(hours=1)


def is_zone(name: str) -> bool:
    """A zone of the time zone database."""
    try:
        ZoneInfo(name)
    except (ValueError, OSError, KeyError):
        return False
    return True


def to_utc(frame: pl.DataFrame, time: str, zone: str, logger: str) -> pl.DataFrame:
    """The frame with the local times of column `time` in UTC and `at_change`: whether a change of the clock skips or
    repeats that hour.

    Of the hour that comes twice in autumn the first reading of a logger counts as the earlier. A time that spring
    leaves out is read as an hour of the time before. `zone`: of the time zone database.
    """
    local = pl.col(time).cast(pl.Datetime("us"))
    again = pl.when(local.cum_count().over(logger, time) == 1).then(pl.lit("earliest")).otherwise(pl.lit("latest"))
    utc = pl.coalesce(_utc(local, zone, again), _utc(local - HOUR, zone, again) + HOUR)
    first, second = (_utc(local, zone, pl.lit(which)) for which in ("earliest", "latest"))
    at_change = (first.is_null() | (first != second)) & local.is_not_null()
    return frame.with_columns(utc.cast(pl.Datetime("us")).alias(time), at_change=at_change)


def _utc(local: pl.Expr, zone: str, again: pl.Expr) -> pl.Expr:
    zoned = local.dt.replace_time_zone(zone, ambiguous=again, non_existent="null")
    return zoned.dt.convert_time_zone("UTC").dt.replace_time_zone(None)
