"""Objects outside the climate somebody set for them with a reason, by share of the time since the last look."""

from datetime import date

import polars as pl

from collection.risk.air import air, means, summed, within
from collection.risk.figures import Climate, read
from collection.risk.place import places
from collection.snapshot import Collection

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
    sums = summed(_hourly(asks, hours, span), ["air", "target_id"], ["outside"])
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


def _hourly(asks: pl.DataFrame, hours: pl.DataFrame, span: Climate) -> pl.DataFrame:
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
