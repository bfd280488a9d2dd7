"""Faults of loggers, told from their readings alone: gaps, stuck and jumping sensors, values that cannot be."""

import polars as pl

from collection.climate.air import PERCENT
from collection.climate.parameters import Readings
from collection.frames import returns

READING = pl.Schema(
    {"logger_id": pl.String(), "read_at": pl.Datetime("us"), "temperature_c": pl.Float64(), "rh_percent": pl.Float64()}
)
FAULTS = pl.Schema(
    {"logger_id": pl.String(), "kind": pl.String(), "starts_at": pl.Datetime("us"), "ends_at": pl.Datetime("us")}
)
GAP, STUCK, JUMP, RANGE = "gap", "stuck", "jump", "out_of_range"
CLOCK = "clock"  # an hour that a change of the clock skips or repeats: known as the file is read, not from readings
VALUES = ("temperature_c", "rh_percent")
c = pl.col


@returns(FAULTS)
def faults(rows: pl.DataFrame, figures: Readings) -> pl.DataFrame:
    """Faulty stretches of each logger, schema FAULTS; `rows`: schema READING, each logger's in any order.

    gap : longer than several usual steps (the median of the month, the longer
    of two where it changed). stuck : neither value changes in its last digit for
    so long and over so many readings.
    jump : further than a limit within one step, and back within a few. out_of_range : of humidity or temperature.
    """
    ordered = rows.sort("logger_id", "read_at").unique(["logger_id", "read_at"], keep="first", maintain_order=True)
    each = (_gaps, _stuck, _jumps, _out_of_range)
    both = pl.concat([find(ordered, figures).select(c(n).cast(t) for n, t in FAULTS.items()) for find in each])
    return both.sort("logger_id", "starts_at", "kind")


def without_faulty(rows: pl.DataFrame, stretches: pl.DataFrame) -> pl.DataFrame:
    """Readings that lie in no faulty stretch but a gap, in the order given."""
    spans = stretches.filter(c("kind") != GAP).select("logger_id", "starts_at", "ends_at").sort("starts_at")
    if spans.is_empty():
        return rows
    latest = spans.with_columns(c("ends_at").cum_max().over("logger_id"))
    numbered = rows.with_row_index("_row").sort("read_at")
    joined = numbered.join_asof(latest, left_on="read_at", right_on="starts_at", by="logger_id", check_sortedness=False)
    sound = joined.filter(c("ends_at").is_null() | (c("read_at") > c("ends_at")))
    return sound.sort("_row").select(rows.columns)


def _gaps(rows: pl.DataFrame, figures: Readings) -> pl.DataFrame:
    stepped = rows.with_columns(
        step=c("read_at").diff().over("logger_id"), starts_at=c("read_at").shift(1).over("logger_id")
    )
    month = c("read_at").dt.truncate("1mo")
    paced = stepped.with_columns(usual=c("step").median().over("logger_id", month))
    slower = pl.max_horizontal("usual", c("usual").shift(1).over("logger_id"))
    long = paced.filter(c("step") > slower * figures.gap_times)
    return long.select("logger_id", "starts_at", kind=pl.lit(GAP), ends_at="read_at")


def _stuck(rows: pl.DataFrame, figures: Readings) -> pl.DataFrame:
    """Runs of the same values; an empty value is no change and no run of its own."""
    known = rows.filter(pl.any_horizontal(c(n).is_not_null() for n in VALUES))
    same = pl.all_horizontal(c(n).eq_missing(c(n).shift(1).over("logger_id")) for n in VALUES)
    runs = known.with_columns(run=(~same).cum_sum().over("logger_id")).group_by("logger_id", "run", maintain_order=True)
    spans = runs.agg(starts_at=c("read_at").min(), ends_at=c("read_at").max(), count=pl.len())
    lasting = c("ends_at") - c("starts_at") >= pl.duration(hours=figures.stuck_hours)
    long = spans.filter(lasting, c("count") >= figures.stuck_readings)
    return long.with_columns(kind=pl.lit(STUCK))


def _jumps(rows: pl.DataFrame, figures: Readings) -> pl.DataFrame:
    """From the reading that jumped to the last before it came back."""
    limits = dict(zip(VALUES, (figures.jump_c, figures.jump_rh), strict=True))
    numbered = rows.with_columns(nth=pl.int_range(pl.len()).over("logger_id"))
    parts = [_jumps_of(numbered.drop_nulls(name), name, limit, figures.jump_steps) for name, limit in limits.items()]
    return pl.concat(parts).unique(["logger_id", "starts_at"], keep="first", maintain_order=True)


def _jumps_of(rows: pl.DataFrame, name: str, limit: float, steps: int) -> pl.DataFrame:
    """Back means: nearer to the value before the jump than half the limit."""
    before = c(name).shift(1).over("logger_id")
    away = (c(name) - before).abs() > limit
    ends = [
        pl.when((c(name).shift(-ahead).over("logger_id") - before).abs() <= limit / 2).then(
            c("read_at").shift(1 - ahead).over("logger_id")
        )
        for ahead in range(1, steps + 1)
    ]
    back = rows.with_columns(jumped=away, ends_at=pl.coalesce(ends))
    return back.filter(c("jumped") & c("ends_at").is_not_null()).select(
        "logger_id", kind=pl.lit(JUMP), starts_at="read_at", ends_at="ends_at"
    )


def _out_of_range(rows: pl.DataFrame, figures: Readings) -> pl.DataFrame:
    """Each run of readings that cannot be."""
    humid = ~c("rh_percent").is_between(0, PERCENT)
    warm = ~c("temperature_c").is_between(figures.coldest_c, figures.hottest_c)
    wrong = humid.fill_null(value=False) | warm.fill_null(value=False)
    flagged = rows.with_columns(wrong=wrong)
    runs = flagged.with_columns(run=c("wrong").rle_id().over("logger_id")).filter("wrong")
    spans = runs.group_by("logger_id", "run", maintain_order=True).agg(
        starts_at=c("read_at").min(), ends_at=c("read_at").max()
    )
    return spans.with_columns(kind=pl.lit(RANGE))
