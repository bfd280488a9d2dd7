"""Frames as a workbook: text is text, nothing in it is run or followed."""

from collections.abc import Mapping
from io import BytesIO

import polars as pl
import xlsxwriter

from collection.store.workbook import PRODUCER

TEXT_IS_TEXT = {
    "in_memory": True,
    "strings_to_formulas": False,
    "strings_to_urls": False,
    "strings_to_numbers": False,
}


def workbook(frame: pl.DataFrame) -> bytes:
    """One frame with its columns as headings."""
    return workbook_of_sheets({"": frame})


def workbook_of_sheets(sheets: Mapping[str, pl.DataFrame]) -> bytes:
    """A sheet a frame, by its name (at most 31 characters; none: as spreadsheets name it), columns as headings."""
    out = BytesIO()
    with xlsxwriter.Workbook(out, TEXT_IS_TEXT) as book:
        book.set_properties({"comments": PRODUCER})
        for name, frame in sheets.items():
            frame.write_excel(book, worksheet=book.add_worksheet(name or None).get_name(), autofit=True)
    return out.getvalue()
