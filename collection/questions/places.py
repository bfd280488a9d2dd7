"""Places as a tree: what lies in what."""

from collections.abc import Mapping

import polars as pl

DEEPER = "\N{EM SPACE}"  # one for each step down


def below(locations: pl.DataFrame, location_id: str) -> pl.Series:
    """The place and every place that lies in it, however deep. Places that lie in each other are taken once."""
    places = pl.Series("location_id", [location_id])
    while True:
        inside = locations.filter(pl.col("within").is_in(places.implode()))["location_id"]
        fresh = inside.filter(~inside.is_in(places.implode()))
        if fresh.is_empty():
            return places
        places = pl.concat([places, fresh])


def tree(locations: pl.DataFrame) -> list[str]:
    """Every place, each followed by what lies in it. Places that lie in each other come last."""
    children: dict[str | None, list[str]] = {}
    for place, within in locations.sort("location_id").select("location_id", "within").iter_rows():
        children.setdefault(within, []).append(place)
    places: list[str] = []
    waiting = list(reversed(children.get(None, [])))
    while waiting:
        place = waiting.pop()
        places.append(place)
        waiting += reversed(children.get(place, []))
    return [*places, *sorted(set(locations["location_id"]) - set(places))]


def path_name(locations: pl.DataFrame) -> Mapping[str, str]:
    """Each place by its name, indented by how deep it lies."""
    within = dict(locations.select("location_id", "within").iter_rows())
    names = dict(locations.select("location_id", pl.coalesce("name", "location_id")).iter_rows())
    return {place: f"{DEEPER * len(above(within, place))}{name}" for place, name in names.items()}


def above(within: Mapping[str, str | None], location_id: str) -> list[str]:
    """The places it lies in, outermost first; `within` leads from a place to the one it lies in."""
    places: list[str] = []
    place = within.get(location_id)
    while place is not None and place not in (*places, location_id):
        places.insert(0, place)
        place = within.get(place)
    return places


def place_called(locations: pl.DataFrame, text: str) -> str | None:
    """The number of the place a person means by its number or its name, in any case; None where there is none."""
    wanted = text.strip().lower()
    same = [pl.col(c).str.to_lowercase() == wanted for c in ("location_id", "name")]
    places = locations.filter(pl.any_horizontal(same).fill_null(value=False)).sort(
        ~same[0].fill_null(value=False), "location_id"
    )
    return str(places["location_id"][0]) if places.height else None
