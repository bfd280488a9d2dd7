"""Spells of heat and damp at a place: days beyond what something kept there bears, the worst first."""

import polars as pl

from collection.frames import returns
from collection.questions.after_weather import DAMP, HEAT, limits_of
from collection.questions.air import Air
from collection.questions.places import below
from collection.risk.placed import within
from schemas.vocabularies import vocabulary

SPELLS = pl.Schema(
    {"air": pl.String(), "kind": pl.String(), "limit": pl.Float64(), "unit": pl.String(), "starts": pl.Date()}
    | {"ends": pl.Date(), "days": pl.UInt32(), "peak": pl.Float64(), "excess": pl.Float64(), "recorded": pl.String()}
)
MEASURED = {"rh_percent": "%", "temperature_c": "°C"}
c = pl.col


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
