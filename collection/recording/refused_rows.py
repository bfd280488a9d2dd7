"""Settling rows that were not accepted: by name, or by taking them anyway through the same rules as a file."""

import json
import tempfile
from collections.abc import Iterator, Mapping
from datetime import date
from pathlib import Path

import polars as pl

from collection.intake import pipeline
from collection.intake.files.refused_workbook import TAKE, write_workbook
from collection.intake.files.sheet import SOURCE_ROW, Sheet
from collection.intake.mapping.load import mapping_of
from collection.intake.mapping.mapping import TAKE_ANYWAY
from collection.intake.mapping.suggest import suggest
from collection.intake.opening import Opened, Source, in_order
from collection.questions.refused_rows import KEY
from collection.snapshot import Collection
from collection.store import Change, Store
from collection.validation.problems import REFUSE
from collection.validation.validate import CHANGED, NEW, UNCHANGED
from schemas.errors import RegisterError

YES = "yes"


def workbook(collection: Collection) -> bytes:
    """The rows still to be settled, as the workbook that is corrected and read back."""
    waiting = collection["refused_row"].filter(pl.col("settled_by").is_null())
    with tempfile.TemporaryDirectory() as folder:
        write_workbook(waiting, Path(folder) / "refused.xlsx")
        return (Path(folder) / "refused.xlsx").read_bytes()


def missing(rows: pl.DataFrame, *, by: str, how: str) -> str:
    """What is still to be said before rows can be settled; empty when all is said."""
    lacking = {"tick the rows": not rows.is_empty(), "give your name": by.strip(), "say how": how.strip()}
    todo = [what for what, is_there in lacking.items() if not is_there]
    return f"First {' and '.join(todo)}." if todo else ""


def settle(store: Store, rows: pl.DataFrame, *, by: str, how: str) -> str:
    """Note who settled the rows, how and when; returns what came of it in a sentence. `rows`: schema REFUSED_ROWS."""
    settled = _held(store.read(), rows).select(
        *KEY, "row_version", settled_by=pl.lit(f"{by.strip()}, {date.today()}: {how.strip()}")
    )
    try:
        written = store.write(Change({"refused_row": settled}), by=by.strip())
    except RegisterError as error:
        return f"Nothing was written. {error}"
    if written.conflicts.height:
        return "Somebody else dealt with one of these rows meanwhile; it was left as it is."
    return f"{settled.height} {'row is' if settled.height == 1 else 'rows are'} marked as dealt with."


def overrule(store: Store, rows: pl.DataFrame, *, by: str) -> str:
    """Judge the rows again, told to be taken anyway; what the rules refuse stays refused, and the answer says so.

    A row that has no cell for each heading cannot be taken: it waits to be corrected in a workbook.
    """
    collection = store.read()
    held = _held(collection, rows)
    sources = list(_sources(held, collection))
    try:
        accepted, why = _take(store, collection, held, sources, by.strip()) if sources else (0, "")
    except RegisterError as error:
        return f"Nothing was written. {error}"
    ragged = held.height - sum(s.first.cells.height for s in sources)
    left = held.height - accepted - ragged
    sentences = [f"{accepted} taken."]
    if left:
        sentences.append(f"{left} still refused by the rules: {why or 'see their reasons'}.")
    if ragged:
        sentences.append(f"{ragged} cannot be taken, having no cell for each heading: correct them in the workbook.")
    return " ".join(sentences)


def _take(store: Store, collection: Collection, held: pl.DataFrame, sources: list[Source], by: str) -> tuple[int, str]:
    """Write what the rules accept, and settle its rows; returns how many, and why others were refused."""
    examined = pipeline.examine(Opened(in_order(sources)), collection, by=by)
    good = examined.delivery.placed(examined.outcomes.filter(pl.col("outcome").is_in([NEW, CHANGED, UNCHANGED])))
    names = {source.first.file: source.first.sha256 for source in sources}
    good = good.with_columns(sha256=pl.col("file").replace_strict(names, return_dtype=pl.String))
    settled = held.join(good, on=list(KEY), how="semi").select(
        *KEY, "row_version", settled_by=pl.lit(f"{by}, {date.today()}: taken anyway")
    )
    rows = {n: frame for n, frame in examined.change.rows.items() if n not in ("refused_row", "intake_file")}
    if settled.height:
        change = Change({**rows, "refused_row": settled}, True, examined.change.readings, examined.change.delivery)
        store.write(change, by=by)
    refused = examined.answer.problems.filter(pl.col("level") == REFUSE)
    return settled.height, "; ".join(dict.fromkeys(refused["words"]))


def _held(collection: Collection, rows: pl.DataFrame) -> pl.DataFrame:
    """The refused rows as held, in the version the person saw."""
    asked = rows.select(pl.col("sha256"), pl.col("sheet"), source_row=pl.col("row"), seen=pl.col("version"))
    return collection["refused_row"].join(asked, on=list(KEY)).with_columns(row_version=pl.col("seen"))


def _sources(held: pl.DataFrame, collection: Collection) -> Iterator[Source]:
    """The rows of each sheet as typed, marked as to be taken, with the mapping their file was read with."""
    files = {
        sha: (name, written)
        for sha, name, written in collection["intake_file"].select("sha256", "name", "mapping").rows()
    }
    for rows in held.partition_by("sha256", "sheet", maintain_order=True):
        sheet = _sheet(rows, files.get(rows["sha256"][0], ("", None))[0])
        if sheet is None:
            continue
        written = files.get(sheet.sha256, ("", None))[1]
        raw: Mapping[str, dict[str, dict[str, str]]] = json.loads(written) if written else {}
        mapping = mapping_of(raw[sheet.name], sheet) if sheet.name in raw else suggest(sheet)
        if mapping is not None:
            columns = {**mapping.columns, TAKE: TAKE_ANYWAY}
            yield Source(Path(sheet.file), sheet, mapping.with_columns(columns))


def _sheet(rows: pl.DataFrame, file: str) -> Sheet | None:
    """Rows whose cells stand under headings, as a sheet; None where there is none."""
    whole = [(n, c) for n, text in rows.select(SOURCE_ROW, "cells").rows() if isinstance(c := json.loads(text), dict)]
    if not whole:
        return None
    headings = list(dict.fromkeys(h for _, cells in whole for h in cells))
    columns = {h: [None if (v := cells.get(h)) is None else str(v) for _, cells in whole] for h in headings}
    frame = pl.DataFrame(columns, schema=dict.fromkeys(headings, pl.String)).with_columns(
        pl.lit(YES).alias(TAKE), pl.Series(SOURCE_ROW, [n for n, _ in whole], dtype=pl.Int64)
    )
    sha256 = str(rows["sha256"][0])
    return Sheet(file or sha256, sha256, str(rows["sheet"][0]), frame)
