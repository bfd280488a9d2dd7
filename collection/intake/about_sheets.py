"""What has to be said of a sheet as a whole: its language, its name, and that nobody judged its material."""

import re
from collections.abc import Sequence

import polars as pl

from collection.frames import returns
from collection.intake.files.sheet import Sheet
from collection.intake.languages import Languages
from collection.intake.mapping.mapping import OBJECT, PROSE, ColumnMap
from collection.intake.words_known import figures, in_percent, not_read
from collection.validation.problems import PROBLEMS, ROW, no_problems, problems_of, worded
from collection.validation.spelling import plain
from schemas.tables import RECORDS

_OF_PLACE = {"location_text", "location_id"}
_OF_MATERIAL = {*PROSE[:2], "technique", "base_metal"}


@returns(PROBLEMS)
def said_of_sheet(
    sheet: Sheet, mapping: ColumnMap, top: int, words: pl.DataFrame, places: pl.Series, languages: Languages
) -> pl.DataFrame:
    """Questions about a sheet that was read, at its row of headings; schema `PROBLEMS`.

    Parameters
    ----------
    top : identity of the row of headings. words : schema `WORDS_KNOWN`.
    places : names and numbers of the places that are known.
    """
    at = pl.DataFrame({ROW: [top]}, schema={ROW: pl.Int64})
    asked = [
        problems_of(at, "language_not_read", column, value=pl.lit(in_percent(share)), expected=languages.labels)
        for column, share in not_read(words).select("column", "share_known").iter_rows()
    ]
    if mapping.record == OBJECT and not _OF_PLACE & mapping.filled() and _may_be_a_place(sheet.name, places):
        asked.append(problems_of(at, "sheet_named_as_place", "location_text", value=pl.lit(sheet.name)))
    keys = pl.DataFrame(schema={ROW: pl.Int64(), "key": pl.String()})
    return worded(pl.concat([no_problems(), *asked]), keys, RECORDS[mapping.record])


def not_judged(sheet: Sheet, mapping: ColumnMap, new: int) -> str:
    """A sentence where a sheet brings objects and no heading says what they are made of; else empty."""
    if mapping.record != OBJECT or not new or _OF_MATERIAL & mapping.filled():
        return ""
    what = f"{new:,} new objects, and" if new > 1 else "1 new object, and"
    return (
        f"{sheet.file}, {sheet.name}: {what} no heading says the material or the technique: "
        "nobody judged whether this is vitreous enamel on metal."
    )


def _may_be_a_place(name: str, places: pl.Series) -> bool:
    """The name of a sheet is that of a known place, or holds a word for one."""
    spelt = plain(name)
    known = {plain(place) for place in places.drop_nulls()} if spelt else set()
    return spelt in known or any(_has_word(spelt, word) for word in figures()["places"])


def _has_word(spelt: str, word: str) -> bool:
    return re.search(rf"\b{re.escape(word)}\b", spelt) is not None


def names_of_own(sheets: Sequence[str]) -> bool:
    """Whether several sheets bear names that no spreadsheet gives by itself."""
    given = "|".join(map(re.escape, figures()["unnamed_sheets"]))
    own = [name for name in sheets if not re.fullmatch(rf"(?:{given})\s*\d*", plain(name))]
    return len(own) > 1
