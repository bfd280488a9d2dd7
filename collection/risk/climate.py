"""What a place does: the climate since the last look beside the climate of that look."""

from collections.abc import Sequence
from datetime import date, timedelta

import narwhals as nw
import polars as pl

from collection.risk.hazards import OUTSIDE, counted_checks
from collection.risk.parameters import Climate, Response, read
from collection.risk.rates import RatesTable
from collection.snapshot import Collection
from schemas.vocabularies import vocabulary

AIR = pl.Schema({"location_id": pl.String, "air": pl.String})
WITHIN = pl.Schema({"location_id": pl.String, "above": pl.String})


def air(locations: pl.DataFrame, hours: pl.DataFrame) -> pl.DataFrame:
    """The place whose readings tell of each place, schema AIR; places nobody measures have no row.

    A reading belongs to its place and all below it, down to the next with air or logger of its own.
    """
    measured = hours.select(pl.col("location_id").unique().alias("place"), measured=pl.lit(True))
    own = vocabulary("enclosure").terms_where("own_air")
    tree = locations.select(place="location_id", up="within", shut=pl.col("enclosure").is_in(own).fill_null(False))
    here = locations.select("location_id", place="location_id")
    found = [pl.DataFrame(schema=AIR)]
    for _ in range(tree.height):
        at = here.join(measured, on="place", how="left").join(tree, on="place", how="left")
        found.append(at.filter("measured").select("location_id", air="place"))
        onward = at.filter(pl.col("measured").is_null(), ~pl.col("shut"), pl.col("up").is_not_null())
        here = onward.select("location_id", place="up")
        if here.is_empty():
            break
    return pl.concat(found)


def within(locations: pl.DataFrame) -> pl.DataFrame:
    """Each place with itself and every place it lies in, schema WITHIN."""
    up = locations.filter(pl.col("within").is_not_null()).select(above="location_id", next="within")
    step = locations.select("location_id", above="location_id")
    found = [step]
    for _ in range(locations.height):
        step = step.join(up, on="above").select("location_id", above="next")
        if step.is_empty():
            break
        found.append(step)
    return pl.concat(found).unique()


def summed(hours: pl.DataFrame, keys: Sequence[str], names: Sequence[str]) -> pl.DataFrame:
    """Running sums of `names` and of the hours, in each air: what `means` reads."""
    ordered = hours.sort(*keys, "hour")
    running = [pl.col(name).fill_null(0).cum_sum().over(keys) for name in names]
    return ordered.select(*keys, "hour", *running, n=pl.int_range(1, pl.len() + 1).over(keys)).sort("hour")


def means(asks: pl.DataFrame, sums: pl.DataFrame, keys: Sequence[str], first: str, last: str) -> pl.DataFrame:
    """`asks` (numbered by `ask`) with the mean of each summed name over the hours after day `first` through day `last`.

    `hours` counts them; means are null where there is none.
    """
    names = [name for name in sums.columns if name not in {*keys, "hour"}]
    ends = [_at(asks, sums, keys, day).select("ask", *(pl.col(n).alias(f"{n}_{side}") for n in names))
            for day, side in ((first, "before"), (last, "after"))]  # fmt: skip
    both = asks.join(ends[0], on="ask").join(ends[1], on="ask")
    gained = {n: pl.col(f"{n}_after").fill_null(0) - pl.col(f"{n}_before").fill_null(0) for n in names}
    some = pl.when(gained["n"] > 0).then(gained["n"])
    means_ = [(gained[name] / some).alias(name) for name in names if name != "n"]
    return both.select(*asks.columns, *means_, hours=gained["n"])


def _at(asks: pl.DataFrame, sums: pl.DataFrame, keys: Sequence[str], day: str) -> pl.DataFrame:
    """The running sums at the end of a day."""
    end = pl.col(day).cast(sums.schema["hour"]).dt.offset_by("1d")
    left = asks.select("ask", *keys, hour=end).sort("hour")
    return left.join_asof(
        sums, on="hour", by=list(keys), strategy="backward", allow_exact_matches=False, check_sortedness=False
    )


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


