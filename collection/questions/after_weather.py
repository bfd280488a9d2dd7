"""Lists after heat and damp: objects that felt either since their last check, those to look at first in front."""

from collections.abc import Mapping

import polars as pl

from collection.frames import returns
from collection.questions.air import Air
from collection.questions.places import below
from collection.questions.words import count
from collection.risk.climate import means, summed
from collection.risk.parameters import Limit

HEAT, DAMP = "heat", "damp"
TO_CHECK = pl.Schema(
    {"line": pl.UInt32(), "object_id": pl.String(), "title": pl.String(), "place": pl.String(), "because": pl.String()}
    | {"days": pl.Float64(), "last_checked_on": pl.Date(), "collection_loss": pl.Float64(), "more_loss": pl.Float64()}
)
BEYOND = "beyond_"
c = pl.col


@returns(TO_CHECK)
def to_check(air: Air, kind: str, place: str = "") -> pl.DataFrame:
    """Objects that were hotter (HEAT) or damper (DAMP) than something on them bears, since their last check.

    Schema TO_CHECK, the first ones only, by what it may have cost the collection. days: how long, a day counting as 24
    hours. more_loss [share of the collection's value]: days x what the hazard takes a day x (multiplier - 1), a rank
    and no forecast.
    """
    limits = limits_of(air, kind)
    if air.hours.is_empty() or not limits:
        return pl.DataFrame(schema=TO_CHECK)
    hurt = _days_beyond(air, _hazards(air, list(limits), place), limits)
    worst = hurt.filter(c("days") >= air.figures.beyond_days_least).sort("more_loss", descending=True)
    first = worst.group_by("object_id", maintain_order=True).agg(c("more_loss").sum(), c("days", "because").first())
    return _named(air, first).head(air.figures.listed_objects).select(c(n).cast(t) for n, t in TO_CHECK.items())


def limits_of(air: Air, kind: str) -> Mapping[str, tuple[str, Limit]]:
    """By climate group: the measured quantity that goes too far, and how far it may go."""
    sides = {
        group: [
            (quantity, limit)
            for quantity, limit in (("rise", its.temperature_rise_24h), ("temperature_c", its.temperature_high))
            if limit
        ]
        if kind == HEAT
        else [("rh_percent", its.rh_high)] * (its.rh_high is not None)
        for group, its in air.triage.rates.response.items()
    }
    return {group: (q, limit) for group, its in sides.items() for q, limit in its[-1:] if limit is not None}


def _hazards(air: Air, groups: list[str], place: str) -> pl.DataFrame:
    """Hazards that these groups of climate feed, with the air now, the day since when, and what they take a day."""
    rows = air.triage.risk.hazards.filter(c("climate_group").is_in(groups))
    if place:
        rows = rows.filter(c("location_id").is_in(below(air.triage.collection["location"], place).implode()))
    objects = air.triage.objects.select("object_id", "last_checked_on", "value_share")
    loss = -c("mean_log_kept") * c("part_share") * c("value_share") / c("modifier")
    joined = rows.join(objects, on="object_id").join(air.airs, on="location_id")
    return joined.select("object_id", "climate_group", "air", since="last_checked_on", loss=loss)


def _days_beyond(air: Air, hazards: pl.DataFrame, limits: Mapping[str, tuple[str, Limit]]) -> pl.DataFrame:
    """The hazards with the days their air spent beyond the limit since the last check, and why in words."""
    lowest = c("temperature_c").rolling_min_by("hour", window_size=f"{air.span.rise_hours}h").over("location_id")
    ordered = air.hours.sort("location_id", "hour").with_columns(rise=c("temperature_c") - lowest)
    beyond = [
        (c(q) > limit.limit).fill_null(value=False).cast(pl.Float64).alias(BEYOND + g)
        for g, (q, limit) in limits.items()
    ]
    sums = summed(ordered.select("hour", *beyond, air="location_id"), ["air"], [BEYOND + g for g in limits])
    first = pl.lit(air.hours["hour"].min()).cast(pl.Date)
    asks = hazards.with_row_index("ask").with_columns(c("since").fill_null(first), until=pl.lit(air.triage.as_of))
    spans = means(asks, sums, ["air"], "since", "until")
    share = pl.coalesce(pl.when(c("climate_group") == g).then(BEYOND + g) for g in limits)
    extra = c("climate_group").replace_strict(
        {g: its.multiplier - 1 for g, (_, its) in limits.items()}, return_dtype=pl.Float64
    )
    days = share * c("days")
    return spans.with_columns(days=days, more_loss=days * c("loss") * extra, because=_because(limits))


def _because(limits: Mapping[str, tuple[str, Limit]]) -> pl.Expr:
    """*above 45 %*, *above 28 °C*, *more than 5 °C warmer within 24 h*."""
    words = {"rh_percent": "above {:g} %", "temperature_c": "above {:g} °C", "rise": "more than {:g} °C up within 24 h"}
    table = {group: words[q].format(limit.limit) for group, (q, limit) in limits.items()}
    return c("climate_group").replace_strict(table, return_dtype=pl.String)


def _named(air: Air, rows: pl.DataFrame) -> pl.DataFrame:
    objects = air.triage.objects.select("object_id", "location_id", "last_checked_on", "collection_loss")
    titles = air.triage.collection["object"].select("object_id", "title")
    names = air.triage.collection["location"].select("location_id", place=pl.coalesce("name", "location_id"))
    joined = rows.join(objects, on="object_id").join(titles, on="object_id", how="left")
    whole = joined.join(names, on="location_id", how="left").sort("more_loss", "object_id", descending=[True, False])
    return whole.with_row_index("line", offset=1)


def to_check_sentence(rows: pl.DataFrame, kind: str) -> str:
    """*These 40 to look at first: they felt damp since their last check.*"""
    if rows.is_empty():
        return f"No object felt {kind} beyond what it bears since its last check."
    first = count(rows.height, "object")
    return f"{first} to look at first: each felt {kind} beyond what something on it bears since its last check."
