"""What has to be said of a sheet as a whole: its language, its name, and that nobody judged its material."""

import re
from collections.abc import Sequence

import polars as pl

from collection.frames import returns
from collection.intake.files.second_tables import SECOND
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
def questions_about(
    sheet: Sheet, mapping: ColumnMap, top: int, words: pl.DataFrame, places: Sequence[str], languages: Languages
) -> pl.DataFrame:
    """Questions about a sheet that was read, at its row of headings; schema `PROBLEMS`.

    Parameters
    ----------
    top : identity of the row of headings. words : schema `WORDS_KNOWN`.
    places : names of sheets that may be those of places, see `names_of_places`.
    """
    at = pl.DataFrame({ROW: [top]}, schema={ROW: pl.Int64})
    asked = [
        problems_of(at, "language_not_read", column, value=pl.lit(in_percent(share)), expected=languages.labels)
        for column, share in not_read(words).select("column", "share_known").iter_rows()
    ]
    if mapping.record == OBJECT and not _OF_PLACE & mapping.filled() and sheet.name in places:
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


def names_of_places(sheets: Sequence[str], known: pl.Series) -> list[str]:
    """Of the names of sheets of objects those that may be places: known ones, those with a word for a place, and names
    that no spreadsheet gives by itself where several sheets have one."""
    own = [name for name in sheets if not re.fullmatch(rf"(?:{_given()})\s*\d*", plain(_without_line(name)))]
    spelt = {plain(place) for place in known.drop_nulls()}
    several = len(set(map(_without_line, own))) > 1
    return [n for n in own if several or plain(_without_line(n)) in spelt or _has_word(plain(n))]


def _given() -> str:
    return "|".join(map(re.escape, figures()["unnamed_sheets"]))


def _without_line(name: str) -> str:
    """The name without the line of a second table."""
    return name.split(SECOND)[0]


def _has_word(spelt: str) -> bool:
    return any(re.search(rf"\b{re.escape(word)}\b", spelt) for word in figures()["places"])
