"""Files opened as those of loggers: every cell of a text table or workbook, under no heading yet."""

from collections.abc import Iterator, Sequence
from pathlib import Path

import polars as pl

from collection.files import digest_of_bytes, read_source
from collection.intake.files import delimited, encodings
from collection.intake.files.reader import MOST_BYTES, UNREADABLE, WHOLE_FILE, shown_name
from collection.intake.files.sheet import FAULTS, SOURCE_ROW, unreadable_cells
from collection.intake.files.workbook import RawSheet
from collection.intake.loggers.export import HEAD_ROWS, Export, Grid, exports
from collection.intake.loggers.layout import Layout, layout
from collection.intake.loggers.questions import Places
from collection.intake.mapping.mapping import LoggerAnswers

SAMPLE_BYTES = 64_000


def exports_of(
    path: Path, opened: Sequence[RawSheet] | None, places: Places, answers: LoggerAnswers | None, house_zone: str
) -> Iterator[Export]:
    """The loggers of a file; none where no logger wrote it. `opened`: the sheets of a workbook.

    Raises SourceRefused for a file of a logger that holds no readings.
    """
    data = read_source(path, MOST_BYTES)
    grids = _of_workbook(path, data, opened) if opened is not None else _of_text(path, data)
    for grid in grids:
        yield from exports(grid, places, answers, house_zone)


def _of_workbook(path: Path, data: bytes, opened: Sequence[RawSheet]) -> Iterator[Grid]:
    sha256 = digest_of_bytes(data)
    for raw in opened:
        if not raw.grid.is_empty():
            named = raw.grid.rename(dict(zip(raw.grid.columns, map(str, range(raw.grid.width)), strict=True)))
            cells = named.with_row_index(SOURCE_ROW, offset=1).with_columns(pl.col(SOURCE_ROW).cast(pl.Int64))
            faults = [(row, rule, None, text, None) for row, _, rule, text in raw.faults]
            yield Grid(shown_name(path), sha256, raw.name, cells, pl.DataFrame(faults, schema=FAULTS, orient="row"))


def _of_text(path: Path, data: bytes) -> Iterator[Grid]:
    """The text table with the delimiter under which most columns of values show."""
    sample, _ = encodings.decode(data[:SAMPLE_BYTES])
    split = {d: [row for row, _ in delimited.first_records(sample, d, HEAD_ROWS)] for d in delimited.DELIMITERS}
    by_delimiter = {d: (rows, layout(rows)) for d, rows in split.items()}
    read = {d: (rows, its) for d, (rows, its) in by_delimiter.items() if its is not None}
    if not read:
        return
    delimiter = max(read, key=lambda d: (len(read[d][1].measured), len(read[d][0][read[d][1].first])))
    rows, its = read[delimiter]
    whole, guesses = encodings.decode(data)
    yield _grid(path, digest_of_bytes(data), whole, delimiter, _width(rows, its), guesses)


def _width(rows: Sequence[Sequence[str]], its: Layout) -> int:
    """Cells of a row of readings: the most frequent number below the headings."""
    widths = [len(row) for row in rows[its.first :] if row]
    return max(set(widths), key=widths.count)


def _grid(path: Path, sha256: str, data: bytes, delimiter: str, width: int, guesses: Sequence[str]) -> Grid:
    parts = list(delimited.TextTable(data, delimiter, width).rows(0, 1))
    cells = pl.concat([frame for part in parts for frame in part.frames])
    faults = pl.concat([delimited.faults_frame(part) for part in parts])
    if UNREADABLE in data:
        faults = pl.concat([faults, unreadable_cells(cells).with_columns(column=pl.lit(None, pl.String))])
    notes = tuple(("encoding_guessed", guess) for guess in guesses)
    return Grid(shown_name(path), sha256, WHOLE_FILE, cells, faults, notes)
