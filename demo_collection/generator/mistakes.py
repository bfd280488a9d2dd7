"""Mistakes put into files on purpose, one of each kind that a file can hold: whole lines, and odd cells of good lines.

Which rule names each of them is listed apart, in tests/demo_collection (refused_rows.csv, ODD_CELLS)."""

import csv

from demo_collection.generator.tables import grouped

EXTRA_LINES, ODD_CELLS = grouped("extra_lines", "file", line=int), grouped("odd_cells", "file", line=int)
# What a table cannot show: a cell longer than that of a spreadsheet, a space without width, a byte that is no UTF-8.
WRITTEN_AS = {"<LONG>": "see letter; " * 2_800, "<200B>": "\u200b", "<EE>": "\udcee"}


def with_mistakes(name: str, text: str) -> bytes:
    """A CSV file with its mistakes. `line` is the number of the line in the file that is written."""
    lines = text.split("\n")
    columns = lines[0].split(",")
    for extra in EXTRA_LINES.get(name, []):
        lines.insert(extra["line"] - 1, extra["text"])
    for odd in ODD_CELLS.get(name, []):
        cells = next(csv.reader([lines[odd["line"] - 1]]))
        cells[columns.index(odd["column"])] = odd["value"]
        lines[odd["line"] - 1] = ",".join(f'"{cell}"' if "," in cell else cell for cell in cells)
    text = "\n".join(lines)
    for mark, letters in WRITTEN_AS.items():
        text = text.replace(mark, letters)
    return text.encode("utf-8", "surrogateescape")
