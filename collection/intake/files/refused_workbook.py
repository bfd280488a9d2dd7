"""The workbook of refused rows: corrected by a person, read back like any file, and then settled."""

import json
from pathlib import Path
from typing import TYPE_CHECKING

import polars as pl

from collection.frames import returns
from collection.intake.files.sheet import SOURCE_ROW, Sheet

if TYPE_CHECKING:
    from xlsxwriter import Workbook

# Headings of our own beside those of the file; `TAKE` is where a person overrules the reading *not enamel on metal*.
OUTCOME, REASONS, TO_DO, TAKE = "outcome", "reasons", "what to do", "take it anyway"
OF_FILE, OF_SHEET, OF_ROW = "refused in file", "refused in sheet", "refused row"
OURS = (OUTCOME, REASONS, TO_DO, OF_FILE, OF_SHEET, OF_ROW)
WIDE = 40
RETURNED = pl.Schema(
    {
        "sha256": pl.String(),
        "sheet": pl.String(),
        "source_row": pl.Int64(),
        "file": pl.String(),
        "in_sheet": pl.String(),
        "in_row": pl.Int64(),
    }
)


def write_workbook(refused: pl.DataFrame, path: Path) -> None:
    """One sheet a source sheet: the cells as typed under their headings, then reasons. Text stays text."""
    import xlsxwriter  # 0.014 s of start-up that only a workbook asked for needs

    path.parent.mkdir(parents=True, exist_ok=True)
    with xlsxwriter.Workbook(
        path, {"strings_to_formulas": False, "strings_to_urls": False, "strings_to_numbers": False}
    ) as book:
        groups = refused.partition_by("sha256", "sheet", maintain_order=True)
        for number, rows in enumerate(groups, start=1):
            _write_sheet(book, f"refused {number}", rows)
        if not groups:
            book.add_worksheet("nothing refused")


def _write_sheet(book: "Workbook", name: str, rows: pl.DataFrame) -> None:
    sheet, bold = book.add_worksheet(name), book.add_format({"bold": True, "text_wrap": True})
    typed = [json.loads(c) for c in rows["cells"]]
    headings = list(dict.fromkeys(h for cells in typed if isinstance(cells, dict) for h in cells))
    ragged = max((len(cells) for cells in typed if isinstance(cells, list)), default=0)
    headings += [f"cell {i + 1}" for i in range(len(headings), ragged)]
    for column, heading in enumerate([*headings, TAKE, *OURS]):
        sheet.write_string(0, column, heading, bold)
    for line, (cells, row) in enumerate(zip(typed, rows.iter_rows(named=True), strict=True), start=1):
        values = (
            [cells.get(h) for h in headings]
            if isinstance(cells, dict)
            else [*cells, *[None] * len(headings)][: len(headings)]
        )
        for column, value in enumerate([*values, None, *_reasons(row)]):
            if value is not None:
                sheet.write_string(line, column, str(value)[:32_767])
    sheet.freeze_panes(1, 0)
    sheet.set_column(len(headings), len(headings) + len(OURS), WIDE)


def _reasons(row: dict[str, object]) -> list[str]:
    reasons = json.loads(str(row["problems"]))
    reasons_read = [
        " ".join(filter(None, (f"{r.get('column') or ''}:", r.get("words"), f"({r['rule']})"))).lstrip(": ")
        for r in reasons
    ]
    to_do = [r["to_do"] for r in reasons if r.get("to_do")]
    own = [str(row["outcome"]), "; ".join(reasons_read), " ".join(dict.fromkeys(to_do))]
    return [*own, str(row["sha256"]), str(row["sheet"]), str(row[SOURCE_ROW])]


@returns(RETURNED)
def returned(sheet: Sheet) -> pl.DataFrame:
    """Which refused row each row of a returned workbook is; schema `RETURNED`."""
    number = pl.col(OF_ROW).cast(pl.Int64, strict=False)
    return sheet.cells.select(
        sha256=pl.col(OF_FILE),
        sheet=pl.col(OF_SHEET),
        source_row=number,
        file=pl.lit(sheet.file),
        in_sheet=pl.lit(sheet.name),
        in_row=pl.col(SOURCE_ROW),
    ).drop_nulls()
