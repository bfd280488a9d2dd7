"""What the cells under a heading prove: days and their order, the sign of decimals, numbers of objects."""

import polars as pl

from collection.intake.files.sheet import Sheet

FULL_DAY = (
    r"^\s*(\d{4}-\d{1,2}-\d{1,2}([ T]00:00:00\S*)?|\d{1,2}\.\s?\d{1,2}\.\s?\d{2,4}|\d{1,2}[/-]\d{1,2}[/-]\d{2,4})\s*$"
)
NUMERIC_DATE = r"^\s*(\d{1,2})\s?([./-])\s?(\d{1,2})\s?[./-]\s?\d{4}\s*$"
CODE = r'^\s*[\[{]\s*["{\[\]}].*[\]}]\s*$'
COMMA_DECIMALS = r"^[+-]?[\d.]*\d,(\d{1,2}|\d{4,})(\D|$)"
POINT_DECIMALS = r"^[+-]?\d+\.(\d{1,2}|\d{4,})(\s|[^\d.,]|$)"
LAST_MONTH = 12
SAMPLE_ROWS = 2_000


def sample_of(sheet: Sheet, heading: str) -> pl.Series:
    """The filled cells under a heading, of the first rows."""
    return sheet.cells[heading].drop_nulls().head(SAMPLE_ROWS)


def share_of_full_days(cells: pl.Series) -> float:
    """Share of the filled cells that name a day."""
    filled = cells.filter(cells.str.contains(r"\S"))
    return 0.0 if filled.is_empty() else float(filled.str.contains(FULL_DAY).sum()) / filled.len()


def date_order(cells: pl.Series) -> str:
    """dd.mm.yyyy, dd/mm/yyyy or mm/dd/yyyy where the dates themselves leave no doubt, else empty."""
    parts = cells.str.extract_groups(NUMERIC_DATE).struct.unnest().drop_nulls()
    if parts.is_empty():
        return ""
    sign = str(parts["2"].mode().sort()[0])
    if sign == ".":
        return "dd.mm.yyyy"
    first, second = (int(str(parts[n].cast(pl.Int64).max())) > LAST_MONTH for n in ("1", "3"))
    order = {(True, False): ("dd", "mm"), (False, True): ("mm", "dd")}.get((first, second))
    return sign.join((*order, "yyyy")) if order else ""


def has_decimal_comma(cells: pl.Series) -> bool:
    """Some number has a comma before one or two, or four and more, digits, and none has decimals behind a point."""
    numbers = cells.str.strip_chars()
    return bool(numbers.str.contains(COMMA_DECIMALS).any()) and not numbers.str.contains(POINT_DECIMALS).any()


def is_code(cells: pl.Series) -> bool:
    """Most cells hold records of their own, as JSON: nothing a person wrote."""
    return not cells.is_empty() and float(cells.str.contains(CODE).sum()) * 2 > cells.len()


def numbers_objects(cells: pl.Series) -> bool:
    """Every cell is filled, each with another number, and they do not count the lines, *1.*, *2.*, in any order."""
    counted = cells.str.strip_chars(" .)").str.to_integer(strict=False)
    of_lines = counted.null_count() == 0 and bool((counted.sort().diff().drop_nulls() == 1).all())
    return cells.null_count() == 0 and cells.is_unique().all() and not of_lines
