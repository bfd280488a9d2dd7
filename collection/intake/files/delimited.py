"""Reading CSV and TSV: any encoding, any delimiter, a ragged row or a stray quote costs that row only."""

import csv
import json
import sys
from collections.abc import Iterator
from dataclasses import dataclass, field

import charset_normalizer
import numpy as np
import polars as pl

from collection.intake.files.sheet import FAULTS, ROW, SHOWN_OF_A_CELL

csv.field_size_limit(sys.maxsize)  # a long cell is refused with its row, not with the file
DELIMITERS = (",", ";", "\t", "|")
MARKS = {b"\xef\xbb\xbf": "utf-8-sig", b"\xff\xfe": "utf-16", b"\xfe\xff": "utf-16"}
SAMPLE_BYTES, SAMPLE_LINES, BLOCK_BYTES, BATCH_ROWS = 256_000, 50, 4_000_000, 100_000


@dataclass
class Rows:
    """Rows gathered so far: frames of equal width in order, and what was wrong with single rows."""

    frames: list[pl.DataFrame] = field(default_factory=list)
    faults: list[tuple[int, str, str, str]] = field(default_factory=list)
    count: int = 0


def decode(data: bytes) -> tuple[bytes, tuple[str, ...]]:
    """The file as UTF-8 without mark, line ends as `\\n`, and notes on how its encoding was found."""
    mark = next((m for m in MARKS if data.startswith(m)), b"")
    text, notes = (data.decode(MARKS[mark], "replace"), ()) if mark else _guess(data)
    if text is not None:
        data = text.encode("utf-8")
    if b"\r" in data:
        data = data.replace(b"\r\n", b"\n").replace(b"\r", b"\n")
    return data, notes


def _guess(data: bytes) -> tuple[str | None, tuple[str, ...]]:
    """None where the bytes are UTF-8 already."""
    try:
        data.decode("utf-8")
    except UnicodeDecodeError:
        pass
    else:
        return None, ()
    loose = data.decode("utf-8", "replace")
    sound = sum(1 for c in data.decode("utf-8", "ignore") if ord(c) > 127)
    if sound > loose.count("\ufffd"):  # UTF-8 with a few foreign bytes: only the rows that hold them suffer
        return loose, ("most of the file is UTF-8, some bytes are not: those rows are refused",)
    best = charset_normalizer.from_bytes(data[:SAMPLE_BYTES]).best()
    page = best.encoding if best is not None else "cp1252"
    page = "cp1252" if page in ("ascii", "latin_1", "cp1250", "cp1252") else page
    return data.decode(page, "replace"), (f"the encoding is not stated; read as {page}: look at the accents",)


def find_delimiter(data: bytes) -> str:
    """The delimiter that gives the widest rows of one width in the first lines."""
    lines = data[:SAMPLE_BYTES].decode("utf-8", "ignore").split("\n")[:SAMPLE_LINES]
    return max(DELIMITERS, key=lambda d: _steadiness(lines, d))


def _steadiness(lines: list[str], delimiter: str) -> tuple[float, int]:
    widths = [len(row) for row in csv.reader(lines, delimiter=delimiter) if row]
    usual = max(set(widths), key=widths.count, default=1)
    return (widths.count(usual) / len(widths) if usual > 1 else 0.0, usual)


def read_rows(data: bytes, start: int, delimiter: str, width: int, first_row: int) -> Iterator[Rows]:
    """Read records from byte `start` on, in batches; columns are named by position, rows numbered from `first_row`.

    Blocks without quotes and of even width go through the fast reader; the rest row by row through `csv`.
    """
    rows = Rows()
    while start < len(data):
        if rows.count >= BATCH_ROWS:
            yield rows
            rows, first_row = Rows(), first_row + rows.count
        end = _block_end(data, start)
        block = data[start:end]
        if b'"' not in block and _is_even(block, delimiter, width):
            _take_block(rows, block, delimiter, width, first_row)
        else:
            end = _take_slowly(rows, data, start, end, delimiter, width, first_row)
        start = end
    yield rows


def _block_end(data: bytes, start: int) -> int:
    cut = data.find(b"\n", min(start + BLOCK_BYTES, len(data)))
    return len(data) if cut < 0 else cut + 1


