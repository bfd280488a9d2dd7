"""How often a thing is lifted and carried: own moves of the last years, and the journeys planned for the next."""

from calendar import monthrange
from datetime import date

import polars as pl

from collection.frames import returns
from collection.risk.parameters import Journey, read
from collection.snapshot import Collection
from schemas.terms import Packing
from schemas.vocabularies import terms, vocabulary

COUNTS = ("moves_moving", "moves_at_rest", "planned_moving", "planned_at_rest")
MOVES = pl.Schema({"object_id": pl.String} | dict.fromkeys(COUNTS, pl.Float64))
JOURNEYS = pl.Schema(
    {"object_id": pl.String, "year": pl.Int32, "moving_moves": pl.Float64, "at_rest_moves": pl.Float64}
)
ONCE = Journey(moving=1, at_rest=1)  # lifted and put down


@returns(MOVES)
def moves(collection: Collection) -> pl.DataFrame:
    """Moves a year of each object that moves, schema MOVES: own moves of the last years, and planned journeys.

    `planned_*` are the journeys of loans in the next 12 months alone: they can be cancelled. A journey counts as
    several moves, as fewer for hazards at rest. Every leg of a loan begins with one, and the way home ends it.
    """
    planned = _journeys(collection)
    both = pl.concat([_moved(collection), planned.rename({"planned_moving": "moves_moving",
                                                          "planned_at_rest": "moves_at_rest"})])  # fmt: skip
    all_ = both.group_by("object_id").agg(pl.col("moves_moving", "moves_at_rest").sum())
    return all_.join(planned, on="object_id", how="left").select(
        "object_id", *(pl.col(name).fill_null(0.0) for name in COUNTS)
    )


def _journey(term: str) -> Journey:
    counts = terms("packing", Packing)[term].counts_as
    return read(Journey, "rates", "per_move", counts) if counts else ONCE


def _moved(collection: Collection) -> pl.DataFrame:
    years = read(int, "rates", "per_move", "years_of_moves")
    recent = collection["move"].filter(pl.col("moved_on") > _year_from(collection.day, -years))
    journeys = {term: _journey(term) for term in vocabulary("packing").term}
    counted = {
        f"moves_{state}": pl.col("packed").replace_strict(
            {term: float(getattr(its, state)) for term, its in journeys.items()}, default=1.0, return_dtype=pl.Float64
        )
        for state in Journey.model_fields
    }
    return recent.group_by("object_id").agg(**{name: each.sum() / years for name, each in counted.items()})


def loans_ahead(collection: Collection) -> pl.LazyFrame:
    """Loans with a venue that take place or are asked for: loan_id, confirmed (false where nobody has answered yet)."""
    status = vocabulary("loan_status")
    legs = collection["loan_leg"].lazy().select("loan_id").unique()
    known = legs.join(collection["loan"].lazy().select("loan_id", "status"), on="loan_id", how="left")
    off, waiting = (
        pl.col("status").is_in(status.terms_where(flag)).fill_null(value=False) for flag in ("off", "waits_for_answer")
    )
    return known.filter(~off).select("loan_id", confirmed=~waiting)


def _journeys(collection: Collection) -> pl.DataFrame:
    """Journeys of promised loans that begin within the coming 12 months: to each venue, and home from the last."""
    coming = _journey_days(collection).filter(pl.col("day") <= _year_from(collection.day, 1))
    journeys = coming.group_by("object_id").agg(journeys=pl.len())
    return journeys.select("object_id", **{f"planned_{state}": each for state, each in _weighed().items()})


@returns(JOURNEYS)
def journeys_by_year(collection: Collection) -> pl.DataFrame:
    """Moves that promised journeys still to come count for, by calendar year, schema JOURNEYS."""
    by_year = _journey_days(collection).group_by("object_id", year=pl.col("day").dt.year()).agg(journeys=pl.len())
    moves_of = {f"{state}_moves": each for state, each in _weighed().items()}
    return by_year.select("object_id", "year", **moves_of).sort("object_id", "year")


def _journey_days(collection: Collection) -> pl.DataFrame:
    """object_id and day of each journey of a promised loan after the day: to each venue, and home from the last."""
    promised = loans_ahead(collection).filter("confirmed").collect(engine="in-memory")
    legs = collection["loan_leg"].select("loan_id", "starts_on", "ends_on").join(promised, on="loan_id", how="semi")
    days = pl.concat(
        [legs.select("loan_id", day="starts_on"), legs.group_by("loan_id").agg(day=pl.col("ends_on").max())]
    )
    objects = collection["loan_object"].select("loan_id", "object_id").unique()
    return objects.join(days.filter(pl.col("day") > collection.day), on="loan_id").select("object_id", "day")


def _weighed() -> dict[str, pl.Expr]:
    """Moves that `journeys` count for, of the packing that counts most, by whether a hazard moves or rests."""
    each = [_journey(term) for term in vocabulary("packing").term]
    most = {state: max(getattr(its, state) for its in each) for state in Journey.model_fields}
    return {state: (pl.col("journeys") * weight).cast(pl.Float64) for state, weight in most.items()}


def _year_from(day: date, years: int) -> date:
    """The same day of another year, within the years there are."""
    year = min(max(day.year + years, date.min.year), date.max.year)
    return date(year, day.month, min(day.day, monthrange(year, day.month)[1]))
