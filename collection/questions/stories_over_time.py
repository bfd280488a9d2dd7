"""Where and when more damage came than chance explains, with what the air and the place did then."""

from collections.abc import Mapping
from datetime import date
from typing import Any

import polars as pl

from collection.frames import returns
from collection.questions.damage_over_time import NOT_RECORDED, SEVERAL_WORDS, Watched, room_names
from collection.questions.estimate import estimate
from collection.questions.places import below
from collection.questions.triage import Triage
from collection.questions.words import count, day_in_words, two_figures
from collection.risk.climate import limits_of
from collection.risk.parameters import Climate, Response, read
from collection.risk.placed import nearest_logger
from collection.trends.beyond import days_beyond, stretches
from collection.trends.damage_rates import KIND, SEVERAL
from collection.trends.stories import ANSWERS_TO, KEYS, PLACED, cell_kinds, event_rows
from schemas.vocabularies import vocabulary

STORY_METHOD = "exact binomial test against all other cells, doubled, corrected over all cells (Holm 1979)"
UNITS = {"rh_percent": "%", "temperature_c": "°C", "temperature_rise_24h": "°C within 24 hours"}
STORIES = pl.Schema(
    {"room": pl.String, "name": pl.String, "year": pl.Int32, "technique": pl.String, "kinds": pl.String}
    | {"events": pl.Int64, "expected": pl.Float64, "years": pl.Float64}
    | dict.fromkeys(("rate", "low", "high", "elsewhere", "chance"), pl.Float64)
    | {"answers_to": pl.String, "from_on": pl.Date, "until_on": pl.Date, "climate": pl.String}
)
AXIS = pl.Schema(
    {"room": pl.String, "name": pl.String, "lane": pl.String, "on": pl.Date, "until": pl.Date}
    | {"what": pl.String, "share": pl.Float64, "happened": pl.Int64}
)
AIR = pl.Schema({**PLACED, ANSWERS_TO: pl.String, "from_on": pl.Date, "until_on": pl.Date, "climate": pl.String})
DAMAGE_LANE, PLACE_LANE, CLIMATE_LANE = "New or newly moving damage", "Place", "Air beyond limits"
c = pl.col


@returns(STORIES)
def cells_standing_out(triage: Triage, its: Watched, hours: pl.DataFrame) -> pl.DataFrame:
    """Cells that stand out, with their kinds and when the air of the room lay furthest beyond what these answer to.

    hours : schema HOURS of the loggers. from_on, until_on, climate : the worst stretch while the damage can have come;
    null where no logger measured, or nothing lay beyond. Schema STORIES, surest first.
    """
    out = its.tested.filter("stands_out")
    kinds = cell_kinds(its.rows, triage.rates).with_columns(
        kind=c("kind").replace_strict(vocabulary("damage").labels(), default=c("kind"), return_dtype=pl.String)
    )
    keys = [*KEYS, ANSWERS_TO]
    listed = kinds.group_by(keys, maintain_order=True).agg(
        kinds=pl.format("{} {}", "events", c("kind").str.to_lowercase()).str.join("; ")
    )
    labels = {**vocabulary("technique").labels(), SEVERAL: SEVERAL_WORDS}
    named = out.join(listed, on=keys, how="left", nulls_equal=True, maintain_order="left")
    air = _air(triage, its, out, hours)
    technique = c("technique").replace_strict(labels, default=c("technique"), return_dtype=pl.String)
    joined = named.join(air, on=keys, how="left", nulls_equal=True, maintain_order="left").with_columns(
        name=room_names(triage), technique=technique.fill_null(NOT_RECORDED)
    )
    return joined.select(c(n).cast(t) for n, t in STORIES.items())


def _air(triage: Triage, its: Watched, out: pl.DataFrame, hours: pl.DataFrame) -> pl.DataFrame:
    """The worst stretch of each cell's room within the spans of its events, schema AIR."""
    rows = []
    spans = event_rows(its.rows).group_by(KEYS).agg(c("starts_on").min(), c("ends_on").max())
    loggers = dict(nearest_logger(triage.collection["location"], hours).iter_rows()) if hours.height else {}
    for cell in out.join(spans, on=KEYS, nulls_equal=True).iter_rows(named=True):
        response = triage.rates.response.get(cell[ANSWERS_TO])
        if response is None or cell["room"] not in loggers:
            continue
        of_room = hours.filter(c("location_id") == loggers[cell["room"]])
        within = of_room.filter(c("hour").dt.date().is_between(cell["starts_on"], cell["ends_on"]))
        worst = stretches(days_beyond(within, response, _rise_hours())).head(1)
        for run in worst.iter_rows(named=True):
            words = _climate_words(run["from_on"], run["until_on"], within, response)
            rows.append({**{n: cell[n] for n in (*KEYS, ANSWERS_TO)}, **run, "climate": words})
    return pl.DataFrame(rows, schema=AIR)


def _rise_hours() -> int:
    return read(Climate, "lines", "climate").rise_hours


