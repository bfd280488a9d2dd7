"""Rules about places: a place does not lie within itself, and a move moves."""

from dataclasses import dataclass
from datetime import date

import polars as pl

from collection.validation.duplicates import CHANGES, as_text
from collection.validation.problems import FROM, ROW, no_problems, problems_of
from collection.validation.session import Session
from schemas.fields import ForeignKey
from schemas.records.catalogue import WHOLE
from schemas.tables import RECORDS, TableSpec

MOVE, OBJECT = "move", "object"


def within_itself(rows: pl.DataFrame, spec: TableSpec, session: Session) -> pl.DataFrame:
    """Rows of a tree that lie within themselves, over whatever number of steps. Schema `UNWORDED`."""
    parents = [c.name for c in spec.columns if (p := c.mark(ForeignKey)) and p.record == spec.name]
    number = spec.key[0]
    listed = [no_problems()]
    for parent in (c for c in parents if c in rows.columns):
        held = session.standing(spec.name).select(number, parent).join(rows, on=number, how="anti")
        above = pl.concat([held, rows.select(number, parent)]).drop_nulls()
        wrong = rows.filter(pl.col(number).is_in(_in_a_circle(above, number, parent).implode()))
        listed.append(problems_of(wrong, "within_itself", parent, value=pl.col(parent)))
    return pl.concat(listed)


def _in_a_circle(above: pl.DataFrame, number: str, parent: str) -> pl.Series:
    """Numbers from which the way up comes back: after as many steps as there are rows only circles are left."""
    steps = above.select(start=number, end=parent).unique("start")
    double = steps
    for _ in range(max(1, above.height).bit_length()):
        double = double.join(double.select(end="start", then="end"), on="end").select("start", end="then")
    return double["end"].unique()


@dataclass(frozen=True)
class Moved:
    """`objects`: accepted rows of objects with the places that moves gave them; `notes` stand at the rows of moves."""

    objects: pl.DataFrame
    notes: pl.DataFrame
    changes: pl.DataFrame  # CHANGES, and `key`


def moved_objects(session: Session, today: date) -> Moved | None:
    """The newest move of an object whose destination differs from its place changes the place, in the same write.

    A move of a part, a move that is still to come, and one older than another move of the object change nothing. Where
    a person set the place here by hand, it stays and the note asks. None where no move moves anything.
    """
    newest = _newest_moves(session, today)
    if newest.is_empty():
        return None
    objects = session.rows(OBJECT).select("object_id", "row_version", "set_here", "location_id")
    moved = newest.join(objects, on="object_id", how="left").filter(
        pl.col("moved_to").ne_missing(pl.col("location_id"))
    )
    by_hand = pl.col("set_here").list.contains("location_id").fill_null(value=False)
    notes = [
        problems_of(moved.filter(~by_hand), "place_moved", "moved_to", value=pl.col("moved_to")),
        problems_of(moved.filter(by_hand), "place_not_moved", "moved_to", value=pl.col("moved_to")).with_columns(
            expected=pl.format("{} (as it stands here)", moved.filter(by_hand)["location_id"].fill_null("nothing"))
        ),
    ]
    moved = moved.filter(~by_hand)
    changes = moved.select(
        ROW,
        as_text("location_id").alias("before"),
        as_text("moved_to").alias("after"),
        key="object_id",
        column=pl.lit("location_id"),
    )
    return Moved(_with_places(session, moved), pl.concat(notes), changes.select("key", *CHANGES))


def _newest_moves(session: Session, today: date) -> pl.DataFrame:
    """Moves of whole objects that come in now and are the newest of their object: row, object_id, moved_to."""
    accepted = session.accepted.get(MOVE)
    if accepted is None or accepted.is_empty() or "moved_to" not in accepted.columns:
        return pl.DataFrame()
    part = pl.col("part") if "part" in accepted.columns else pl.lit(None, pl.String)
    mine = accepted.filter(part.is_null() | (part == WHOLE), pl.col("moved_on") <= pl.lit(today))
    mine = mine.filter(pl.col("moved_to").is_not_null())
    newest = mine.sort("moved_on", ROW).unique("object_id", keep="last", maintain_order=True)
    others = session.standing(MOVE).join(accepted, on=RECORDS[MOVE].key, how="anti")
    others = others.filter(pl.col("part").is_null() | (pl.col("part") == WHOLE), pl.col("moved_on") <= pl.lit(today))
    last = others.group_by("object_id").agg(last=pl.col("moved_on").max())
    newest = newest.join(last, on="object_id", how="left")
    standing = newest.filter(pl.col("last").is_null() | (pl.col("moved_on") >= pl.col("last")))
    return standing.select(ROW, "object_id", "moved_to")


def _with_places(session: Session, moved: pl.DataFrame) -> pl.DataFrame:
    """Accepted rows of objects, those that moved with their new place."""
    places = moved.select("object_id", moved_to="moved_to")
    accepted = session.accepted.get(OBJECT)
    if accepted is None or accepted.is_empty():
        accepted = pl.DataFrame(schema={"object_id": pl.String, ROW: pl.Int64, FROM: pl.Int64, "row_version": pl.Int64})
    if "location_id" not in accepted.columns:
        accepted = accepted.with_columns(pl.lit(None, pl.String).alias("location_id"))
    named = accepted.join(places, on="object_id", how="left", maintain_order="left")
    named = named.with_columns(location_id=pl.coalesce("moved_to", "location_id")).drop("moved_to")
    others = moved.join(accepted, on="object_id", how="anti").select(
        "object_id", "row_version", pl.col(ROW).alias(FROM), location_id="moved_to"
    )
    return pl.concat([named, others], how="diagonal")
