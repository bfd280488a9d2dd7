"""What the cells of a sheet written by hand stand for.

A mark repeats the cell above, a number may be those of several objects, a word is one of the house's own, and a whole
sheet may lie on its side.
"""

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import cache

import polars as pl

from collection.intake.files.sheet import SOURCE_ROW, Sheet
from collection.intake.mapping.headings import signs
from collection.intake.mapping.suggest import recognised
from collection.validation.cell_values import BETWEEN

STRETCH = re.compile(r"^(.*?)(\d+)\s*(?:-|\u2013|\.\.\.?|to|bis|tot|till)\s*(.*?)(\d+)$", re.IGNORECASE)
LETTERS = re.compile(r"^(.*[^\s(])\s*\(?\s*[a-z]\s*(?:[,/&+-]|\u2013)\s*[a-z]\s*\)?$", re.IGNORECASE)
MOST_FIELDS = 200
SIDE_NOTE = "sheet_on_its_side"


def with_cells_above(
    cells: pl.DataFrame, columns: Sequence[str], above: Mapping[str, str | None]
) -> tuple[pl.DataFrame, pl.DataFrame]:
    """The cells with every ditto mark of these text columns replaced by the cell above it, and where that was done.

    `above`: by column the last cell of the part of the sheet before, see `last_cells`.

    Returns
    -------
    cells : as given, in the same order. places : the columns of `cells` that are none of `columns`, with `heading` and
    `value`, what the mark was taken for. A mark with nothing above stays as it is.
    """
    marks = signs("ditto")
    places = []
    for heading in _may_hold(cells, columns, marks):
        is_mark = pl.col(heading).str.strip_chars().str.to_lowercase().is_in(marks).fill_null(value=False)
        before = pl.when(~is_mark).then(heading).forward_fill().fill_null(pl.lit(above.get(heading), pl.String))
        stands_for = pl.when(is_mark).then(pl.coalesce(before, heading)).otherwise(heading)
        filled = cells.with_columns(stands_for.alias(heading))
        done = filled.filter((filled[heading] != cells[heading]).fill_null(value=False))
        rest = [c for c in cells.columns if c not in columns]
        places.append(done.select(*rest, heading=pl.lit(heading), value=pl.col(heading)))
        cells = filled
    return cells, pl.concat(places) if places else pl.DataFrame()


def _may_hold(cells: pl.DataFrame, columns: Sequence[str], marks: Sequence[str]) -> list[str]:
    """Columns in which any cell is one of these marks: the different short ones alone are looked at."""
    longest = 2 * max(len(mark.encode()) for mark in marks)  # with white space around it
    short = {h: pl.col(h).filter(pl.col(h).str.len_bytes() <= longest).unique() for h in columns}
    is_mark = {h: e.str.strip_chars().str.to_lowercase().is_in(marks).any() for h, e in short.items()}
    return [h for h, held in cells.select(**is_mark).row(0, named=True).items() if held] if columns else []


def last_cells(cells: pl.DataFrame, columns: Sequence[str]) -> dict[str, str | None]:
    """The last cell of each column that is filled, for the part of the sheet that follows."""
    held = {heading: cells[heading].drop_nulls() for heading in columns if heading in cells.columns}
    return {heading: str(texts[-1]) if texts.len() else None for heading, texts in held.items()}


def shape(number: pl.Expr) -> pl.Expr:
    """A number with every run of letters as `a` and of digits as `9`, so that numbers of one scheme look alike."""
    return number.str.strip_chars().str.replace_all(r"\d+", "9").str.replace_all(r"\p{L}+", "a")


def several_numbers(numbers: pl.Series) -> pl.Series:
    """For each cell of a column of numbers whether it holds more than one; empty cells do not.

    Parts are numbers where each looks like a cell that stands alone more often: letters, digits and signs in the same
    order, however long. So `1993.4, 1993.5` is two among `1993.6` and `1993.7`, and `VH 41/4` is one among `VH 41/5`.
    """
    if not numbers.str.contains(_between_numbers()).any():
        return pl.repeat(value=False, n=numbers.len(), eager=True)
    cells = pl.DataFrame({"text": numbers.str.strip_chars()}).with_columns(shape=shape(pl.col("text")))
    counts = cells.drop_nulls().group_by("shape").len()
    shapes = dict(counts.iter_rows())
    # A part has to look like more cells than the whole: of the commonest none is several.
    rare = cells.join(counts.filter(pl.col("len") < pl.col("len").max()), on="shape", how="semi")["text"].unique()
    held = [text for text in rare if _is_several(text, shapes)]
    return cells["text"].is_in(held).fill_null(value=False)


@cache
def _between_numbers() -> str:
    """A sign, or a word, that may stand between two numbers or two letters of one."""
    listed = "|".join(re.escape(sign) for sign in signs("several"))
    return rf"(?i){listed}|[-\u2013/,&+]|\.\.|\d\s*(?:to|bis|tot|till)"


def _shape(text: str) -> str:
    return str(pl.select(shape(pl.lit(text))).item())


def _is_several(text: str, shapes: Mapping[str, int]) -> bool:
    own = shapes[_shape(text)]
    if any(_listed(text, sign, shapes, own) for sign in signs("several")):
        return True
    stretch = STRETCH.match(text)
    if stretch and stretch[3] in ("", stretch[1]) and int(stretch[4]) > int(stretch[2]):
        return shapes.get(_shape(stretch[1] + stretch[2]), 0) > own
    letters = LETTERS.match(text)
    return shapes.get(_shape(letters[1]), 0) > own if letters else False


def _listed(text: str, sign: str, shapes: Mapping[str, int], own: int) -> bool:
    """Whether the parts between a sign are numbers each; a later part may leave out what the first begins with."""
    first, *rest = [part.strip() for part in text.split(sign) if part.strip()] or [""]
    if not rest or shapes.get(_shape(first), 0) <= own:
        return False
    return all(part.isdigit() or shapes.get(_shape(part), 0) > own for part in rest)


def in_words(text: pl.Expr, values: Mapping[str, str], several: bool) -> pl.Expr:
    """The value a cell stands for, whatever its case; a cell that the list does not name stays as it is.

    `several`: the column holds several values, and each is looked up by itself.
    """
    known = {_spelt(written): value for written, value in values.items()}
    if several:
        return text.str.split(BETWEEN).list.eval(_replaced(pl.element(), known)).list.join(BETWEEN)
    return _replaced(text, known)


def _replaced(text: pl.Expr, known: Mapping[str, str]) -> pl.Expr:
    return pl.coalesce(_spelling(text).replace_strict(known, default=None, return_dtype=pl.String), text)


def _spelling(text: pl.Expr) -> pl.Expr:
    return text.str.strip_chars().str.to_lowercase().str.replace_all(r"\s+", " ")


def _spelt(written: str) -> str:
    return " ".join(written.lower().split())


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
