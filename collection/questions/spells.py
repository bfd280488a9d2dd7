"""Heat and damp: spells of either at a place, and the objects that felt it since their last check."""

from collections.abc import Mapping

import polars as pl

from collection.frames import returns
from collection.questions.air import Air
from collection.questions.places import below
from collection.questions.words import count
from collection.risk.climate import means, summed, with_rise
from collection.risk.parameters import Limit
from collection.risk.placed import within
from schemas.vocabularies import vocabulary

HEAT, DAMP = "heat", "damp"
TO_CHECK = pl.Schema(
    {"line": pl.UInt32(), "object_id": pl.String(), "title": pl.String(), "place": pl.String(), "because": pl.String()}
    | {"days": pl.Float64(), "last_checked_on": pl.Date(), "collection_loss": pl.Float64(), "more_loss": pl.Float64()}
)
RISE = "temperature_rise_24h"
BEYOND = "beyond_"
SPELLS = pl.Schema(
    {"air": pl.String(), "kind": pl.String(), "limit": pl.Float64(), "unit": pl.String(), "starts": pl.Date()}
    | {"ends": pl.Date(), "days": pl.UInt32(), "peak": pl.Float64(), "excess": pl.Float64(), "recorded": pl.String()}
)
MEASURED = {"rh_percent": "%", "temperature_c": "°C"}
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
            for quantity, limit in ((RISE, its.temperature_rise_24h), ("temperature_c", its.temperature_high))
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
    hours = with_rise(air.hours, air.span.rise_hours)
    beyond = [
        (c(q) > limit.limit).fill_null(value=False).cast(pl.Float64).alias(BEYOND + g)
        for g, (q, limit) in limits.items()
    ]
    sums = summed(hours.select("hour", *beyond, air="location_id"), ["air"], [BEYOND + g for g in limits])
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
    words = {"rh_percent": "above {:g} %", "temperature_c": "above {:g} °C", RISE: "more than {:g} °C up within 24 h"}
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
        return f"Since its last check no object was exposed to {kind} beyond what it bears."
    first = count(rows.height, "object")
    return f"{first} to check first: since the last check each was exposed to {kind} beyond what something on it bears."


@returns(SPELLS)
def spells(air: Air, place: str) -> pl.DataFrame:
    """Runs of days on which the air that tells of the place was beyond what something there bears; schema SPELLS.

    Of each kind the lowest limit of what is kept there counts. peak: highest hour; excess [% or °C times days]: what
    they are sorted by. recorded: a fault of the place noticed meanwhile. A few days within the limit end no spell.
    """
    own = air.airs.filter(c("location_id") == place)["air"]
    hours = air.hours.filter(c("location_id").is_in(own.implode()))
    runs = [_runs(hours, air, *limit) for limit in _lowest(air, place)]
    whole = pl.concat([pl.DataFrame(schema=SPELLS), *runs])
    worst = whole.sort("excess", "starts", descending=[True, False]).head(air.figures.spells_listed)
    return worst.with_columns(_recorded(air, place, worst)).select(SPELLS.names())


def _recorded(air: Air, place: str, rows: pl.DataFrame) -> pl.Series:
    """Faults of the place or around it noticed in each spell, or days after it, in words; null where none was."""
    locations = air.triage.collection["location"]
    around = within(locations).filter((c("location_id") == place) | (c("above") == place))
    here = pl.concat([around["location_id"], around["above"]])
    faults = air.triage.collection["place_check"].filter(c("location_id").is_in(here.implode()))
    labels = vocabulary("place_fault").labels()
    what = c("fault").replace_strict(labels, default=c("fault"))
    mended = pl.format("mended {}", c("mended_on").dt.strftime("%-d %B %Y"))
    words = faults.select("seen_on", words=pl.concat_str(what, "note", mended, separator=", ", ignore_nulls=True))
    late = c("ends").dt.offset_by(f"{air.figures.spell_days_apart}d")
    spans = rows.with_row_index("nth").join(words, how="cross").filter(c("seen_on").is_between(c("starts"), late))
    by_spell = spans.group_by("nth").agg(recorded=c("words").str.join("; "))
    return (
        rows.drop("recorded")
        .with_row_index("nth")
        .join(by_spell, on="nth", how="left", maintain_order="left")["recorded"]
    )


def _lowest(air: Air, place: str) -> list[tuple[str, str, float]]:
    """kind, measured quantity and the lowest limit of the hazards in the place and below."""
    here = below(air.triage.collection["location"], place)
    groups = set(air.triage.risk.hazards.filter(c("location_id").is_in(here.implode()))["climate_group"].drop_nulls())
    lowest = []
    for kind in (HEAT, DAMP):
        its = [(q, limit.limit) for g, (q, limit) in limits_of(air, kind).items() if g in groups and q in MEASURED]
        if its:
            quantity, limit = min(its, key=lambda pair: pair[1])
            lowest.append((kind, quantity, limit))
    return lowest


def _runs(hours: pl.DataFrame, air: Air, kind: str, quantity: str, limit: float) -> pl.DataFrame:
    daily = hours.drop_nulls(quantity).group_by(day=c("hour").dt.date()).agg(
        mean=c(quantity).mean(), peak=c(quantity).max()
    )  # fmt: skip
    out = daily.filter(c("mean") > limit).sort("day")
    apart = (c("day").diff().dt.total_days() > air.figures.spell_days_apart).fill_null(value=False)
    runs = out.with_columns(run=apart.cum_sum()).group_by("run", maintain_order=True).agg(
        starts=c("day").min(), ends=c("day").max(), days=pl.len(), peak=c("peak").max(),
        excess=(c("mean") - limit).sum(),
    )  # fmt: skip
    named = runs.with_columns(
        air=pl.lit(hours["location_id"].first(), pl.String),
        kind=pl.lit(kind),
        limit=pl.lit(limit),
        unit=pl.lit(MEASURED[quantity]),
        recorded=pl.lit(None, pl.String),
    )
    return named.select(c(n).cast(t) for n, t in SPELLS.items())


def spells_sentence(rows: pl.DataFrame) -> str:
    """*The worst: 132 days above 45 %, 8 October 2022 to 20 February 2023, up to 71 %.*"""
    if rows.is_empty():
        return "The air was never beyond what anything kept here bears, as far as it was measured."
    its = rows.row(0, named=True)
    span = f"{its['starts'].day} {its['starts']:%B %Y} to {its['ends'].day} {its['ends']:%B %Y}"
    beyond = f"{its['days']} days above {its['limit']:g} {its['unit']}"
    recorded = f" On record then: {its['recorded']}." if its["recorded"] else ""
    return f"The worst: {beyond}, {span}, up to {its['peak']:.0f} {its['unit']}.{recorded}"
