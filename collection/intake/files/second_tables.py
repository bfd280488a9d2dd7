"""Another row of headings lower down in a sheet: what stands below it is a table of its own."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

import polars as pl

from collection.intake.files.reader import headings_of
from collection.intake.files.sheet import FAULTS, SOURCE_ROW, Sheet
from collection.intake.mapping.headings import known_words
from collection.intake.mapping.suggest import recognised

LONGEST = 60  # letters of a heading
FEWEST = 2  # headings that make a row of them
RULE, SECOND = "second_table", ", row "


def tables_of(sheet: Sheet) -> Iterator[Sheet]:
    """The tables of a sheet, each with its own headings; the later ones are named by the line of theirs."""
    rows = _heading_rows(sheet)
    if not rows:
        yield sheet
        return
    lines = sheet.cells[SOURCE_ROW]
    first = int(lines[rows[0]])
    yield replace(
        sheet,
        cells=sheet.cells.head(rows[0]),
        faults=sheet.faults.filter(pl.col(SOURCE_ROW) < first),
    )
    for at, end in zip(rows, [*rows[1:], sheet.cells.height], strict=True):
        yield _below(sheet, at, end)


def _below(sheet: Sheet, at: int, end: int) -> Sheet:
    """The table under the headings in the row at `at`, up to `end`."""
    headings = headings_of([[cell or "" for cell in sheet.cells.select(sheet.headings).row(at)]], 0)
    named = dict(zip(sheet.headings, headings, strict=True))
    line = int(sheet.cells[SOURCE_ROW][at])
    last = int(sheet.cells[SOURCE_ROW][end - 1])
    faults = sheet.faults.filter(pl.col(SOURCE_ROW) > line, pl.col(SOURCE_ROW) <= last)
    return replace(
        sheet,
        name=f"{sheet.name}{SECOND}{line}",
        cells=sheet.cells.slice(at + 1, end - at - 1).rename(named),
        faults=faults.with_columns(pl.col("column").replace(named)),
        numbers=frozenset(named[h] for h in sheet.numbers),
        blank=0,
        notes=(("second_table_read", f"row {line}"),),
    )


def checked_parts(parts: Iterable[Sheet]) -> Iterator[Sheet]:
    """The parts of a long table, with every row refused that stands below another row of headings."""
    line: int | None = None
    for part in parts:
        checked, line = _refused_from(part, line)
        yield checked


def _refused_from(sheet: Sheet, line: int | None) -> tuple[Sheet, int | None]:
    """A part of a long table in which every row from another row of headings on is refused; and the line of that row.

    `line`: where an earlier part had one.
    """
    rows = [] if line is not None else _heading_rows(sheet)
    line = int(sheet.cells[SOURCE_ROW][rows[0]]) if rows else line
    if line is None:
        return sheet, None
    below = sheet.cells.filter(pl.col(SOURCE_ROW) >= line)
    listed = below.select(
        SOURCE_ROW,
        rule=pl.lit(RULE),
        column=pl.lit(None, pl.String),
        value=pl.lit(f"row {line}"),
        raw=pl.struct(sheet.headings).struct.json_encode(),
    )
    return replace(
        sheet, faults=pl.concat([sheet.faults, listed.select(pl.col(n).cast(t) for n, t in FAULTS.items())])
    ), line


def _heading_rows(sheet: Sheet) -> list[int]:
    """Places of the rows that head another table, each with a row below it."""
    if not sheet.headings or sheet.cells.is_empty():
        return []
    first = pl.col(sheet.headings[0])
    words = first.str.normalize("NFD").str.replace_all(r"\p{M}", "").str.replace_all(r"[^\p{L}]+", " ")
    known = {word for record in known_words().values() for word in record}
    begins = words.str.strip_chars().str.to_lowercase().is_in(list(known))
    short = (first.str.len_chars() <= LONGEST) & ~first.str.contains(r"\d")
    rows = sheet.cells.select(short=short.fill_null(value=False))["short"].arg_true()
    maybe = sheet.cells[rows].select(begins=begins.fill_null(value=False))["begins"]
    places = rows.filter(maybe).to_list()
    return [at for at in places if at + 1 < sheet.cells.height and _heads_a_table(sheet, at)]


def _heads_a_table(sheet: Sheet, at: int) -> bool:
    cells = [(cell or "").strip() for cell in sheet.cells.select(sheet.headings).row(at)]
    filled = [cell for cell in cells if cell]
    if len(filled) < FEWEST or any(c.isdigit() for cell in filled for c in cell) or _same(sheet.headings, cells):
        return False
    return recognised(filled) >= FEWEST and recognised(filled) * 2 > len(filled)


def _same(headings: Sequence[str], cells: Sequence[str]) -> bool:
    """The headings once more: no other table."""
    return all(not cell or cell == heading for heading, cell in zip(headings, cells, strict=True))
