"""What has to be said of a sheet as a whole: its language, its name, and that nobody judged its material."""

import re
from collections.abc import Iterator, Sequence

import polars as pl

from collection.frames import returns
from collection.intake.files.second_tables import SECOND
from collection.intake.files.sheet import Sheet
from collection.intake.languages import Languages
from collection.intake.mapping.headings import known_words
from collection.intake.mapping.mapping import OBJECT, PROSE, ColumnMap
from collection.intake.text.remarks import read_damage_terms
from collection.intake.words_known import figures, in_percent, not_read
from collection.validation.cells import SHOWN_OF_A_CELL
from collection.validation.problems import PROBLEMS, ROW, no_problems, problems_of, worded
from collection.validation.spelling import plain
from schemas.tables import RECORDS

CHECK, DESCRIPTION, FINDINGS = RECORDS["condition_check"].name, "description", "summary_observed"
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
