"""Reading CSV and TSV: any encoding, any delimiter, a ragged row or a stray quote costs that row only."""

import csv
import json
import sys
from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import islice

import polars as pl
from polars.exceptions import ComputeError, SchemaError

from collection.frames import returns
from collection.intake.files.encodings import SAMPLE_BYTES
from collection.intake.files.sheet import FAULTS, SOURCE_ROW
from collection.validation.cells import SHOWN_OF_A_CELL
from schemas.fields import LONGEST_CELL

csv.field_size_limit(sys.maxsize)  # a long cell is refused with its row, not with the file
DELIMITERS = (",", ";", "\t", "|")
MOST_LINE = 4_000_000  # bytes
PATIENCE = 8  # times the length of the file
ANY_WIDTH, HEADING_LINES = 0, 20
SAMPLE_LINES, BLOCK_BYTES, BATCH_ROWS = 50, 4_000_000, 100_000


@dataclass
class Rows:
    """Rows gathered so far: frames of equal width in order, and what was wrong with single rows."""

    frames: list[pl.DataFrame] = field(default_factory=list)
    faults: list[tuple[int, str, str, str]] = field(default_factory=list)
    count: int = 0


def find_delimiter(data: bytes) -> str:
    """The delimiter that gives the widest rows of one width in the first lines."""
    lines = data[:SAMPLE_BYTES].decode("utf-8", "ignore").split("\n")[:SAMPLE_LINES]
    return max(DELIMITERS, key=lambda d: _steadiness(lines, d))


def _steadiness(lines: list[str], delimiter: str) -> tuple[float, int]:
    widths = [len(row) for row in csv.reader(lines, delimiter=delimiter) if row]
    usual = max(set(widths), key=widths.count, default=1)
    return (widths.count(usual) / len(widths) if usual > 1 else 0.0, usual)


@dataclass
class TextTable:
    """A decoded text table that is read in batches; columns are named by position.

    `patience`: bytes that may be read for records over several lines which turn out to be none. When it is used up,
    the rest of the file is read line by line, so that a file of stray quotes takes a time in proportion to its length.
    """

    data: bytes
    delimiter: str
    width: int
    patience: int = field(init=False)

    def __post_init__(self) -> None:
        self.patience = PATIENCE * len(self.data)

    def rows(self, start: int, first_row: int) -> Iterator[Rows]:
        """Records from byte `start` on, in batches, numbered from `first_row`.

        Blocks without quotes and of even width go through the fast reader; the rest row by row through `csv`.
        """
        rows = Rows()
        while start < len(self.data):
            if rows.count >= BATCH_ROWS:
                yield rows
                rows, first_row = Rows(), first_row + rows.count
            end = _block_end(self.data, start)
            block = self.data[start:end]
            frame = None if b'"' in block else _even_rows(block, self.delimiter, self.width)
            if frame is None:
                end = self._take_slowly(rows, start, end, first_row)
            else:
                _add(rows, frame, first_row)
            start = end
        yield rows

    def _take_slowly(self, rows: Rows, start: int, end: int, first_row: int) -> int:
        """Read whole records until at least `end`; returns where the last one stopped."""
        gathered: list[list[str]] = []
        stop = start
        for cells, stop in self.records(start):
            if len(cells) == self.width or cells == []:
                gathered.append((cells or [""] * self.width)[: self.width])
            else:
                number = first_row + rows.count + len(gathered)
                rows.faults.append((number, self._rule(cells), f"{len(cells)} cells", _as_json(cells)))
                gathered.append([*cells, *[""] * self.width][: self.width])
            if stop >= end:
                break
        columns = zip(*gathered, strict=True) if gathered else [()] * self.width
        frame = pl.DataFrame({str(i): pl.Series(c, dtype=pl.String) for i, c in enumerate(columns)})
        _add(rows, frame.with_columns(pl.when(pl.all() != "").then(pl.all())), first_row)
        return stop

    def _may_be_whole(self, cells: list[str], lines: int) -> bool:
        """A record over several lines has the width of the table; a heading has a few lines at most."""
        return lines <= HEADING_LINES if self.width == ANY_WIDTH else len(cells) == self.width

    def _rule(self, cells: list[str]) -> str:
        if len(cells) == 1 and len(cells[0]) >= MOST_LINE:
            return "line_too_long"
        return "stray_quote" if len(cells) == 1 and '"' in cells[0] and self.width > 1 else "ragged_row"

    def records(self, start: int) -> Iterator[tuple[list[str], int]]:
        """Records and the position after each. Of a record that a stray quote swallowed the first line is given."""
        while start < len(self.data):
            lines = _Lines(self.data, start, one_line=self.patience <= 0)
            reader = csv.reader(lines, delimiter=self.delimiter, strict=True)
            try:
                for cells in reader:
                    if lines.count_of_lines > 1 and not self._may_be_whole(cells, lines.count_of_lines):
                        raise csv.Error
                    yield cells, lines.position
                    start, lines.count_of_lines = lines.position, 0
            except csv.Error:
                self.patience -= lines.position - start
                stop = _line_end(self.data, start)
                yield [self.data[start : min(stop, start + MOST_LINE)].decode("utf-8", "replace").rstrip("\n")], stop
                start = stop


