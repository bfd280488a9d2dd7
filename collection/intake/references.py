"""What a row points to must be there: in the register, or in a row taken before it."""

from collections.abc import Callable, Mapping

import polars as pl

from collection.intake.against_kept import normal
from collection.intake.problems import found, nothing
from schemas.fields import Points
from schemas.tables import RECORDS, TableSpec

Keys = Callable[[str], pl.Series]  # record to the numbers of its rows


def broken_references(
    rows: pl.DataFrame, spec: TableSpec, known: Keys, refused: Mapping[str, pl.Series]
) -> pl.DataFrame:
    """Problems of rows that point to nothing, or to a row that was refused. Schema `FOUND`."""
    listed = []
    for column in spec.marked(Points):
        points = column.mark(Points)
        if points is None or column.name not in rows.columns:
            continue
        target = known(points.record)
        if points.record == spec.name:  # a tree points into its own sheet
            target = pl.concat([target, rows[spec.key[0]]])
        lost = rows.filter(pl.col(column.name).is_not_null() & ~pl.col(column.name).is_in(target.implode()))
        if not lost.is_empty():
            listed.append(_worded(lost, column.name, target, refused.get(points.record)))
    return pl.concat([nothing(), *listed])


def _worded(lost: pl.DataFrame, column: str, target: pl.Series, refused: pl.Series | None) -> pl.DataFrame:
    parents = refused if refused is not None else pl.Series([], dtype=pl.String)
    orphan = pl.col(column).is_in(parents.implode())
    unknown = lost.filter(~orphan).with_columns(normal(column).alias("normal"))
    spelt = pl.DataFrame({"known": target}).with_columns(normal("known").alias("normal")).unique("normal")
    near = unknown.join(spelt, on="normal", how="left", maintain_order="left")
    meant = near.select(e=pl.format("a known number; did you mean '{}'?", "known"))["e"]
    asked = found(near, "unknown_reference", column, value=pl.col(column)).with_columns(expected=meant)
    return pl.concat([asked, found(lost.filter(orphan), "row_of_refused_parent", column, value=pl.col(column))])


def own_number(record: str) -> str:
    """The column that others point to."""
    return RECORDS[record].key[0]
