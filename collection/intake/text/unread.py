"""Remarks of which no word says anything of condition: listed, so that silence is not taken for *no damage*."""

from collections.abc import Mapping
from typing import Any

import polars as pl

from collection.intake.languages import Languages
from collection.intake.text.distinct import map_distinct
from collection.intake.text.grades import GRADE
from collection.intake.text.lexicon import cleaned
from collection.intake.text.remarks import SPEAKING

SCHEMA: Mapping[str, Any] = {"unread": pl.Boolean}


def unread_remarks(texts: pl.Series, languages: Languages) -> pl.Series:
    """Whether a text has letters and no word for damage, repair, activity or a grade: Boolean of the same length.

    A damage that is denied is a word that was read: *no cracks* is no unread remark.
    """
    asked = pl.DataFrame({"text": texts.cast(pl.String)})
    read = map_distinct(asked, ("text",), SCHEMA, lambda row: {"unread": _unread(row["text"] or "", languages)})
    return read["unread"].alias(texts.name)


def _unread(text: str, languages: Languages) -> bool:
    shown = cleaned(text)
    if not any(letter.isalpha() for letter in shown):
        return False
    return not any(t.is_a(*SPEAKING) for t in languages.remarks.tokens(shown)) and not any(
        t.is_a(GRADE) for t in languages.grades.tokens(shown)
    )
