"""A frame as a workbook of one sheet: text is text, nothing in it is run or followed."""

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
    """The frame with its columns as headings."""
    out = BytesIO()
    with xlsxwriter.Workbook(out, TEXT_IS_TEXT) as book:
        book.set_properties({"comments": PRODUCER})
        frame.write_excel(book, autofit=True)
    return out.getvalue()
