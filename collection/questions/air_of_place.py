"""What the air of a place was: as figures with their limits, and month by month as a picture."""

from dataclasses import dataclass
from datetime import datetime, time

import numpy as np
import polars as pl

from collection.climate.air import PERCENTILES, QUANTITIES, by_month, dew_point_c, within_day
from collection.climate.seasonal import HOURS_A_DAY, seasonal_band
from collection.climate.sides import LIMITS
from collection.frames import returns
from collection.questions.air import Air, needs
from collection.questions.places import below
from schemas.vocabularies import vocabulary

FIGURES = pl.Schema(
    {"location_id": pl.String(), "what": pl.String(), "unit": pl.String()}
    | dict.fromkeys(("value", "low", "high"), pl.Float64())
    | {"n": pl.Int64(), "method": pl.String(), "refused": pl.String()}
)
BY_PERCENTILE = "middle of the hourly means of the last 12 months; nine tenths of them lay between low and high"
BY_DAYS = "share of the last 12 months; each day counts as 24 hours"
BY_BAND = "all but the lowest and the highest 7 %, about the mean of 30 days (EN 15757:2010, from memory)"
BY_DEW = f"{BY_PERCENTILE}; Magnus formula (WMO no. 8, annex 4.B)"
BY_SPAN = "highest less lowest of 24 h: the middle over the hours of the last 12 months, and the largest"
NOT_MEASURED = "nobody measures there"
MONTH, NEEDED, FAULTY = "month", "needed", "faulty"
AIR_PICTURE = pl.Schema(
    {"shown": pl.String(), "quantity": pl.String(), "starts": pl.Datetime("us"), "ends": pl.Datetime("us")}
    | dict.fromkeys(("low", "middle", "high"), pl.Float64())
    | {"words": pl.String()}
)
SIDES = {"rh_percent": ("rh_low", "rh_high"), "temperature_c": ("temperature_low", "temperature_high")}
c = pl.col


@dataclass(frozen=True)
class Figure:
    """One figure; null with `refused` where it cannot be told."""

    what: str
    unit: str
    value: float | None = None
    low: float | None = None
    high: float | None = None
    n: int = 0
    method: str = ""
    refused: str | None = None


@returns(FIGURES)
def air_figures(air: Air, place: str) -> pl.DataFrame:
    """Humidity, temperature, dew point, span of a day, time at targets and seasonal band of a place; schema FIGURES."""
    own = air.airs.filter(c("location_id") == place)["air"]
    hours = air.year.filter(c("location_id").is_in(own.implode()))
    figures = [_measure(air, hours, place), *_at_targets(air, place), band(air, place)]
    flat = [f for its in figures for f in (its if isinstance(its, list) else [its])]
    return pl.DataFrame([{"location_id": place, **vars(f)} for f in flat], schema=FIGURES)


def _measure(air: Air, hours: pl.DataFrame, place: str) -> list[Figure]:
    days = hours["hour"].dt.date().n_unique()
    dewy = hours.with_columns(dew=dew_point_c(c("temperature_c"), c("rh_percent")))
    named = (
        ("relative humidity", "%", "rh_percent", BY_PERCENTILE),
        ("temperature", "°C", "temperature_c", BY_PERCENTILE),
        ("dew point", "°C", "dew", BY_DEW),
    )
    few = _too_few(air, days)
    if few:
        return [Figure(what, unit, n=days, method=method, refused=few) for what, unit, _, method in named]
    spans = within_day(hours, air.span.rise_hours)
    of_day = [
        Figure(f"{what} within 24 h", unit, its["span_p50"], None, its["span_largest"], days, BY_SPAN)
        for what, unit, name, _ in named
        for its in spans.filter(c("quantity") == name).iter_rows(named=True)
    ]
    return [_percentiles(dewy, *each) for each in named] + of_day


def _percentiles(hours: pl.DataFrame, what: str, unit: str, name: str, method: str) -> Figure:
    values = hours.drop_nulls(name)
    low, middle, high = (values[name].quantile(share, "linear") for share in PERCENTILES.values())
    return Figure(what, unit, middle, low, high, values["hour"].dt.date().n_unique(), method)


def _too_few(air: Air, days: int) -> str | None:
    if not days:
        return NOT_MEASURED
    return f"not enough measured: {days} days" if days < air.figures.days_fewest else None


def _at_targets(air: Air, place: str) -> list[Figure]:
    """Time inside each target that applies there."""
    rows = needs(air, place).iter_rows(named=True)
    return [
        Figure(f"inside {its['target_id']} ({its['needs']})", "share of time", its["inside"], n=int(its["days"] or 0),
               method=BY_DAYS, refused=its["refused"])
        for its in rows
    ]  # fmt: skip


def band(air: Air, place: str) -> Figure:
    """The seasonal band of humidity, for organic mounts and cores only; its widths are `low` and `high`."""
    what, unit = "seasonal band of humidity", "% about its seasonal mean"
    if not _holds_organic(air, place):
        return Figure(what, unit, method=BY_BAND, refused="no object there has an organic mount or core on record")
    own = air.airs.filter(c("location_id") == place)["air"]
    whole = _every_hour(air, own)
    its = seasonal_band(whole, air.figures)
    days = int(np.isfinite(whole).sum()) // HOURS_A_DAY
    if isinstance(its, str):
        return Figure(what, unit, n=days, method=BY_BAND, refused=its)
    return Figure(what, unit, (its.lowest + its.highest) / 2, its.low, its.high, days, BY_BAND)


def _every_hour(air: Air, own: pl.Series) -> np.typing.NDArray[np.float64]:
    """Humidity of each hour of so many months as the band needs, not a number where it was not measured."""
    last = datetime.combine(air.triage.as_of, time.max)
    months = f"-{air.figures.seasonal_months}mo"
    ends = pl.DataFrame({"last": [last]}).select(first=c("last").dt.offset_by(months).dt.truncate("1h"), last=c("last"))
    every = ends.select(hour=pl.datetime_ranges("first", "last", "1h", time_unit="us")).explode(
        "hour", empty_as_null=True
    )
    mine = air.hours.filter(c("location_id").is_in(own.implode())).select("hour", "rh_percent")
    joined = every.join(mine, on="hour", how="left").sort("hour")
    return joined["rh_percent"].cast(pl.Float64).fill_null(float("nan")).to_numpy()


def _holds_organic(air: Air, place: str) -> bool:
    kinds = vocabulary("part_kind").terms_where("organic")
    parts = air.triage.collection["part"].filter(c("part_kind").is_in(kinds))
    here = below(air.triage.collection["location"], place)
    objects = air.triage.objects.filter(c("location_id").is_in(here.implode()))
    return not parts.join(objects, on="object_id", how="semi").is_empty()


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
