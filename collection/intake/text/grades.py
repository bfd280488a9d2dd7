"""The grade of a check read from words: `mauvais état`, `sehr gut`. Marks of a house's own scale stay as they are."""

from collections.abc import Mapping
from typing import Any

import polars as pl

from collection.intake.languages import Languages
from collection.intake.text.distinct import map_distinct
from collection.intake.text.lexicon import Lexicon, cleaned

GRADE = "grade"
SCHEMA: Mapping[str, Any] = {GRADE: pl.String}


def read_grades(texts: pl.Series, languages: Languages) -> pl.Series:
    """A term of vocabulary grade for each text, or null: String of the same length and name.

    Every word must be one for a grade or for *condition*, and all grades the same: what says more is not read.
    """
    asked = pl.DataFrame({"text": texts.cast(pl.String)})
    read = map_distinct(asked, ("text",), SCHEMA, lambda row: {GRADE: _read(row["text"] or "", languages.grades)})
    return read[GRADE].alias(texts.name)


def with_grades(cells: pl.DataFrame, languages: Languages) -> pl.DataFrame:
    """Cells of a list of checks with the words of their grades as terms; others stay as written."""
    if GRADE not in cells.columns or cells.schema[GRADE] != pl.String:
        return cells
    return cells.with_columns(pl.coalesce(read_grades(cells[GRADE], languages), GRADE).alias(GRADE))


def _read(text: str, lexicon: Lexicon) -> str | None:
    words = [t for t in lexicon.tokens(cleaned(text)) if any(c.isalnum() for c in t.text)]
    terms = {term for t in words if (term := t.value(GRADE))}
    known = all(t.is_a(GRADE, "role") for t in words)
    return next(iter(terms)) if known and len(terms) == 1 else None
