"""What a place does: the climate since the last look beside the climate of that look."""

from datetime import date, timedelta

import narwhals as nw
import polars as pl

from collection.risk.air import air, means, summed
from collection.risk.figures import Climate, Response, read
from collection.risk.hazards import OUTSIDE
from collection.risk.latest import counted_checks
from collection.risk.rates import RatesTable
from collection.snapshot import Collection

HOURS = pl.Schema(
    {"location_id": pl.String(), "hour": pl.Datetime("us"), "temperature_c": pl.Float64(), "rh_percent": pl.Float64()}
)


def outside(collection: Collection, hours: pl.DataFrame | None, rates: RatesTable, as_of: date) -> pl.DataFrame:
    """Modifier of each group of hazards at each place for what was seen at each check, schema OUTSIDE.

    The multiplier of the climate since the check, over that of the climate in which the check was made: 1, and no row,
    if nothing changed or nobody measured enough of both. Temperature in °C, relative humidity in %.
    """
    if hours is None or hours.is_empty():
        return pl.DataFrame(schema=OUTSIDE)
    span = read(Climate, "lines", "climate")
    sums = summed(_hourly(hours, rates, span), ["air"], list(rates.response))
    asks = _asks(collection, air(collection["location"], hours), span, as_of)
    then = means(asks.rename({"air_then": "air"}), sums, ["air"], "year_before", "seen_on")
    now = means(asks.rename({"air_now": "air"}), sums, ["air"], "since", "until")
    known = (pl.col("hours") >= span.fewest_hours) & (pl.col("hours_then") >= span.fewest_hours)
    both = now.join(then.select("ask", *(pl.col(g).alias(f"{g}_then") for g in (*rates.response, "hours"))), on="ask")
    ratios = both.filter(known).select(
        "location_id", "check_id", *(pl.col(g) / pl.col(f"{g}_then") for g in rates.response)
    )
    long = ratios.unpivot(index=["location_id", "check_id"], variable_name="climate_group", value_name="modifier")
    return long.filter(pl.col("modifier") != 1).select(*OUTSIDE).unique(["location_id", "climate_group", "check_id"])


def _hourly(hours: pl.DataFrame, rates: RatesTable, span: Climate) -> pl.DataFrame:
    """Multiplier of each climate group in each hour: 1, more while outside a limit."""
    lowest = pl.col("temperature_c").rolling_min_by("hour", window_size=f"{span.rise_hours}h").over("location_id")
    risen = hours.sort("location_id", "hour").with_columns(temperature_rise_24h=pl.col("temperature_c") - lowest)
    return risen.select(
        "hour", *(_multiplier(its).alias(name) for name, its in rates.response.items()), air="location_id"
    )


def _multiplier(response: Response) -> pl.Expr:
    rh, temperature, rise = pl.col("rh_percent"), pl.col("temperature_c"), pl.col("temperature_rise_24h")
    sides = (
        (response.rh_low, rh.lt),
        (response.rh_high, rh.gt),
        (response.temperature_high, temperature.gt),
        (response.temperature_rise_24h, rise.gt),
    )
    more = [beyond(its.limit).fill_null(False) * (its.multiplier - 1) for its, beyond in sides if its is not None]
    return pl.sum_horizontal(pl.lit(1.0), *more)


def _asks(collection: Collection, airs: pl.DataFrame, span: Climate, as_of: date) -> pl.DataFrame:
    """One row a check and place: the air there now and at the time of the check, and the days that bound both spans."""
    checks = checks_counted(collection, as_of).select("check_id", "object_id", "seen_on")
    now = places(collection).join(airs.rename({"air": "air_now"}), on="location_id")
    asks = checks.join(now, on="object_id").join(_place_then(collection, checks, as_of), on="check_id", how="left")
    then = airs.select(place_then="location_id", air_then="air")
    back = pl.duration(days=span.days_compared)
    with_days = asks.with_columns(
        place_then=pl.col("moved_from").fill_null(pl.col("location_id")),
        year_before=pl.col("seen_on") - back,
        since=pl.max_horizontal("seen_on", pl.lit(as_of - timedelta(days=span.days_compared))),
        until=pl.lit(as_of),
    )
    return with_days.join(then, on="place_then").with_row_index("ask")


def places(collection: Collection) -> pl.DataFrame:
    """Where each object is, and any part of it that is kept apart: object_id, location_id."""
    whole = collection["object"].select("object_id", "location_id")
    apart = collection["part"].select("object_id", "location_id")
    return pl.concat([whole, apart]).drop_nulls().unique()


def checks_counted(collection: Collection, as_of: date) -> pl.DataFrame:
    """Checks made by `as_of` that no later check corrects."""
    f = {"condition_check": nw.from_native(collection["condition_check"].lazy())}
    frame: pl.LazyFrame = counted_checks(f, as_of).to_native()
    return frame.collect(engine="in-memory")


def _place_then(collection: Collection, checks: pl.DataFrame, as_of: date) -> pl.DataFrame:
    """Where the object was at each check: what its first move after it left."""
    moved = collection["move"].filter(pl.col("moved_on") <= as_of).select("object_id", "moved_from", seen_on="moved_on")
    joined = checks.sort("seen_on").join_asof(
        moved.sort("seen_on"),
        on="seen_on",
        by="object_id",
        strategy="forward",
        allow_exact_matches=False,
        check_sortedness=False,
    )
    return joined.select("check_id", "moved_from")