def _climate_words(start: date, end: date, hours: pl.DataFrame, response: Response) -> str:
    """*from 15 July 2024 to 28 July 2024: up to 36 °C, limit 28*."""
    inside = hours.filter(c("hour").dt.date().is_between(start, end))
    words = []
    for its, name, above in limits_of(response):
        if name not in inside.columns:
            continue
        far = inside[name].max() if above else inside[name].min()
        if isinstance(far, float) and (far > its.limit if above else far < its.limit):
            words.append(f"{'up' if above else 'down'} to {two_figures(far)} {UNITS[name]}, limit {its.limit:g}")
    span = f"{day_in_words(start)} to {day_in_words(end)}"
    return f"from {span}: {'; '.join(words)}" if words else f"from {span}"


def story_sentences(its: Watched, standing_out: pl.DataFrame) -> list[str]:
    """What stands out, cell by cell, and how many cells were tested."""
    tested = its.tested.height
    if not tested:
        return ["Nothing was new or began to move where objects were watched long enough: there is nothing to test."]
    was = "was" if tested == 1 else "were"
    head = f"{count(tested, 'cell')} of room, year, technique and kinds of damage {was} tested"
    if standing_out.is_empty():
        return [f"{head}; none stands out from what chance explains."]
    words = [f"{head}; {count(standing_out.height, 'stands', 'stand')} out from what chance explains."]
    return [*words, *(_story_words(row) for row in standing_out.iter_rows(named=True))]


def _story_words(row: Mapping[str, Any]) -> str:
    """Room, technique, year, kinds, how many more than elsewhere, and the air."""
    value, low, high, elsewhere = (two_figures(row[n] or 0) for n in ("rate", "low", "high", "elsewhere"))
    air = f" The air there was furthest beyond the limits for such damage {row['climate']}." if row["climate"] else ""
    return (
        f"{row['name']}, {row['technique'].lower()}, checked in {row['year']}: {row['kinds']}, where"
        f" {two_figures(row['expected'])} would be expected; {value} per 100 object-years ({low} to {high}),"
        f" elsewhere {elsewhere}.{air}"
    )


@returns(AXIS)
def story_axis(triage: Triage, its: Watched, standing_out: pl.DataFrame, hours: pl.DataFrame) -> pl.DataFrame:
    """Of each room with a story its damage, faults of the place and its air on one axis of time, schema AXIS.

    happened : new or newly moving damage by quarter of the check; share : hours of the month beyond the limits that the
    kinds of the room's surest story answer to.
    """
    rooms = standing_out.unique("room", keep="first", maintain_order=True)
    parts = [pl.DataFrame(schema=AXIS)]
    for row in rooms.iter_rows(named=True):
        parts += [_damage_lane(its, row), _place_lane(triage, row), _climate_lane(triage, row, hours)]
    return pl.concat([part.select(c(n).cast(t) for n, t in AXIS.items()) for part in parts])


def _lane(row: Mapping[str, Any], lane: str) -> dict[str, pl.Expr]:
    return {"room": pl.lit(row["room"]), "name": pl.lit(row["name"]), "lane": pl.lit(lane)}


def _damage_lane(its: Watched, row: Mapping[str, Any]) -> pl.DataFrame:
    mine = event_rows(its.rows).filter(c("room") == row["room"], c(KIND).is_not_null())
    quarter = (
        mine.with_columns(on=c("ends_on").dt.truncate("1q")).group_by("on").agg(happened=c("events").sum()).sort("on")
    )
    return quarter.with_columns(
        **_lane(row, DAMAGE_LANE), until=c("on").dt.offset_by("1q"), share=pl.lit(None, pl.Float64),
        what=pl.format("{} seen for the first time, or seen to move", "happened"),
    )  # fmt: skip


def _place_lane(triage: Triage, row: Mapping[str, Any]) -> pl.DataFrame:
    faults = vocabulary("place_fault").labels()
    inside = below(triage.collection["location"], str(row["room"]))
    mine = triage.collection["place_check"].filter(c("location_id").is_in(inside.implode()))
    return mine.select(
        **_lane(row, PLACE_LANE), on="seen_on", until=pl.coalesce("mended_on", pl.lit(triage.as_of)),
        what=c("fault").replace(faults), share=pl.lit(None, pl.Float64), happened=pl.lit(None, pl.Int64),
    )  # fmt: skip


def _climate_lane(triage: Triage, row: Mapping[str, Any], hours: pl.DataFrame) -> pl.DataFrame:
    response = triage.rates.response.get(str(row["answers_to"]))
    loggers = dict(nearest_logger(triage.collection["location"], hours).iter_rows()) if hours.height else {}
    if response is None or row["room"] not in loggers:
        return pl.DataFrame(schema=AXIS)
    days = days_beyond(hours.filter(c("location_id") == loggers[row["room"]]), response, _rise_hours())
    month = days.group_by(on=c("day").dt.truncate("1mo")).agg(c("share").mean()).sort("on")
    return month.with_columns(
        **_lane(row, CLIMATE_LANE), until=c("on").dt.month_end(), happened=pl.lit(None, pl.Int64),
        what=pl.format("{} % of the hours beyond the limits", (c("share") * 100).round(0).cast(pl.Int64)),
    )  # fmt: skip


def story_estimates(standing_out: pl.DataFrame) -> list[dict[str, object]]:
    """Stories of schema STORIES for programs."""
    names = ("room", "year", "technique", "kinds", "expected", "elsewhere", "chance", "climate")
    return [
        {**{n: r[n] for n in names}, **estimate(r["rate"], r["low"], r["high"], r["events"], STORY_METHOD)}
        for r in standing_out.iter_rows(named=True)
    ]
