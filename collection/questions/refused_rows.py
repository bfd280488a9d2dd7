"""Rows of the museum's files that were not taken, with their reasons, as a person reads them."""

import json
from collections.abc import Mapping
from typing import Any

import polars as pl

from collection.frames import returns
from collection.questions.object_record import column_heading
from collection.questions.triage import Triage
from collection.questions.words import count
from collection.snapshot import Collection

REFUSED_ROWS = pl.Schema(
    {n: pl.String() for n in ("number", "reasons", "to_do", "outcome", "file", "sheet")}
    | {"row": pl.Int64(), "settled_by": pl.String(), "sha256": pl.String(), "version": pl.Int64()}
)
KEY = ("sha256", "sheet", "source_row")


@returns(REFUSED_ROWS)
def refused_rows(collection: Collection) -> pl.DataFrame:
    """Every row set aside, unsettled first, by file and row; schema REFUSED_ROWS."""
    names = collection["intake_file"].select("sha256", file="name")
    rows = collection["refused_row"].join(names, on="sha256", how="left").sort("file", "sheet", "source_row")
    read = pl.DataFrame(
        [_read(row) for row in rows.iter_rows(named=True)],
        schema={"number": pl.String, "reasons": pl.String, "to_do": pl.String},
        orient="row",
    )
    worded = pl.concat([rows, read], how="horizontal").with_columns(
        row=pl.col("source_row"),
        version=pl.col("row_version"),
        file=pl.coalesce("file", "sha256"),
        outcome=pl.col("outcome").str.replace_all("_", " "),
    )
    ordered = worded.sort(pl.col("settled_by").is_not_null(), maintain_order=True)
    return ordered.select(pl.col(n).cast(t) for n, t in REFUSED_ROWS.items())


def refused_sentence(rows: pl.DataFrame) -> str:
    """*33 rows were not taken, 6 of them as no enamel on metal; 27 wait to be settled.*"""
    if rows.is_empty():
        return "Every row of every file was taken."
    waiting = rows["settled_by"].null_count()
    were = "row was" if rows.height == 1 else "rows were"
    return f"{rows.height:,} {were} not taken, each with its reason; {waiting:,} of them still to be dealt with."


def file_sentence(triage: Triage) -> str:
    """*34 files were read so far.*"""
    return f"{count(triage.collection['intake_file'].height, 'file was', 'files were')} read so far."


def _read(row: Mapping[str, Any]) -> tuple[str, str, str]:
    """First cell, reasons and what to do, of one row."""
    cells, reasons = json.loads(row["cells"]), json.loads(row["problems"])
    values = cells.values() if isinstance(cells, dict) else cells
    headed = [(column_heading(r["column"]) if r.get("column") else "", r.get("words")) for r in reasons]
    reasons_in_words = [": ".join(filter(None, each)) for each in headed]
    to_do = dict.fromkeys(r["to_do"] for r in reasons if r.get("to_do"))
    return next((str(v) for v in values if v), ""), "; ".join(reasons_in_words), " ".join(to_do)