def _is_even(block: bytes, delimiter: str, width: int) -> bool:
    """Every line of the block has the same number of delimiters, and none is blank."""
    letters = np.frombuffer(block, np.uint8)
    ends = np.flatnonzero(letters == ord("\n"))
    if not block.endswith(b"\n"):
        ends = np.append(ends, len(letters))
    counts = np.diff(np.searchsorted(np.flatnonzero(letters == ord(delimiter)), ends), prepend=0)
    return width > 1 and bool((counts == width - 1).all())


def _take_block(rows: Rows, block: bytes, delimiter: str, width: int, first_row: int) -> None:
    frame = pl.read_csv(
        block,
        has_header=False,
        separator=delimiter,
        quote_char=None,
        infer_schema=False,
        new_columns=[str(i) for i in range(width)],
    )
    _add(rows, frame, first_row)


def _add(rows: Rows, frame: pl.DataFrame, first_row: int) -> None:
    start = first_row + rows.count
    numbered = frame.with_columns(pl.int_range(start, start + frame.height, dtype=pl.Int64).alias(ROW))
    rows.frames.append(numbered)
    rows.count += frame.height


def _take_slowly(rows: Rows, data: bytes, start: int, end: int, delimiter: str, width: int, first_row: int) -> int:
    """Read whole records until at least `end`; returns where the last one stopped."""
    taken: list[list[str]] = []
    stop = start
    for cells, stop in _records(data, start, delimiter, width):
        if len(cells) == width or cells == []:
            taken.append((cells or [""] * width)[:width])
        else:
            number = first_row + rows.count + len(taken)
            rule = "stray_quote" if len(cells) == 1 and '"' in cells[0] and width > 1 else "ragged_row"
            rows.faults.append((number, rule, f"{len(cells)} cells", json.dumps(cells, ensure_ascii=False)))
            taken.append([*cells, *[""] * width][:width])
        if stop >= end:
            break
    columns = zip(*taken, strict=True) if taken else [()] * width
    frame = pl.DataFrame({str(i): pl.Series(c, dtype=pl.String) for i, c in enumerate(columns)})
    _add(rows, frame.with_columns(pl.when(pl.all() != "").then(pl.all())), first_row)
    return stop


def _records(data: bytes, start: int, delimiter: str, width: int) -> Iterator[tuple[list[str], int]]:
    """Records and the position after each. A record that a stray quote swallowed is given back as its first line."""
    while start < len(data):
        lines = _Lines(data, start)
        reader = csv.reader(lines, delimiter=delimiter, strict=True)
        try:
            for cells in reader:
                if lines.taken > 1 and len(cells) != width:
                    raise csv.Error
                yield cells, lines.position
                start, lines.taken = lines.position, 0
        except csv.Error:
            stop = data.find(b"\n", start)
            stop = len(data) if stop < 0 else stop + 1
            yield [data[start:stop].decode("utf-8").rstrip("\n")], stop
            start = stop


class _Lines:
    """Lines one at a time, so that the position after a record is known to the byte."""

    def __init__(self, data: bytes, position: int) -> None:
        self.data, self.position, self.taken = data, position, 0

    def __iter__(self) -> "_Lines":
        return self

    def __next__(self) -> str:
        if self.position >= len(self.data):
            raise StopIteration
        stop = self.data.find(b"\n", self.position)
        stop = len(self.data) if stop < 0 else stop + 1
        line = self.data[self.position : stop].decode("utf-8")
        self.position, self.taken = stop, self.taken + 1
        return line


def faults_frame(rows: Rows) -> pl.DataFrame:
    """What was wrong with single rows; schema `FAULTS`."""
    listed = [(n, rule, None, value[:SHOWN_OF_A_CELL], raw) for n, rule, value, raw in rows.faults]
    return pl.DataFrame(listed, schema=FAULTS, orient="row")


def first_records(data: bytes, delimiter: str, count: int) -> list[tuple[list[str], int]]:
    """The first records and the position after each, for finding the headings."""
    found: list[tuple[list[str], int]] = []
    for record in _records(data, 0, delimiter, width=0):
        found.append(record)
        if len(found) == count:
            break
    return found
