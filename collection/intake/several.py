"""Cells that hold the numbers of several objects, listed or from one to another: nobody splits them unasked."""

import re
from collections.abc import Mapping
from functools import cache

import polars as pl

from collection.intake.mapping.headings import signs

STRETCH = re.compile(r"^(.*?)(\d+)\s*(?:-|\u2013|\.\.\.?|to|bis|tot|till)\s*(.*?)(\d+)$", re.IGNORECASE)
LETTERS = re.compile(r"^(.*[^\s(])\s*\(?\s*[a-z]\s*(?:[,/&+-]|\u2013)\s*[a-z]\s*\)?$", re.IGNORECASE)


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
