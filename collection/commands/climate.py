"""`enamels climate`: what the air of the places did, beside what their objects need."""

from pathlib import Path

import click
import polars as pl

from collection import pipeline
from collection.commands.options import as_of_option, json_option, store_option
from collection.commands.output import Answer, emit
from collection.questions.air import Air, out_now, out_now_sentence
from collection.questions.air_of_place import air_figures
from collection.questions.places import place_called
from collection.questions.rooms import room_sentence, rooms, rooms_sentence
from collection.questions.spells import DAMP, HEAT, spells, spells_sentence, to_check, to_check_sentence
from collection.questions.wrong_place import conflicts, wrong_place, wrong_place_sentence
from collection.settings import as_of_day
from collection.store import Store
from schemas.errors import NotFound

SHOWN_REFUSED = "no figure"


@click.command(
    epilog="Examples: enamels climate; enamels climate --location L2; enamels climate --logger LOG-E1 --json"
)
@click.option("--location", default="", help="A place, by number or name: its air and all that lies in it.")
@click.option("--logger", default="", help="The places that this logger measures.")
@as_of_option
@store_option
@json_option
def climate(location: str, logger: str, as_of: str | None, store_path: Path, as_json: bool) -> None:
    """Show the air of rooms beside what objects need: time inside targets, heat and damp, what mending prevents."""
    air = pipeline.assess_air(Store(store_path), lambda c: as_of_day(as_of, c))
    places = _places(air, location, logger)
    emit(_of_places(air, places) if places else _of_all(air), as_json=as_json)


def _places(air: Air, location: str, logger: str) -> list[str]:
    """The places asked for; none where all are. Raises NotFound for one that the register does not have."""
    locations = air.triage.collection["location"]
    if location:
        place = place_called(locations, location)
        if place is None:
            raise NotFound(location, "there is no place of this number or name", "", "List them with `enamels walk`.")
        return [place]
    if not logger:
        return []
    mine = locations.filter(pl.col("logger_id").str.to_lowercase() == logger.strip().lower())["location_id"].to_list()
    if not mine:
        known = ", ".join(locations["logger_id"].drop_nulls().unique().sort().to_list())
        raise NotFound(
            logger, "no place names a logger of this number", known, "Name another, or a place with --location."
        )
    return mine


def _of_all(air: Air) -> Answer:
    rows, outside, against = rooms(air), wrong_place(air), conflicts(air)
    lists = {kind: to_check(air, kind) for kind in (HEAT, DAMP)}
    now = out_now(air)
    lines = [rooms_sentence(air, rows), wrong_place_sentence(outside), out_now_sentence(now)]
    lines += [to_check_sentence(its, kind) for kind, its in lists.items()]
    lines += ["", *(room_sentence(air, place) for place in rows["location_id"])]
    document = {
        "as_of": air.triage.as_of.isoformat(),
        "rooms": rows,
        "wrong_place": outside,
        "outside_now": now,
        "conflicts": against,
        **lists,
    }
    return Answer("\n".join(lines), document)


def _of_places(air: Air, places: list[str]) -> Answer:
    figures = pl.concat([air_figures(air, place) for place in places])
    worst = {place: spells(air, place) for place in places}
    gaps = _gaps(air, places)
    lines = []
    for place in places:
        mine = figures.filter(pl.col("location_id") == place).iter_rows(named=True)
        lines += [room_sentence(air, place), spells_sentence(worst[place]), *map(_line, mine)]
    lines.append(f"{gaps.height} faulty stretches or gaps of its logger are on record; faulty readings are left out.")
    document = {
        "as_of": air.triage.as_of.isoformat(),
        "places": places,
        "figures": [{**row} for row in figures.iter_rows(named=True)],
        "spells": pl.concat(list(worst.values())),
        "logger_gaps": gaps,
    }
    return Answer("\n".join(lines), document)


def _gaps(air: Air, places: list[str]) -> pl.DataFrame:
    locations = air.triage.collection["location"]
    measuring = air.airs.filter(pl.col("location_id").is_in(places))["air"]
    loggers = locations.filter(pl.col("location_id").is_in(measuring.implode()))["logger_id"].drop_nulls()
    rows = air.triage.collection["logger_gap"].filter(pl.col("logger_id").is_in(loggers.implode()))
    return rows.select("logger_id", "kind", "starts_at", "ends_at")


def _line(row: dict[str, object]) -> str:
    """*relative humidity: 43.6 % (41.1 to 46.4), 366 days*."""
    if row["refused"]:
        return f"  {row['what']}: {SHOWN_REFUSED}: {row['refused']}"
    limits = [f"{float(str(row[n])):.1f}" for n in ("low", "high") if row[n] is not None]
    span = f" ({' to '.join(limits) if len(limits) > 1 else f'up to {limits[0]}'})" if limits else ""
    shares = row["unit"] == "share of time"
    value = (
        f"{100 * float(str(row['value'])):.0f} % of the time"
        if shares
        else f"{float(str(row['value'])):.1f} {row['unit']}"
    )
    return f"  {row['what']}: {value}{span}, {row['n']} days"