OUTSIDE_TARGET = pl.Schema(
    {
        "object_id": pl.String,
        "target_id": pl.String,
        "reason": pl.String,
        "outside_share": pl.Float64,
        "hours": pl.Int64,
    }
)
LIMITS = (
    "rh_low", "rh_high", "rh_change_24h", "temperature_low", "temperature_high", "temperature_change_24h",
)  # fmt: skip


def outside_target(
    collection: Collection, looks: pl.DataFrame, hours: pl.DataFrame | None, as_of: date
) -> pl.DataFrame:
    """Share of the hours since the last look that each object spent outside a reasoned target, schema OUTSIDE_TARGET.

    A target without a reason is a room default and says nothing here; so do fewer hours of readings than count.
    """
    if hours is None or hours.is_empty():
        return pl.DataFrame(schema=OUTSIDE_TARGET)
    span = read(Climate, "lines", "climate")
    airs = air(collection["location"], hours)
    held = _applies(collection).join(places(collection), on="object_id").join(airs, on="location_id")
    seen = looks.select("object_id", since="last_checked_on")
    asks = held.join(seen, on="object_id", how="left").with_columns(
        pl.col("since").fill_null(pl.lit(hours["hour"].min()).cast(pl.Date)), until=pl.lit(as_of)
    )
    sums = summed(_outside_hourly(asks, hours, span), ["air", "target_id"], ["outside"])
    told = means(asks.with_row_index("ask"), sums, ["air", "target_id"], "since", "until")
    return told.filter(pl.col("hours") >= span.fewest_hours).select(
        "object_id", "target_id", "reason", outside_share="outside", hours="hours"
    )


def not_held(targets: pl.DataFrame, most: float) -> pl.DataFrame:
    """Objects that spent more than `most` of the time since their last look outside a target: object_id."""
    return targets.filter(pl.col("outside_share") > most).select(pl.col("object_id").unique())


def _applies(collection: Collection) -> pl.DataFrame:
    """Each object with every reasoned target that is for it or for a place it lies in: object_id, target_id, reason."""
    reasoned = collection["target"].filter(pl.col("reason").is_not_null())
    names = ("object_id", "target_id", "reason", *LIMITS)
    own = reasoned.filter(pl.col("object_id").is_not_null()).select(names)
    above = places(collection).join(within(collection["location"]), on="location_id")
    of_place = reasoned.filter(pl.col("object_id").is_null(), pl.col("location_id").is_not_null()).drop("object_id")
    placed = of_place.rename({"location_id": "above"}).join(above, on="above")
    return pl.concat([own, placed.select(names)]).unique(["object_id", "target_id"])


def _outside_hourly(asks: pl.DataFrame, hours: pl.DataFrame, span: Climate) -> pl.DataFrame:
    """Whether each hour of each air lies outside each target that is asked of it."""
    day = f"{span.rise_hours}h"
    ordered = hours.sort("location_id", "hour")
    moved = ordered.with_columns(
        (pl.col(name).rolling_max_by("hour", day) - pl.col(name).rolling_min_by("hour", day)).over("location_id")
        .alias(f"{name}_change") for name in ("rh_percent", "temperature_c")
    )  # fmt: skip
    pairs = asks.select("air", "target_id", *LIMITS).unique(["air", "target_id"])
    rh, temperature = pl.col("rh_percent"), pl.col("temperature_c")
    out = pl.any_horizontal(
        rh < pl.col("rh_low"),
        rh > pl.col("rh_high"),
        pl.col("rh_percent_change") > pl.col("rh_change_24h"),
        temperature < pl.col("temperature_low"),
        temperature > pl.col("temperature_high"),
        pl.col("temperature_c_change") > pl.col("temperature_change_24h"),
    )
    joined = pairs.join(moved.rename({"location_id": "air"}), on="air")
    return joined.select("air", "target_id", "hour", outside=out.fill_null(False).cast(pl.Float64))
