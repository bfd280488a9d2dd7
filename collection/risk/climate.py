"""What a place does: the climate since the last check beside the climate of that check, and time outside targets.

Each day counts as one, whatever number of readings it has.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property

import polars as pl

from collection.climate.sides import LIMITS, hourly_sides
from collection.frames import returns
from collection.risk.hazards import HELD, OUTSIDE
from collection.risk.parameters import Climate, Limit, Response, read
from collection.risk.placed import nearest_logger, places, within
from collection.risk.rates import RatesTable
from collection.snapshot import Collection

DECIMALS = 9  # running sums of two years keep more than this


def with_rise(hours: pl.DataFrame, rise_hours: int) -> pl.DataFrame:
    """Adds temperature_rise_24h: °C above the lowest of the last so many hours; `hours`: schema HOURS."""
    lowest = pl.col("temperature_c").rolling_min_by("hour", window_size=f"{rise_hours}h").over("location_id")
    return hours.sort("location_id", "hour").with_columns(temperature_rise_24h=pl.col("temperature_c") - lowest)


def limits_of(response: Response) -> list[tuple[Limit, str, bool]]:
    """Each limit there is, the column it is of, and whether what is above it lies beyond."""
    sides = (
        (response.rh_low, "rh_percent", False),
        (response.rh_high, "rh_percent", True),
        (response.temperature_high, "temperature_c", True),
        (response.temperature_rise_24h, "temperature_rise_24h", True),
    )
    return [(its, name, above) for its, name, above in sides if its is not None]


def summed(hours: pl.DataFrame, keys: Sequence[str], names: Sequence[str]) -> pl.DataFrame:
    """Running sums of the daily means of `names` and of the days, in each air: what `means` reads; one row a day."""
    by_day = hours.lazy().group_by(*keys, pl.col("hour").dt.truncate("1d"))
    daily = by_day.agg(pl.col(names).fill_null(0).mean()).sort(*keys, "hour").with_columns(days=1.0)
    running = daily.with_columns(pl.col(*names, "days").cum_sum().over(keys))
    return running.sort("hour").collect(engine="in-memory")


def means(asks: pl.DataFrame, sums: pl.DataFrame, keys: Sequence[str], first: str, last: str) -> pl.DataFrame:
    """`asks` (numbered by `ask`) with the mean of each summed name over the days after day `first` through day `last`.

    `days` counts those measured; means are null where there is none.
    """
    names = [name for name in sums.columns if name not in {*keys, "hour"}]
    ends = [_at(asks, sums, keys, day).select("ask", *(pl.col(n).alias(f"{n}_{side}") for n in names))
            for day, side in ((first, "before"), (last, "after"))]  # fmt: skip
    both = asks.join(ends[0], on="ask").join(ends[1], on="ask")
    gained = {n: pl.col(f"{n}_after").fill_null(0) - pl.col(f"{n}_before").fill_null(0) for n in names}
    some = pl.when(gained["days"] > 0).then(gained["days"])
    means_ = [(gained[name] / some).alias(name) for name in names if name != "days"]
    return both.select(*asks.columns, *means_, days=gained["days"].round(DECIMALS))


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


@returns(OUTSIDE)
def outside(collection: Collection, checks: pl.DataFrame, hours: pl.DataFrame, rates: RatesTable) -> pl.DataFrame:
    """Modifier of each group of hazards at each place for what was seen at each check, schema OUTSIDE.

    The multiplier of the climate since the check, over that of the climate in which the check was made: 1, and no row,
    if nothing changed or nobody measured enough of both. `checks`: schema CHECKS; `hours`: schema HOURS, temperature in
    °C, relative humidity in %.
    """
    if hours.is_empty():
        return pl.DataFrame(schema=OUTSIDE)
    span = read(Climate, "lines", "climate")
    sums = summed(_hourly(hours, rates, span), ["air"], list(rates.response))
    asks = _asks(collection, checks, nearest_logger(collection["location"], hours), span)
    then = means(asks.rename({"air_then": "air"}), sums, ["air"], "year_before", "seen_on")
    now = means(asks.rename({"air_now": "air"}), sums, ["air"], "since", "until")
    known = (pl.col("days") >= span.fewest_days) & (pl.col("days_then") >= span.fewest_days)
    both = now.join(then.select("ask", *(pl.col(g).alias(f"{g}_then") for g in (*rates.response, "days"))), on="ask")
    ratios = both.filter(known).select(
        "location_id", "check_id", *((pl.col(g) / pl.col(f"{g}_then")).round(DECIMALS) for g in rates.response)
    )
    long = ratios.unpivot(index=["location_id", "check_id"], variable_name="climate_group", value_name="modifier")
    return long.filter(pl.col("modifier") != 1).select(*OUTSIDE).unique(["location_id", "climate_group", "check_id"])


def _hourly(hours: pl.DataFrame, rates: RatesTable, span: Climate) -> pl.DataFrame:
    """Multiplier of each climate group in each hour: 1, more while outside a limit."""
    risen = with_rise(hours, span.rise_hours)
    return risen.select(
        "hour", *(_multiplier(its).alias(name) for name, its in rates.response.items()), air="location_id"
    )


def _multiplier(response: Response) -> pl.Expr:
    more = [
        (pl.col(name) > its.limit if above else pl.col(name) < its.limit).fill_null(False) * (its.multiplier - 1)
        for its, name, above in limits_of(response)
    ]
    return pl.sum_horizontal(pl.lit(1.0), *more)


def _asks(collection: Collection, checks: pl.DataFrame, airs: pl.DataFrame, span: Climate) -> pl.DataFrame:
    """One row a check and place: the air there now and at the time of the check, and the days that bound both spans."""
    dated = checks.filter(pl.col("seen_on").is_not_null()).select("check_id", "object_id", "seen_on")
    now = places(collection).join(airs.rename({"air": "air_now"}), on="location_id")
    asks = dated.join(now, on="object_id").join(_place_then(collection, dated), on="check_id", how="left")
    then = airs.select(place_then="location_id", air_then="air")
    back = pl.duration(days=span.days_compared)
    with_days = asks.with_columns(
        place_then=pl.col("moved_from").fill_null(pl.col("location_id")),
        year_before=pl.col("seen_on") - back,
        since=pl.max_horizontal("seen_on", pl.lit(day_before(collection.day, span.days_compared))),
        until=pl.lit(collection.day),
    )
    return with_days.join(then, on="place_then").with_row_index("ask")


def day_before(day: date, days: int) -> date:
    """The day so many days earlier; the first day there is, where that would be before it."""
    return date.fromordinal(max(day.toordinal() - days, date.min.toordinal()))


def _place_then(collection: Collection, checks: pl.DataFrame) -> pl.DataFrame:
    """Where the object was at each check: what its first move after it left."""
    moved = collection["move"].select("object_id", "moved_from", seen_on="moved_on")
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
        "days": pl.Float64,
    }
)


@dataclass(frozen=True)
class Targets:
    """The reasoned targets of a collection and the climate of their places, worked out once for any spans of time.

    A target without a reason is a room default and says nothing here. A part kept apart is held to the target and the
    readings of its own place. `hours`: schema HOURS.
    """

    collection: Collection
    hours: pl.DataFrame

    @returns(OUTSIDE_TARGET)
    def outside(self, since: pl.DataFrame) -> pl.DataFrame:
        """Share of the measured days since a day that each object spent outside a target, schema OUTSIDE_TARGET.

        `since`: object_id and the day, null for all that was measured. Fewer days of readings than count say nothing.
        """
        if self.hours.is_empty():
            return pl.DataFrame(schema=OUTSIDE_TARGET)
        first = pl.lit(self.hours["hour"].min()).cast(pl.Date)
        asks = self._asked.join(since, on="object_id", how="left").with_columns(
            pl.col("since").fill_null(first), until=pl.lit(self.collection.day)
        )
        shares = means(asks.with_row_index("ask"), self._sums, ["air", "target_id"], "since", "until")
        return shares.filter(pl.col("days") >= self.span.fewest_days).select(
            "object_id", "target_id", "reason", outside_share="outside", days="days"
        )

    @returns(HELD)
    def held(self, looks: pl.DataFrame, most: float) -> pl.DataFrame:
        """Objects measured since their last look, and outside no target for more than `most` of it; schema HELD.

        Where the last look is too recent to say, the year before the day counts.
        """
        recent = pl.lit(day_before(self.collection.day, self.span.fewest_days))
        year = pl.lit(day_before(self.collection.day, self.span.days_compared))
        since = pl.when(pl.col("last_checked_on") > recent).then(year).otherwise("last_checked_on")
        shares = self.outside(looks.select("object_id", since=since)).group_by("object_id")
        return shares.agg(pl.col("outside_share").max()).filter(pl.col("outside_share") <= most).select("object_id")

    @cached_property
    def span(self) -> Climate:
        """How long and how much has to be measured."""
        return read(Climate, "lines", "climate")

    @cached_property
    def _asked(self) -> pl.DataFrame:
        """Each place of each object with its targets and the air that tells of it."""
        airs = nearest_logger(self.collection["location"], self.hours)
        return applying_targets(self.collection).join(airs, on="location_id")

    @cached_property
    def _sums(self) -> pl.DataFrame:
        hourly = hourly_sides(self._asked, self.hours, self.span.rise_hours)
        return summed(hourly, ["air", "target_id"], ["outside"])


def applying_targets(collection: Collection) -> pl.DataFrame:
    """Each place of each object with every reasoned target that is for the object or for a place around it.

    object_id, location_id (null where nobody knows), target_id, reason, and the limits [% or °C].
    """
    reasoned = collection["target"].filter(pl.col("reason").is_not_null())
    names = ("object_id", "location_id", "target_id", "reason", *LIMITS)
    of_object = reasoned.filter(pl.col("object_id").is_not_null()).drop("location_id")
    placed = places(collection)
    own = of_object.join(placed, on="object_id", how="left")
    above = placed.join(within(collection["location"]), on="location_id")
    of_place = reasoned.filter(pl.col("object_id").is_null(), pl.col("location_id").is_not_null()).drop("object_id")
    around = of_place.rename({"location_id": "above"}).join(above, on="above")
    return pl.concat([own.select(names), around.select(names)]).unique(["object_id", "location_id", "target_id"])
