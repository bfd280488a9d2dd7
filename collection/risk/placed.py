"""Where things are: objects in places, places in each other, and the logger that tells of a place."""

from collections.abc import Container, Iterator, Mapping

import polars as pl

from collection.frames import returns
from collection.snapshot import Collection
from schemas.vocabularies import vocabulary

AIR = pl.Schema({"location_id": pl.String, "air": pl.String})
WITHIN = pl.Schema({"location_id": pl.String, "above": pl.String})


@returns(AIR)
def nearest_logger(locations: pl.DataFrame, hours: pl.DataFrame) -> pl.DataFrame:
    """The place whose readings tell of each place, schema AIR; places nobody measures have no row.

    A reading belongs to its place and all below it, down to the next with air or logger of its own.
    """
    measured = set(hours["location_id"].unique())
    own = vocabulary("enclosure").terms_where("own_air")
    shut = set(locations.filter(pl.col("enclosure").is_in(own))["location_id"])
    up = _places_around(locations)
    airs = [(start, _measuring(start, up, shut, measured)) for start in up]
    return pl.DataFrame([pair for pair in airs if pair[1]], schema=AIR, orient="row")


def _measuring(place: str, up: Mapping[str, str | None], shut: Container[str], measured: Container[str]) -> str | None:
    """The place with a logger whose air this place shares; None where there is none."""
    for around in _way_up(place, up):
        if around in measured:
            return around
        if around in shut:
            return None
    return None


@returns(WITHIN)
def within(locations: pl.DataFrame) -> pl.DataFrame:
    """Each place with itself and every place it lies in, schema WITHIN; places within themselves end the walk."""
    up = _places_around(locations)
    return pl.DataFrame([(start, above) for start in up for above in _way_up(start, up)], schema=WITHIN, orient="row")


def _places_around(locations: pl.DataFrame) -> dict[str, str | None]:
    return dict(locations.select("location_id", "within").iter_rows())


def _way_up(place: str, up: Mapping[str, str | None]) -> Iterator[str]:
    """The place and what it lies in, each once."""
    passed: set[str] = set()
    at: str | None = place
    while at is not None and at not in passed:
        passed.add(at)
        yield at
        at = up.get(at)


def places(collection: Collection) -> pl.DataFrame:
    """Where each object is, and any part of it that is kept apart: object_id, location_id."""
    whole = collection["object"].select("object_id", "location_id")
    apart = collection["part"].select("object_id", "location_id")
    return pl.concat([whole, apart]).drop_nulls().unique()


def rooms(locations: pl.DataFrame) -> pl.DataFrame:
    """location_id and room: the nearest place around each that is a room; places in none have no row."""
    kinds = vocabulary("location_kind").terms_where("room")
    of_kind = set(locations.filter(pl.col("kind").is_in(kinds))["location_id"])
    up = _places_around(locations)
    nearest = [(start, next((at for at in _way_up(start, up) if at in of_kind), None)) for start in up]
    schema = {"location_id": pl.String, "room": pl.String}
    return pl.DataFrame([pair for pair in nearest if pair[1]], schema=schema, orient="row")
