"""Settling rows that were not taken: by name, or by taking them anyway through the same rules as a file."""

import json
import tempfile
from datetime import date
from pathlib import Path

import polars as pl

from collection.intake import pipeline as way_in
from collection.intake.files.refused_workbook import OF_FILE, OF_ROW, OF_SHEET, TAKE, write_workbook
from collection.questions.refused_rows import KEY
from collection.snapshot import Collection
from collection.store import Change, Store
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
    settled = _kept(store, rows).select(
        *KEY, "row_version", settled_by=pl.lit(f"{by.strip()}, {date.today()}: {how.strip()}")
    )
    try:
        written = store.write(Change({"refused_row": settled}), by=by.strip())
    except RegisterError as error:
        return f"Nothing was written. {error}"
    if written.conflicts.height:
        return "Somebody else settled one of these rows meanwhile; it was left as it is."
    return f"{settled.height} {'row is' if settled.height == 1 else 'rows are'} settled."


def overrule(store: Store, rows: pl.DataFrame, *, by: str) -> str:
    """Bring the rows in again, told to be taken anyway; what the rules refuse stays refused, and the answer says so."""
    with tempfile.TemporaryDirectory() as folder:
        sheets = _as_sheets(_kept(store, rows), Path(folder))
        try:
            kept = way_in.kept_or_empty(store)
            result = way_in.intake(store, way_in.open_files(sheets, kept), kept, by=by.strip())
        except RegisterError as error:
            return f"Nothing was written. {error}"
    taken = int(result.files["accepted"].sum()) + int(result.files["unchanged"].sum())
    left = rows.height - taken
    why = "; ".join(dict.fromkeys(result.problems.filter(pl.col("level") == "refuse")["words"]))
    return f"{taken} taken." + (f" {left} still refused by the rules: {why or 'see their reasons'}." if left else "")


def _kept(store: Store, rows: pl.DataFrame) -> pl.DataFrame:
    """The kept rows, in the version the person saw."""
    asked = rows.select(pl.col("sha256"), pl.col("sheet"), source_row=pl.col("row"), seen=pl.col("version"))
    kept = store.read()["refused_row"].join(asked, on=KEY)
    return kept.with_columns(row_version=pl.col("seen"))


def _as_sheets(kept: pl.DataFrame, folder: Path) -> list[Path]:
    """Each source sheet's rows as typed, as a table of text that says they are to be taken."""
    paths = []
    for number, rows in enumerate(kept.partition_by("sha256", "sheet", maintain_order=True)):
        typed = [cells for c in rows["cells"] if isinstance(cells := json.loads(c), dict)]
        named = dict(zip((OF_FILE, OF_SHEET, OF_ROW), KEY, strict=True))
        ours = rows.select(pl.lit(YES).alias(TAKE), *(pl.col(c).cast(pl.String).alias(n) for n, c in named.items()))
        if len(typed) == rows.height:
            cells = pl.DataFrame(typed, infer_schema_length=None, strict=False).cast(pl.String)
            paths.append(folder / f"taken_anyway_{number}.csv")
            pl.concat([cells, ours], how="horizontal").write_csv(paths[-1])
    return paths
