"""How often a thing is lifted and carried: moves of the last 12 months, and the journeys planned for the next."""

from calendar import monthrange
from datetime import date

import polars as pl

from collection.frames import returns
from collection.snapshot import Collection
from schemas.terms import Packing
from schemas.vocabularies import load_parameters, terms, vocabulary

MOVES = pl.Schema({"object_id": pl.String, "moves_per_year": pl.Float64})


@returns(MOVES)
def moves(collection: Collection) -> pl.DataFrame:
    """Moves a year of each object that moves, schema MOVES: of the last 12 months, and journeys planned for the next.

    A crated journey counts as several moves; every leg of a loan begins with one, and the way home ends it.
    """
    return (
        pl.concat([_moved(collection), _journeys(collection)]).group_by("object_id").agg(pl.col("moves_per_year").sum())
    )


def _weight(term: str) -> float:
    counts = terms("packing", Packing)[term].counts_as
    return float(load_parameters("rates")["per_move"][counts]) if counts else 1.0


def _moved(collection: Collection) -> pl.DataFrame:
    weights = {term: _weight(term) for term in vocabulary("packing").term}
    weight = pl.col("packed").replace_strict(weights, default=1.0, return_dtype=pl.Float64)
    recent = collection["move"].filter(pl.col("moved_on") > _year_from(collection.day, -1))
    return recent.group_by("object_id").agg(moves_per_year=weight.sum())


def _journeys(collection: Collection) -> pl.DataFrame:
    """Journeys that begin within the coming 12 months: to each venue, and home from the last."""
    legs = collection["loan_leg"].select("loan_id", "starts_on", "ends_on")
    days = pl.concat(
        [legs.select("loan_id", day="starts_on"), legs.group_by("loan_id").agg(day=pl.col("ends_on").max())]
    )
    coming = days.filter(pl.col("day") > collection.day, pl.col("day") <= _year_from(collection.day, 1))
    journeys = coming.group_by("loan_id").agg(journeys=pl.len())
    objects = collection["loan_object"].select("loan_id", "object_id").unique().join(journeys, on="loan_id")
    each = max(_weight(term) for term in vocabulary("packing").term)
    return objects.group_by("object_id").agg(moves_per_year=pl.col("journeys").sum() * each)


def _year_from(day: date, years: int) -> date:
    """The same day of another year, within the years there are."""
    year = min(max(day.year + years, date.min.year), date.max.year)
    return date(year, day.month, min(day.day, monthrange(year, day.month)[1]))
