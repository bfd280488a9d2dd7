"""How often damage is new, begins to move or loses material; where and when more happened than chance explains."""

from dataclasses import dataclass
from datetime import date

import polars as pl

from collection.frames import returns
from collection.questions.estimate import estimate
from collection.questions.triage import Triage
from collection.questions.words import count
from collection.trends.damage_rates import (
    ACTIVATION,
    KIND,
    NEW,
    ROOM,
    SEVERAL,
    TECHNIQUE,
    damage_rates,
    limits_of,
    watched,
)
from collection.trends.parameters import Trends, trends
from collection.trends.stories import ALIKE, ANSWERS_TO, cells, event_rows, stories
from schemas.vocabularies import vocabulary

METHOD = "exact limits of a count (Garwood 1936)"
NOT_RECORDED, SEVERAL_WORDS = "not recorded", "several techniques"
RATES = pl.Schema(
    {"count": pl.String, "group": pl.String, "happened": pl.Int64, "years": pl.Float64, "objects": pl.Int64}
    | dict.fromkeys(("rate", "rate_low", "rate_high"), pl.Float64)
)
ROOM_YEARS = pl.Schema(
    {"room": pl.String, "name": pl.String, "year": pl.Int32, "happened": pl.Int64, "years": pl.Float64}
    | dict.fromkeys(("rate", "rate_low", "rate_high"), pl.Float64)
    | {"mark": pl.String, "scale_to": pl.Float64}
)
STANDS_OUT, LIKE_OTHERS = "stands out", "within chance"
RENAMED = {"low": "rate_low", "high": "rate_high", "events": "happened"}
c = pl.col


@dataclass(frozen=True)
class Watched:
    """Spans in which damage was watched, schema WATCHED, of the objects asked for; and the cells tested."""

    rows: pl.DataFrame
    tested: pl.DataFrame
    figures: Trends


def watched_of(triage: Triage, chosen: pl.DataFrame, start: date | None = None, end: date | None = None) -> Watched:
    """Spans that end between the two days, of the chosen objects (rows of `Triage.objects`)."""
    figures = trends()
    rows = watched(triage.collection, triage.risk.checks, triage.rates)
    mine = rows.join(chosen.select("object_id"), on="object_id", how="semi")
    within = mine.filter(c("ends_on").is_between(pl.lit(start or date.min), pl.lit(end or triage.as_of)))
    return Watched(within, stories(cells(within, triage.rates), figures, ANSWERS_TO, ALIKE), figures)


@returns(RATES)
def rates_by(triage: Triage, its: Watched, by: str) -> pl.DataFrame:
    """Rates per 100 years with limits by kind, technique, room or year, groups in words, schema RATES."""
    rows = damage_rates(its.rows, by, its.figures)
    order = {name: place for place, name in enumerate((NEW, ACTIVATION))}
    labels = _labels(triage, by)
    named = rows.with_columns(
        group=c("group").replace_strict(labels, default=c("group"), return_dtype=pl.String).fill_null(NOT_RECORDED),
        place=c("count").replace_strict(order, default=len(order), return_dtype=pl.Int64),
    )
    renamed = named.rename(RENAMED)
    return renamed.sort("place", maintain_order=True).select(*RATES)


def _labels(triage: Triage, by: str) -> dict[str, str]:
    """Labels of the groups of one kind."""
    if by == KIND:
        return dict(vocabulary("damage").labels())
    if by == TECHNIQUE:
        return {**vocabulary("technique").labels(), SEVERAL: SEVERAL_WORDS}
    return _names(triage) if by == ROOM else {}


def _names(triage: Triage) -> dict[str, str]:
    places = triage.collection["location"].select("location_id", pl.coalesce("name", "location_id"))
    return dict(places.iter_rows())


@returns(ROOM_YEARS)
def room_years(triage: Triage, its: Watched) -> pl.DataFrame:
    """New and newly moving damage per 100 object-years by room and year with exact limits, schema ROOM_YEARS.

    Years in no room that is on record are not there.

    mark : whether a cell of that room and year stands out. scale_to : one scale for all rooms.
    """
    keys = ["room", "year"]
    years = (
        its.rows.filter(c("count") == NEW, c("room").is_not_null())
        .group_by(keys)
        .agg(c("years").sum())
        .filter(c("years") > 0)
    )
    events = event_rows(its.rows).group_by(keys).agg(c("events").sum())
    joined = years.join(events, on=keys, how="left", nulls_equal=True).with_columns(c("events").fill_null(0))
    out = its.tested.filter("stands_out").select(keys).unique().with_columns(marked=pl.lit(value=True))
    marked = limits_of(joined, its.figures.limits).join(out, on=keys, how="left", nulls_equal=True)
    enough = pl.when(c("years") >= its.figures.cell_years).then("rate")
    named = marked.rename(RENAMED).with_columns(
        name=room_names(triage),
        mark=pl.when("marked").then(pl.lit(STANDS_OUT)).otherwise(pl.lit(LIKE_OTHERS)),
        scale_to=enough.max().fill_null(c("rate").max()),
    )
    total = c("happened").sum().over("room")
    return named.sort(total, "room", "year", descending=[True, False, False]).select(*ROOM_YEARS)


def room_names(triage: Triage) -> pl.Expr:
    """The room of each row by its name."""
    names = _names(triage)
    return c("room").replace_strict(names, default=c("room"), return_dtype=pl.String).fill_null(NOT_RECORDED)


def handled_sentence(its: Watched) -> str:
    """That some of it followed an accident or a journey; empty where none did."""
    happened = its.rows.filter(c("events") > 0)
    handled = happened.filter("handled").height
    if not handled:
        return ""
    spans = count(happened.height, "span")
    return f"In {handled:,} of the {spans} in which something happened an accident, an event or a journey is on record."


def estimates_of(rows: pl.DataFrame) -> list[dict[str, object]]:
    """Rates of schema RATES for programs."""
    names = ("count", "group", "years")
    return [
        {**{n: r[n] for n in names}, **estimate(r["rate"], r["rate_low"], r["rate_high"], r["happened"], METHOD)}
        for r in rows.iter_rows(named=True)
    ]
