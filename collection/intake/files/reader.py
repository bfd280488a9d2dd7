"""Opening a file as sheets: text tables here, workbooks in a process of their own; finding the row of headings."""

import os
from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path

import polars as pl

from collection.files import digest_of_bytes, read_source, require_source
from collection.intake.files import delimited as text_files
from collection.intake.files import encodings
from collection.intake.files import workbook as workbooks
from collection.intake.files.sheet import FAULTS, SOURCE_ROW, Sheet, long_cells, unreadable_cells
from collection.intake.mapping.headings import take_apart
from collection.intake.mapping.suggest import recognised
from schemas.errors import SourceRefused

WORKBOOKS = (".xlsx", ".xlsm", ".xls", ".xlsb", ".ods")
ZIP_MARK = b"PK\x03\x04"
HEADING_ROWS = 20  # a heading is looked for among these first rows
UNREADABLE = "\N{REPLACEMENT CHARACTER}".encode()  # what decoding leaves of bytes that are no letters
WHOLE_FILE = "table"  # the one sheet of a text file
MOST_BYTES = 1_000_000_000
MOST_COLUMNS = 16_384  # as many as a spreadsheet can hold
EXPECTED = "a text table (.csv, .tsv) or workbook (.xlsx) with a row of headings and rows below it"


def read_sheets(path: Path, encoding: str = "", opened: Sequence[workbooks.RawSheet] | None = None) -> Iterator[Sheet]:
    """Every sheet of a file that holds anything; a long text table comes in parts. `encoding`: where it is stated;
    `opened`: the sheets of a workbook that was opened already.

    Raises SourceRefused where the file gives no row at all.
    """
    data = _bytes(path)
    sha256 = digest_of_bytes(data)
    sheets = _from_workbook(path, sha256, opened) if is_workbook(path) else _from_text(path, data, sha256, encoding)
    del data
    holds_rows, blank = False, 0
    for sheet in sheets:
        if sheet.cells.height:
            holds_rows = True
            yield replace(sheet, blank=sheet.blank + blank)
            blank = 0
        elif sheet.name == WHOLE_FILE:  # a part of a long table that has only blank rows
            blank += sheet.blank
    if not holds_rows:
        raise _refused(path, "there is no row below the headings")
    if blank:
        yield replace(sheet, blank=blank)


def is_workbook(path: Path) -> bool:
    """By its ending, or by its first bytes."""
    if path.suffix.lower() in WORKBOOKS:
        return True
    require_source(path, MOST_BYTES)
    try:
        with path.open("rb") as handle:
            return handle.read(len(ZIP_MARK)) == ZIP_MARK
    except OSError:
        return False  # reading it says why


def shown_name(path: Path) -> str:
    """The name of a file as it can be kept and shown, with nothing in it that is no letter or that a terminal obeys."""
    name = os.fsencode(path.name).decode("utf-8", "replace")
    return "".join(c if c.isprintable() else UNREADABLE.decode() for c in name)


def _bytes(path: Path) -> bytes:
    data = read_source(path, MOST_BYTES)
    if not data or data.isspace():
        raise _refused(path, "the file is empty")
    return data


def _refused(path: Path, what: str) -> SourceRefused:
    return SourceRefused(shown_name(path), what, EXPECTED, "Look into the file, or name another one.")


def _from_text(path: Path, data: bytes, sha256: str, encoding: str) -> Iterator[Sheet]:
    stated = encoding or data.startswith(tuple(encodings.MARKS))
    if b"\0" in data[: encodings.SAMPLE_BYTES] and not stated:
        raise _refused(path, "this is not a text table")
    data, guesses = encodings.decode(data, encoding)
    notes = tuple(("encoding_guessed", guess) for guess in guesses)
    delimiter = text_files.find_delimiter(data)
    first = text_files.first_records(data, delimiter, HEADING_ROWS)
    heading_at = _heading_row([cells for cells, _ in first])
    headings = headings_of([cells for cells, _ in first], heading_at)
    if len(headings) > MOST_COLUMNS:
        raise _refused(path, f"the table has {len(headings):,} columns, more than the {MOST_COLUMNS:,} that are read")
    below = heading_at + _depth(first, heading_at)
    reader = text_files.TextTable(data, delimiter, len(headings))
    readable = data.isascii() or UNREADABLE not in data
    for part, rows in enumerate(reader.rows(first[below - 1][1], below + 1)):
        cells = pl.concat(rows.frames, rechunk=True) if rows.frames else pl.DataFrame()
        faults = text_files.faults_frame(rows)
        yield _sheet(path, sha256, WHOLE_FILE, cells, headings, faults, () if part else notes, readable=readable)


