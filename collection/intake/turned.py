"""A sheet on its side: fields stand one below the other, each object in a column of its own."""

from dataclasses import replace

import polars as pl

from collection.intake.files.sheet import SOURCE_ROW, Sheet
from collection.intake.mapping.suggest import recognised

MOST_FIELDS = 200
SIDE_NOTE = "sheet_on_its_side"


def upright(sheet: Sheet) -> Sheet:
    """The sheet with a row for each object, where it lies on its side; else as it is.

    It does where its first column, heading included, holds headings of a record, more than half of it and at least two,
    and the first row no other. `source_row` is then the number of the column, and a note says so.
    """
    first, *others = sheet.headings or [""]
    if len(others) < 1 or not 0 < sheet.cells.height <= MOST_FIELDS or sheet.faults.height:
        return sheet
    fields = [first, *sheet.cells[first].fill_null("").str.strip_chars().to_list()]
    known = recognised(fields)
    if known < 2 or known * 2 <= len(fields) or recognised(others) or len(set(fields)) < len(fields):  # noqa: PLR2004
        return sheet
    columns: dict[str, list[str | None]] = {field: [] for field in fields}
    for other in others:
        for field, value in zip(fields, [other, *sheet.cells[other].to_list()], strict=True):
            columns[field].append(value)
    cells = pl.DataFrame(columns, schema=dict.fromkeys(fields, pl.String)).with_columns(
        pl.Series(SOURCE_ROW, range(2, 2 + len(others)), dtype=sheet.cells.schema[SOURCE_ROW])
    )
    return replace(sheet, cells=cells.select(*fields, SOURCE_ROW), notes=(*sheet.notes, (SIDE_NOTE, "")), blank=0)
