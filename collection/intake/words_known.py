"""Which share of the words of each prose column is known: below a limit its language is not read, and that is said."""

from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any

import polars as pl
import tomli

from collection.frames import returns
from collection.intake.files.sheet import Sheet
from collection.intake.languages import Languages
from collection.intake.mapping.mapping import ColumnMap
from collection.intake.text.known_words import known_of

# Columns whose words are read one by one; lists of terms, titles and descriptions hold words that nobody has to know.
JUDGED = ("materials_text", "date_text", "dimensions_text", "condition_remark", "summary_observed")
WORDS_KNOWN = pl.Schema(
    {"file": pl.String(), "sheet": pl.String(), "column": pl.String(), "words": pl.Int64(), "share_known": pl.Float64()}
)


@cache
def figures() -> Mapping[str, Any]:
    """The figures and words of `reading.toml`."""
    return tomli.loads((Path(__file__).parent / "reading.toml").read_text("utf-8"))


@returns(WORDS_KNOWN)
def words_known(sheet: Sheet, mapping: ColumnMap, languages: Languages) -> pl.DataFrame:
    """The words of each prose column of a sheet and the share of them that is known; schema `WORDS_KNOWN`.

    A word is known in its text by the language that knows most of that text.
    """
    rows = []
    for column in JUDGED:
        headings = [h for h in mapping.headings_of(column) if h in sheet.headings]
        each = [known_of(text, languages.known_words) for h in headings for text in _texts(sheet.cells[h])]
        words = sum(n for n, _ in each)
        if words:
            rows.append((sheet.file, sheet.name, column, words, sum(n for _, n in each) / words))
    return pl.DataFrame(rows, schema=WORDS_KNOWN, orient="row")


def _texts(cells: pl.Series) -> list[str]:
    return cells.drop_nulls().unique(maintain_order=True).head(figures()["texts_looked_through"]).to_list()


def not_read(known: pl.DataFrame) -> pl.DataFrame:
    """The columns whose language is not read: enough words to tell, and too few of them known; schema `WORDS_KNOWN`."""
    limits = figures()
    return known.filter(pl.col("words") >= limits["least_words"], pl.col("share_known") < limits["least_share_known"])


def in_percent(share: float) -> str:
    """`37 % of its words known`."""
    return f"{share:.0%}".replace("%", " % of its words known")
