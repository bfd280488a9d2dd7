"""The air of a place by month, beside what most of its objects need and the stretches in which its logger failed."""

from datetime import datetime

import polars as pl

from collection.climate.months import QUANTITIES, by_month
from collection.climate.sides import LIMITS
from collection.frames import returns
from collection.questions.air import Air

MONTH, NEEDED, FAULTY = "month", "needed", "faulty"
AIR_PICTURE = pl.Schema(
    {"shown": pl.String(), "quantity": pl.String(), "starts": pl.Datetime("us"), "ends": pl.Datetime("us")}
    | dict.fromkeys(("low", "middle", "high"), pl.Float64())
    | {"words": pl.String()}
)
SIDES = {"rh_percent": ("rh_low", "rh_high"), "temperature_c": ("temperature_low", "temperature_high")}
c = pl.col


@returns(AIR_PICTURE)
def air_picture(air: Air, place: str, quantity: str) -> pl.DataFrame:
    """One quantity [°C or %] of the air that tells of a place, schema AIR_PICTURE.

    shown: MONTH: the middle of its hours, and between what nine tenths of them lay; NEEDED: the limits that apply to
    most objects there; FAULTY: the logger failed, its readings are left out. Empty where nobody measured.
    """
    own = air.airs.filter(c("location_id") == place)["air"]
    hours = air.hours.filter(c("location_id").is_in(own.implode()))
    if hours.is_empty() or quantity not in QUANTITIES:
        return pl.DataFrame(schema=AIR_PICTURE)
    first, last = hours.select(first=c("hour").min(), last=c("hour").max()).row(0)
    months = by_month(hours).filter(quantity=quantity)
    shown = months.with_columns(shown=pl.lit(MONTH), starts=c("month"), ends=c("month").dt.offset_by("1mo"))
    named = shown.select(
        "shown",
        "quantity",
        "starts",
        "ends",
        low="p5",
        middle="p50",
        high="p95",
        words=pl.format("{} days measured", "days"),
    )
    parts = [named, _needed(air, place, quantity, first, last), _faulty(air, own, quantity, first, last)]
    return pl.concat([p.select(c(n).cast(t) for n, t in AIR_PICTURE.items()) for p in parts])


def _needed(air: Air, place: str, quantity: str, first: datetime, last: datetime) -> pl.DataFrame:
    """The limits of the target that is for most objects there; no row where none limits this quantity."""
    low, high = SIDES[quantity]
    rows = air.inside(place).filter(c(low).is_not_null() | c(high).is_not_null())
    counted = rows.group_by("target_id", *LIMITS, maintain_order=True).agg(objects=c("object_id").n_unique())
    most = counted.sort("objects", "target_id", descending=[True, False]).head(1)
    return most.select(
        shown=pl.lit(NEEDED),
        quantity=pl.lit(quantity),
        starts=pl.lit(first),
        ends=pl.lit(last),
        low=low,
        middle=pl.lit(None, pl.Float64),
        high=high,
        words=pl.format("needed by {} objects", "objects"),
    )


def _faulty(air: Air, own: pl.Series, quantity: str, first: datetime, last: datetime) -> pl.DataFrame:
    """Stretches in which the place's logger failed, within what was measured."""
    locations = air.triage.collection["location"].filter(c("location_id").is_in(own.implode()))
    gaps = air.triage.collection["logger_gap"].join(locations.select("logger_id"), on="logger_id", how="semi")
    here = gaps.filter(c("ends_at") >= first, c("starts_at") <= last)
    return here.select(
        shown=pl.lit(FAULTY),
        quantity=pl.lit(quantity),
        starts="starts_at",
        ends="ends_at",
        low=pl.lit(None, pl.Float64),
        middle=pl.lit(None, pl.Float64),
        high=pl.lit(None, pl.Float64),
        words=c("kind").str.replace_all("_", " "),
    )


def measured_words(rows: pl.DataFrame) -> str:
    """*measured January 2016 to September 2026*; empty where nobody did."""
    months = rows.filter(c("shown") == MONTH)
    first, last = months["starts"].min(), months["starts"].max()
    if not isinstance(first, datetime) or not isinstance(last, datetime):
        return ""
    return f"measured {first:%B %Y} to {last:%B %Y}"