def _as_json(cells: list[str]) -> str:
    return json.dumps([c[:LONGEST_CELL] for c in cells], ensure_ascii=False)


def _line_end(data: bytes, start: int) -> int:
    stop = data.find(b"\n", start)
    return len(data) if stop < 0 else stop + 1


def _block_end(data: bytes, start: int) -> int:
    cut = data.find(b"\n", min(start + BLOCK_BYTES, len(data)))
    return len(data) if cut < 0 else cut + 1


def _even_rows(block: bytes, delimiter: str, width: int) -> pl.DataFrame | None:
    """The rows of a block without quotes; None where its lines have not all the same number of cells, or one is blank.

    A line with too many cells the reader refuses. One with too few ends in an empty cell: where no row does, there is
    none, and only where one does the delimiters are counted.
    """
    if width == 1:
        return None
    if not block.endswith(b"\n"):  # at the end of a file the reader passes over a delimiter too many
        block += b"\n"
    try:
        frame = pl.read_csv(
            block,
            has_header=False,
            separator=delimiter,
            quote_char=None,
            schema={str(i): pl.String for i in range(width)},
        )
    except (ComputeError, SchemaError):
        return None
    if frame.is_empty():  # a mark of the encoding and nothing else
        return None
    if not frame.to_series(width - 1).null_count():
        return frame
    lines = block.count(b"\n")
    return frame if lines == frame.height and block.count(delimiter.encode()) == (width - 1) * lines else None


def _add(rows: Rows, frame: pl.DataFrame, first_row: int) -> None:
    start = first_row + rows.count
    numbered = frame.with_columns(pl.int_range(start, start + frame.height, dtype=pl.Int64).alias(SOURCE_ROW))
    rows.frames.append(numbered)
    rows.count += frame.height


class _Lines:
    """Lines one at a time, so that the position after a record is known to the byte.

    A line longer than `MOST_LINE`, and with `one_line` a record that goes on, ends the record with an error.
    """

    def __init__(self, data: bytes, position: int, *, one_line: bool = False) -> None:
        self.data, self.position, self.count_of_lines, self.one_line = data, position, 0, one_line

    def __iter__(self) -> "_Lines":
        return self

    def __next__(self) -> str:
        if self.position >= len(self.data):
            raise StopIteration
        stop = _line_end(self.data, self.position)
        if stop - self.position > MOST_LINE or (self.one_line and self.count_of_lines):
            raise csv.Error
        line = self.data[self.position : stop].decode("utf-8", "replace")
        self.position, self.count_of_lines = stop, self.count_of_lines + 1
        return line


@returns(FAULTS)
def faults_frame(rows: Rows) -> pl.DataFrame:
    """What was wrong with single rows; schema `FAULTS`."""
    listed = [(n, rule, None, value[:SHOWN_OF_A_CELL], raw) for n, rule, value, raw in rows.faults]
    return pl.DataFrame(listed, schema=FAULTS, orient="row")


def first_records(data: bytes, delimiter: str, count: int) -> list[tuple[list[str], int]]:
    """The first records and the position after each, for finding the headings."""
    table = TextTable(data, delimiter, width=ANY_WIDTH)
    return list(islice(table.records(0), count))
