"""The air of places beside what objects need: shares of time at each reasoned target, and who is outside it now."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, time
from functools import cached_property
from typing import Any

import polars as pl

from collection.climate.parameters import Readings, readings
from collection.climate.sides import LIMITS, SIDES, hourly_sides, time_at_target
from collection.frames import returns
from collection.questions.places import below
from collection.questions.triage import Triage
from collection.risk.climate import HOURS, applying_targets, day_before
from collection.risk.parameters import Climate, read
from collection.risk.placed import nearest_logger

NEEDS = pl.Schema(
    {"target_id": pl.String(), "reason": pl.String(), "needs": pl.String(), "objects": pl.UInt32(), "air": pl.String()}
    | dict.fromkeys(("inside", *SIDES, "days"), pl.Float64())
    | {"refused": pl.String()}
)
OUT_NOW = pl.Schema(
    {"object_id": pl.String(), "target_id": pl.String(), "location_id": pl.String(), "air": pl.String()}
    | {"inside": pl.Float64(), "days": pl.Float64(), "outside_since": pl.Datetime("us")}
)
c = pl.col


@dataclass(frozen=True)
class Air:
    """A collection assessed, and the hourly means of its places: what questions about the air read; schema HOURS."""

    triage: Triage
    hours: pl.DataFrame

    @cached_property
    def span(self) -> Climate:
        """How long is compared, and how much has to be measured."""
        return read(Climate, "lines", "climate")

    @cached_property
    def figures(self) -> Readings:
        """What readings are judged by."""
        return readings()

    @cached_property
    def year(self) -> pl.DataFrame:
        """Hourly means of the last twelve months, schema HOURS."""
        first = datetime.combine(day_before(self.triage.as_of, self.span.days_compared), time())
        return self.hours.filter(c("hour") > first).pipe(_with_schema)

    @cached_property
    def airs(self) -> pl.DataFrame:
        """location_id and air: the place whose readings of the last twelve months tell of each place."""
        return nearest_logger(self.triage.collection["location"], self.year)

    @cached_property
    def asked(self) -> pl.DataFrame:
        """Each place of each object with every reasoned target that applies there and the air that tells of it.

        object_id, location_id, target_id, reason, LIMITS, air (null where nobody measured).
        """
        asked = applying_targets(self.triage.collection)
        here = self.triage.objects.filter(c("value_share") > 0).select("object_id")
        return asked.join(here, on="object_id", how="semi").join(self.airs, on="location_id", how="left")

    @cached_property
    def at_targets(self) -> pl.DataFrame:
        """Shares of the last twelve months in every air at every target, schema TIME_AT_TARGET."""
        targets = self.asked.select("target_id", *LIMITS).unique("target_id", maintain_order=True)
        measured = self.year.select(air="location_id").unique(maintain_order=True)
        return time_at_target(measured.join(targets, how="cross"), self.year, self.span.rise_hours)

    def inside(self, place: str) -> pl.DataFrame:
        """Rows of `asked` in the place and all below it; of every place where none is named."""
        if not place:
            return self.asked
        here = below(self.triage.collection["location"], place)
        return self.asked.filter(c("location_id").is_in(here.implode()))


def _with_schema(hours: pl.DataFrame) -> pl.DataFrame:
    return hours.select(c(n).cast(t) for n, t in HOURS.items())


@returns(NEEDS)
def needs(air: Air, place: str) -> pl.DataFrame:
    """Each target that applies in the place, with the objects it is for and the shares of time there; schema NEEDS.

    Most time outside first. `refused` says why there is no share.
    """
    counted = air.inside(place).group_by("target_id", "reason", *LIMITS, "air", maintain_order=True).agg(
        objects=c("object_id").n_unique().cast(pl.UInt32)
    )  # fmt: skip
    joined = counted.join(air.at_targets, on=["air", "target_id"], how="left")
    few = c("days").is_null() | (c("days") < air.figures.days_fewest)
    none = pl.when(c("air").is_null()).then(pl.lit("nobody measures there"))
    refused = none.when(few).then(pl.format("not enough measured: {} days", c("days").fill_null(0).cast(pl.Int64)))
    shown = joined.with_columns(
        *(pl.when(~few).then(c(n)).alias(n) for n in ("inside", *SIDES)), refused=refused, needs=limits_in_words()
    )
    return shown.select(c(n).cast(t) for n, t in NEEDS.items()).sort("inside", "target_id", "air", nulls_last=True)


def limits_in_words() -> pl.Expr:
    """*38 to 48 %, at most 8 % within 24 h, up to 24 °C*, of the columns LIMITS."""
    parts = [
        _between("rh_low", "rh_high", "%"),
        _at_most("rh_change_24h", "%"),
        _between("temperature_low", "temperature_high", "°C"),
        _at_most("temperature_change_24h", "°C"),
    ]
    return pl.concat_str(parts, separator=", ", ignore_nulls=True)


def _between(low: str, high: str, unit: str) -> pl.Expr:
    a, b = limit(low), limit(high)
    both = pl.when(c(low).is_not_null(), c(high).is_not_null()).then(pl.format(f"{{}} to {{}} {unit}", a, b))
    up = both.when(c(high).is_not_null()).then(pl.format(f"up to {{}} {unit}", b))
    return up.when(c(low).is_not_null()).then(pl.format(f"from {{}} {unit} up", a))


def _at_most(change: str, unit: str) -> pl.Expr:
    return pl.when(c(change).is_not_null()).then(pl.format(f"at most {{}} {unit} within 24 h", limit(change)))


def limit(name: str) -> pl.Expr:
    """A limit as a person writes it: *45*, *45.5*."""
    return c(name).round(1).cast(pl.String).str.replace(r"\.0$", "")


def needs_in_words(rows: pl.DataFrame) -> list[tuple[str, str]]:
    """What is needed, and how the air kept to it and why it is needed; `rows`: schema NEEDS."""
    return [(f"{its['target_id']}: {its['needs']}", _against_it(its)) for its in rows.iter_rows(named=True)]


def _against_it(its: Mapping[str, Any]) -> str:
    """*118 objects; inside for 58 % of 366 days, above 42 %; because weeping glass*."""
    objects = f"{its['objects']:,} {'object' if its['objects'] == 1 else 'objects'}"
    if its["refused"]:
        return f"{objects}; {its['refused']}; because {its['reason']}"
    words = {"below": "below", "above": "above", "swing": "in too wide a swing"}
    beyond = [f"{words[side]} {_percent(its[side])}" for side in SIDES if its[side] > 0]
    shares = ", ".join([f"inside for {_percent(its['inside'])} of {its['days']:.0f} days", *beyond])
    return f"{objects}; {shares}; because {its['reason']}"


def _percent(share: float) -> str:
    """Whole per cent; *under 1 %* of what is not nothing, *over 99 %* of what is not all."""
    whole = round(100 * share)
    if whole == 0 and share > 0:
        return "under 1 %"
    return "over 99 %" if whole == 100 and share < 1 else f"{whole} %"


@returns(OUT_NOW)
def out_now(air: Air, place: str = "") -> pl.DataFrame:
    """Objects outside a target at the last reading of their air, and since when; schema OUT_NOW, the longest first."""
    asked = air.inside(place).drop_nulls("air")
    pairs = asked.select("air", "target_id", *LIMITS).unique(["air", "target_id"], maintain_order=True)
    each = hourly_sides(pairs, air.year, air.span.rise_hours).sort("air", "target_id", "hour")
    last_inside = pl.when(c("outside") == 0).then("hour").max().over("air", "target_id")
    run = each.filter((c("hour") > last_inside) | last_inside.is_null())
    since = run.group_by("air", "target_id", maintain_order=True).agg(outside_since=c("hour").min())
    named = asked.select("object_id", "target_id", "location_id", "air").join(since, on=["air", "target_id"])
    shares = named.join(air.at_targets, on=["air", "target_id"], how="left")
    return shares.select(c(n).cast(t) for n, t in OUT_NOW.items()).sort("outside_since", "object_id", "target_id")


def out_now_sentence(rows: pl.DataFrame) -> str:
    """*2 objects are outside what they need at the last reading, the longest since 30 September 2026.*"""
    if rows.is_empty():
        return "At the last reading no object was outside what it needs."
    who = rows["object_id"].n_unique()
    objects = "1 object is outside what it needs" if who == 1 else f"{who:,} objects are outside what they need"
    since = rows["outside_since"][0]
    return f"{objects} at the last reading, the longest since {since.day} {since:%B %Y}."