def _from_workbook(path: Path, sha256: str, opened: Sequence[workbooks.RawSheet] | None) -> Iterator[Sheet]:
    for raw in workbooks.read_grids(path) if opened is None else opened:
        if raw.grid.is_empty():
            continue
        first = [["" if c is None else c for c in row] for row in raw.grid.head(HEADING_ROWS).iter_rows()]
        heading_at = _heading_row(first)
        headings = headings_of(first, heading_at)
        depth = _depth([(cells, 0) for cells in first], heading_at)
        below = raw.grid.slice(heading_at + depth)
        cells = below.rename(dict(zip(below.columns, map(str, range(below.width)), strict=True))).with_columns(
            pl.int_range(heading_at + depth + 1, raw.grid.height + 1, dtype=pl.Int64).alias(SOURCE_ROW)
        )
        faults = [(row, rule, headings[at], value, None) for row, at, rule, value in raw.faults if at < len(headings)]
        listed = pl.DataFrame(faults, schema=FAULTS, orient="row").filter(pl.col(SOURCE_ROW) > heading_at + depth)
        numbers = frozenset(headings[i] for i in raw.numbers if i < len(headings))
        notes = (("sheet_hidden", raw.name),) if raw.hidden else ()
        yield _sheet(path, sha256, raw.name, cells, headings, listed, notes, numbers)


def _sheet(
    path: Path,
    sha256: str,
    name: str,
    cells: pl.DataFrame,
    headings: Sequence[str],
    faults: pl.DataFrame,
    notes: tuple[tuple[str, str], ...],
    numbers: frozenset[str] = frozenset(),
    *,
    readable: bool = False,
) -> Sheet:
    if cells.is_empty():
        return Sheet(shown_name(path), sha256, name, pl.DataFrame(schema={SOURCE_ROW: pl.Int64}), notes=notes)
    named = cells.rename({str(i): heading for i, heading in enumerate(headings)})
    whole = _without_blank(named, headings, faults)
    more = [long_cells(whole), *([] if readable else [unreadable_cells(whole)])]
    return Sheet(
        shown_name(path), sha256, name, whole, pl.concat([faults, *more]), named.height - whole.height, notes, numbers
    )


def _without_blank(named: pl.DataFrame, headings: Sequence[str], faults: pl.DataFrame) -> pl.DataFrame:
    """Most rows have something in the first column; only the others are looked through."""
    maybe = named.filter(_is_blank(headings[0]))
    blank = maybe.filter(
        pl.all_horizontal(_is_blank(h) for h in headings), ~pl.col(SOURCE_ROW).is_in(faults[SOURCE_ROW].implode())
    )
    return (
        named
        if blank.is_empty()
        else named.join(blank.select(SOURCE_ROW), on=SOURCE_ROW, how="anti", maintain_order="left")
    )


def _is_blank(heading: str) -> pl.Expr:
    return pl.col(heading).is_null() | ~pl.col(heading).str.contains(r"\S")


def _heading_row(first: Sequence[Sequence[str]]) -> int:
    """The row with most known headings; where none is known, the first row with the usual number of cells."""
    scores = [recognised(c for c in row[:MOST_COLUMNS] if c.strip()) for row in first]
    if any(scores):
        return scores.index(max(scores))
    filled = [sum(1 for c in row if c.strip()) for row in first]
    return next(i for i, n in enumerate(filled) if n == max(filled))


def _depth(first: Sequence[tuple[Sequence[str], int]], at: int) -> int:
    """2 where a second row names the columns under merged headings, else 1."""
    if at + 1 >= len(first):
        return 1
    upper, lower = first[at][0], first[at + 1][0]
    under = [b for a, b in zip(upper, lower, strict=False) if b.strip() and not a.strip()]
    texts = all(not any(c.isdigit() for c in b) for b in lower)
    return 2 if under and texts and recognised(under) == len(under) else 1


def headings_of(first: Sequence[Sequence[str]], at: int) -> list[str]:
    """Headings, each different: merged ones are carried to the right, empty ones named by position."""
    upper = [" ".join(c.split()) for c in first[at]]
    if _depth([(row, 0) for row in first], at) == 2:
        lower = [" ".join(c.split()) for c in first[at + 1]]
        lower += [""] * (len(upper) - len(lower))
        upper = [
            _joined(_carried(upper, i), low) if low else up
            for i, (up, low) in enumerate(zip(upper, lower, strict=False))
        ]
    seen: dict[str, int] = {SOURCE_ROW: 1}
    return [_different(heading or f"column {i}", seen) for i, heading in enumerate(upper, start=1)]


def _carried(upper: Sequence[str], at: int) -> str:
    return next((upper[i] for i in range(at, -1, -1) if upper[i]), "")


def _joined(upper: str, lower: str) -> str:
    """`Dimensions (cm)` over `Height` reads `Height (cm)`."""
    unit = take_apart(upper).unit
    return f"{lower} ({unit})" if unit and not take_apart(lower).unit else lower


def _different(heading: str, seen: dict[str, int]) -> str:
    seen[heading] = seen.get(heading, 0) + 1
    return heading if seen[heading] == 1 else f"{heading} ({seen[heading]})"
