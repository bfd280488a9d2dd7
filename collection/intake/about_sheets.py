"""What has to be said of a sheet as a whole: its language, its name, and that nobody judged its material.

Where too few of the words of a prose column are known its language is not read, and that is said.
"""

import re
from collections.abc import Iterator, Mapping, Sequence
from functools import cache
from pathlib import Path
from typing import Any

import polars as pl
import tomli

from collection.frames import returns
from collection.intake.files.second_tables import SECOND
from collection.intake.files.sheet import Sheet
from collection.intake.languages import Languages
from collection.intake.mapping.headings import known_words
from collection.intake.mapping.mapping import OBJECT, PROSE, ColumnMap
from collection.intake.text.known_words import known_of
from collection.intake.text.remarks import read_damage_terms
from collection.validation.cells import SHOWN_OF_A_CELL
from collection.validation.problems import PROBLEMS, ROW, no_problems, problems_of, worded
from collection.validation.spelling import plain
from schemas.tables import RECORDS

# Columns whose words are read one by one; lists of terms, titles and descriptions hold words that nobody has to know.
JUDGED = ("materials_text", "date_text", "dimensions_text", "condition_remark", "summary_observed")
WORDS_KNOWN = pl.Schema(
    {"file": pl.String(), "sheet": pl.String(), "column": pl.String(), "words": pl.Int64(), "share_known": pl.Float64()}
)
CHECK, DESCRIPTION, FINDINGS = RECORDS["condition_check"].name, "description", "summary_observed"
_OF_PLACE = {"location_text", "location_id"}
_OF_MATERIAL = {*PROSE[:2], "technique", "base_metal"}


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
    for heading, cell in _remarks_of_condition(sheet, mapping, languages):
        asked.append(problems_of(at, "remarks_of_condition", DESCRIPTION, value=pl.lit(f"{heading}: {cell}")))
    keys = pl.DataFrame(schema={ROW: pl.Int64(), "key": pl.String()})
    return worded(pl.concat([no_problems(), *asked]), keys, RECORDS[mapping.record])


def _remarks_of_condition(sheet: Sheet, mapping: ColumnMap, languages: Languages) -> Iterator[tuple[str, str]]:
    """Headings taken for a description that may as well head findings, with the first cell that names damage."""
    may_be = known_words()[CHECK]
    for heading in mapping.headings_of(DESCRIPTION) if mapping.record == OBJECT else []:
        if heading not in sheet.headings or may_be.get(plain(heading), ("", 0))[0] != FINDINGS:
            continue
        cells = sheet.cells[heading].drop_nulls().head(figures()["texts_looked_through"])
        speaking = cells.filter(read_damage_terms(cells, languages).list.len() > 0)
        yield from ((heading, str(cell)[:SHOWN_OF_A_CELL]) for cell in speaking.head(1))


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
