"""Reading workbooks in a process of their own: a 1 KB file with two far cells would otherwise end the register."""

import json
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import polars as pl

from collection.intake.files import workbook_child
from schemas.errors import SourceRefused

LONGEST_S = 60
MOST_MEMORY_BYTES = 2 * 1024**3


@dataclass(frozen=True)
class RawSheet:
    """`grid`: every cell as text; `numbers`: columns of number cells; `faults`: row, column, rule and text of cells."""

    name: str
    grid: pl.DataFrame
    numbers: frozenset[int]
    faults: tuple[tuple[int, int, str, str | None], ...]
    hidden: bool


def read_grids(path: Path) -> Iterator[RawSheet]:
    """The sheets of a workbook. Raises SourceRefused where it cannot be opened within the limits."""
    with tempfile.TemporaryDirectory() as folder:
        _run(path, Path(folder))
        listed = json.loads((Path(folder) / "sheets.json").read_text("utf-8"))
        for number, sheet in enumerate(listed):
            grid = pl.read_ipc(Path(folder) / f"{number}.arrow")
            if grid.width:
                grid = grid.with_columns(pl.when(pl.all() != "").then(pl.all()))  # an empty text is an empty cell
            faults = tuple((row, column, rule, text) for row, column, rule, text in sheet["faults"])
            yield RawSheet(sheet["name"], grid, frozenset(sheet["numbers"]), faults, sheet["hidden"])


def _run(path: Path, folder: Path) -> None:
    command = [sys.executable, workbook_child.__file__, str(path), str(folder), str(MOST_MEMORY_BYTES)]
    try:
        done = subprocess.run(command, capture_output=True, timeout=LONGEST_S, check=False)
    except subprocess.TimeoutExpired:
        raise _refused(path, f"opening the workbook took over {LONGEST_S} s") from None
    if done.returncode != 0:
        last = done.stderr.decode("utf-8", "replace").strip().split("\n")[-1]
        memory = done.returncode < 0 or "memory" in last.lower()
        raise _refused(path, "opening the workbook needs over 2 GB of memory" if memory else "this is not a workbook")


def _refused(path: Path, what: str) -> SourceRefused:
    expected = "a workbook (.xlsx) or text table (.csv, .tsv)"
    return SourceRefused(path.name, what, expected, "Save the sheet you need as a new file, or as CSV in UTF-8.")
