"""What came in: by whom, when, with what outcome, which cells it changed; and what taking a delivery back does."""

import json
from collections import Counter
from collections.abc import Mapping
from typing import Any

import polars as pl

from collection.frames import returns
from collection.questions.object_record import title_of_record
from collection.questions.words import count
from collection.validation.problems import rules
from schemas.tables import RECORDS

OUTCOMES = ("new", "changed", "unchanged", "outside", "refused", "between")
DELIVERIES = pl.Schema(
    dict.fromkeys(("delivery_id", "came_at", "made_by", "files", "what"), pl.String)
    | dict.fromkeys(OUTCOMES, pl.Int64)
    | {"stands": pl.String}
)
# Filled cells that a delivery gave another value, by column; example: one of them, before and after.
CELLS = pl.Schema({"record": pl.String, "column": pl.String, "cells": pl.Int64, "example": pl.String})
OF_THE_STORE = ("source_file", "source_row", "set_here", "entry_no", "row_version")
MINUTES = len("2026-09-30 12:00")


@returns(DELIVERIES)
def deliveries(rows: pl.DataFrame) -> pl.DataFrame:
    """Every delivery, latest first, schema DELIVERIES; `rows`: of record `delivery`, in order."""
    return pl.DataFrame([_row(row) for row in rows.reverse().iter_rows(named=True)], schema=DELIVERIES, orient="row")


def _row(row: Mapping[str, Any]) -> dict[str, Any]:
    counts: dict[str, dict[str, int]] = _parsed(row["counts"], {})
    total = Counter[str]()
    for its in counts.values():
        total.update(its)
    kinds = ", ".join(map(title_of_record, counts))
    undone = f"undone {row['undone_on']} by {row['undone_by']}" if row["undone_on"] else "stands"
    return {
        "delivery_id": row["delivery_id"], "came_at": str(row["made_at"])[:MINUTES], "made_by": row["made_by"],
        "files": ", ".join(_parsed(row["files"], [row["files"]])), "what": kinds, "stands": undone,
    } | {name: total[name] for name in OUTCOMES}  # fmt: skip


def _parsed(text: str, otherwise: Any) -> Any:
    """JSON as the register writes it; something else where somebody wrote into the file."""
    try:
        return json.loads(text)
    except ValueError:
        return otherwise


@returns(CELLS)
def changed_cells(entries: pl.DataFrame) -> pl.DataFrame:
    """Cells that held a value and got another, most first, schema CELLS; `entries`: of the journal, changes alone."""
    by_column: dict[tuple[str, str], list[str]] = {}
    for row in entries.iter_rows(named=True):
        before, after = json.loads(row["before"]), json.loads(row["after"])
        key = "/".join(map(str, json.loads(row["row_key"]).values()))
        for column, value in before.items():
            if value is not None and column not in OF_THE_STORE and column in RECORDS[row["record_name"]].schema():
                words = f"{key}: {_shown(value)} \N{RIGHTWARDS ARROW} {_shown(after.get(column))}"
                by_column.setdefault((row["record_name"], column), []).append(words)
    rows = [(record, column, len(cells), cells[0]) for (record, column), cells in by_column.items()]
    frame = pl.DataFrame(rows, schema=CELLS, orient="row")
    return frame.sort("cells", "record", "column", descending=[True, False, False])


def _shown(value: Any) -> str:
    return "empty" if value is None else str(value)


def deliveries_sentence(rows: pl.DataFrame) -> str:
    """*42 deliveries came in, the last 2026-11-26 13:20 by Ida; 33 rows of all were not taken in.*

    `rows`: schema DELIVERIES.
    """
    if rows.is_empty():
        return "Nothing has come in yet."
    last = rows.row(0, named=True)
    out = int(rows["refused"].sum()) + int(rows["outside"].sum())
    left = (
        f"{count(out, 'row')} of all {'was' if out == 1 else 'were'} not taken in" if out else "every row was taken in"
    )
    came = count(rows.height, "delivery", "deliveries")
    return f"{came} came in, the last {last['came_at']} by {last['made_by']}; {left}."


def changed_sentence(cells: pl.DataFrame) -> str:
    """*It gave 27 filled cells another value, in 3 columns.* `cells`: schema CELLS."""
    if cells.is_empty():
        return "It changed no cell that was filled before."
    filled = count(int(cells["cells"].sum()), "filled cell")
    return f"It gave {filled} another value, in {count(cells.height, 'column')}."


def not_read(rows: pl.DataFrame, delivery_id: str) -> list[tuple[str, str]]:
    """What was not read of a delivery: the column with how many cells, and examples with why; headings not used.

    `rows`: of record `delivery`.
    """
    texts = rows.filter(pl.col("delivery_id") == delivery_id)["not_read"].to_list()
    its = _parsed(texts[0], {}) if texts and texts[0] else {}
    cells = [_cells_words(line) for line in its.get("cells", [])]
    unused = [(f"Headings not used, {file}", ", ".join(names)) for file, names in its.get("headings", {}).items()]
    return [*cells, *unused]


def _cells_words(line: Mapping[str, Any]) -> tuple[str, str]:
    rule = rules().get(line["rule"])
    such = ", ".join(f"\N{LEFT SINGLE QUOTATION MARK}{e}\N{RIGHT SINGLE QUOTATION MARK}" for e in line["examples"])
    why = rule.words if rule else ""
    return f"{line['what']}: {count(int(line['cells']), 'cell')}", f"{such}: {why}." if such else f"{why}."
