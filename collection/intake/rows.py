"""A sheet and its mapping as typed rows of a record: lines that are no rows set apart, cells typed, prose read."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import date
from functools import partial

import polars as pl

from collection.intake.about_sheets import figures
from collection.intake.catalogue import READ, read_catalogue
from collection.intake.derived import CHECK, with_check_numbers, with_places
from collection.intake.doubts import REMARKS, cells_not_read
from collection.intake.files.sheet import SOURCE_ROW, Sheet
from collection.intake.further_facts import FACTS, facts_of
from collection.intake.languages import Languages
from collection.intake.mapping.headings import take_apart
from collection.intake.mapping.mapping import OBJECT, PROSE, TAKE_ANYWAY, ColumnMap
from collection.intake.text.remarks import GRADE, with_grades
from collection.intake.ticks import TICKS, ticks_of
from collection.intake.written_by_hand import in_words, last_cells, several_numbers, shape, with_cells_above
from collection.snapshot import Collection
from collection.validation.cells import SHOWN_OF_A_CELL, typed
from collection.validation.problems import ROW, no_problems, problems_of
from collection.validation.validate import Incoming, ready
from schemas.tables import RECORDS, TableSpec

# A row's identity is the number of its sheet in the delivery and its line: nothing else is needed to find it again.
SHEET_STEP = 2**40
READ_TOGETHER = (*PROSE, TAKE_ANYWAY, "title", "description", "period_text", "culture")
# Columns that are read in the words of a language.
WITH_WORDS = frozenset((*READ_TOGETHER, *REMARKS, GRADE))
BETWEEN, OBJECT_ID = "between", "object_id"


@dataclass(frozen=True)
class Known:
    """What the rows are read with: languages, the register, the day, and the places known so far (id and name)."""

    languages: Languages
    collection: Collection
    today: date
    places: pl.DataFrame
    with_readings: bool = False
    with_digits: bool = False  # of the sheet at hand, see `numbers_hold_digits`
    above: Mapping[str, str | None] = field(default_factory=dict)  # last cells of the part of the sheet before
    not_read: frozenset[str] = frozenset()  # prose columns of the sheet at hand whose language is not read


@dataclass(frozen=True)
class SheetRows:
    """`incoming` rows of the mapping's record; `places` they name that nobody knows; `between`: lines that are none;
    `above`: the last cells, for the part of the sheet that follows.

    `readings`: schema `READ`, of every row, where they are wanted; `ticks`: schema `TICKS`; `facts`: schema `FACTS`.
    """

    incoming: Incoming
    places: pl.DataFrame
    between: pl.DataFrame
    above: Mapping[str, str | None]
    readings: pl.DataFrame = field(default_factory=lambda: pl.DataFrame(schema=READ))
    ticks: pl.DataFrame = field(default_factory=lambda: pl.DataFrame(schema=TICKS))
    facts: pl.DataFrame = field(default_factory=lambda: pl.DataFrame(schema=FACTS))


def identity(sheet_number: int) -> pl.Expr:
    """The identity of a row by its line in the sheet of this number."""
    return (pl.col(SOURCE_ROW) + sheet_number * SHEET_STEP).alias(ROW)


def read_sheet(sheet: Sheet, mapping: ColumnMap, sheet_number: int, known: Known) -> SheetRows:
    """Type and read one sheet, or one part of a long one. Pure; never raises for a row."""
    spec = RECORDS[mapping.record]
    faults = _faults(sheet, mapping, sheet_number)
    between = _lines_between(sheet, mapping, known.with_digits).select(identity(sheet_number))
    cells = _without_faulty_cells(sheet.cells, sheet.faults).with_columns(identity(sheet_number))
    cells = cells.join(between, on=ROW, how="anti", maintain_order="left") if between.height else cells
    cells, dittos, above = _with_cells_above(cells, mapping, known.above)
    own, texts = _mapped(cells, mapping)
    read = typed(with_grades(own, known.languages), spec, mapping.conventions())
    rows = with_check_numbers(read.rows, spec, known.collection[CHECK])
    notes = _notes(sheet, mapping, sheet_number)
    silent = cells_not_read(cells, own, read.rows, mapping, known.languages, known.not_read)
    problems = [faults, dittos, _several(own, spec), read.problems, notes, *silent]
    places: pl.DataFrame = pl.DataFrame()
    readings: Callable[[], pl.DataFrame] = partial(_plain_readings, rows)
    if spec.name == OBJECT:
        held = known.collection[OBJECT][spec.key[0]]
        filled = read_catalogue(rows, texts, mapping, known.languages, held, known.not_read)
        rows, places, ambiguous = with_places(filled.rows, texts, known.places)
        problems += [filled.problems, ambiguous]
        readings = filled.read
    incoming = ready(rows, spec, pl.concat(problems), known.today)
    wanted = readings() if known.with_readings else pl.DataFrame(schema=READ)
    facts = facts_of(cells, rows, mapping)
    return SheetRows(incoming, places, between, above, wanted, ticks_of(cells, mapping), facts)


def _with_cells_above(
    cells: pl.DataFrame, mapping: ColumnMap, above: Mapping[str, str | None]
) -> tuple[pl.DataFrame, pl.DataFrame, Mapping[str, str | None]]:
    """Ditto marks replaced by what they stand for, each with a note, and the last cells; a number has none."""
    keys = RECORDS[mapping.record].key
    columns = {h: t for h, t in mapping.columns.items() if t and t not in keys and h in cells.columns}
    filled, places = with_cells_above(cells, list(columns), above)
    last = {**above, **{h: v for h, v in last_cells(filled, list(columns)).items() if v is not None}}
    if places.is_empty():
        return filled, no_problems(), last
    named = places.with_columns(target=pl.col("heading").replace_strict(columns, return_dtype=pl.String))
    each = [
        problems_of(rows, "ditto", str(target), value=pl.col("value").str.head(SHOWN_OF_A_CELL))
        for (target,), rows in named.group_by("target", maintain_order=True)
    ]
    return filled, pl.concat(each), last


def _several(own: pl.DataFrame, spec: TableSpec) -> pl.DataFrame:
    """Numbers of several objects in one cell: which of them the row is about, a person has to say."""
    if spec.name not in (OBJECT, CHECK) or OBJECT_ID not in own.columns:
        return no_problems()
    wrong = own.filter(several_numbers(own[OBJECT_ID]))
    return problems_of(wrong, "several_numbers", OBJECT_ID, value=pl.col(OBJECT_ID).str.head(SHOWN_OF_A_CELL))


def _plain_readings(rows: pl.DataFrame) -> pl.DataFrame:
    """Of a record that has no prose: the object it is about."""
    named = [c for c in READ if c in rows.columns and rows.schema[c] == READ[c]]
    lacking = [pl.lit(None, t).alias(n) for n, t in READ.items() if n not in named]
    return rows.select(*named, *lacking).select(READ.names())


def _mapped(cells: pl.DataFrame, mapping: ColumnMap) -> tuple[pl.DataFrame, pl.DataFrame]:
    """The cells under the record's own columns, and the texts that are read for several columns at once."""
    spec = RECORDS[mapping.record]
    filled = _by_column(cells, mapping)
    own = [e.alias(t) for t, e in filled.items() if t in {c.name for c in spec.columns}]
    read = [e.alias(t) for t, e in filled.items() if t in READ_TOGETHER]
    read += [e.alias("technique_text") for e in _named_techniques(cells, mapping)]
    texts = cells.select(ROW, *read).drop(ROW) if spec.name == OBJECT and read else pl.DataFrame()
    return cells.select(ROW, *own), texts if texts.width else cells.select(ROW)


def _named_techniques(cells: pl.DataFrame, mapping: ColumnMap) -> list[pl.Expr]:
    """The texts of headings that say no more than *technique*, as one; none where there is no such heading."""
    wanted = set(figures()["technique_headings"])
    headings = [h for h in mapping.headings_of(PROSE[0]) if h in cells.columns and take_apart(h).words in wanted]
    return [pl.concat_str([pl.col(h) for h in headings], separator="; ", ignore_nulls=True)] if headings else []


def _by_column(cells: pl.DataFrame, mapping: ColumnMap) -> Mapping[str, pl.Expr]:
    headings: dict[str, list[str]] = {}
    for heading, target in mapping.columns.items():
        if target and heading in cells.columns:
            headings.setdefault(target, []).append(heading)
    joined = {
        t: pl.concat_str([pl.col(h) for h in hs], separator="; ", ignore_nulls=True) for t, hs in headings.items()
    }
    same = {column: pl.lit(value) for column, value in mapping.same.items()}
    filled = {
        t: pl.col(headings[t][0]) if len(headings[t]) == 1 else pl.when(e != "").then(e) for t, e in joined.items()
    }
    several = {c.name for c in RECORDS[mapping.record].columns if c.several}
    worded = {t: in_words(e, mapping.words[t], t in several) if t in mapping.words else e for t, e in filled.items()}
    return {**same, **worded}


def _faults(sheet: Sheet, mapping: ColumnMap, sheet_number: int) -> pl.DataFrame:
    """What was wrong with rows and cells before they were read; of a heading nobody needs nothing is said."""
    targets = {heading: target for heading, target in mapping.columns.items() if target}
    named = sheet.faults.with_columns(
        target=pl.col("column").replace_strict(targets, default=None, return_dtype=pl.String)
    )
    needed = named.filter(pl.col("column").is_null() | pl.col("target").is_not_null())
    return needed.select(
        identity(sheet_number), "rule", pl.col("target").alias("column"), "value", expected=pl.lit(None, pl.String)
    )


def _without_faulty_cells(cells: pl.DataFrame, faults: pl.DataFrame) -> pl.DataFrame:
    for (heading,), wrong in faults.drop_nulls("column").group_by("column"):
        if heading in cells.columns:
            is_wrong = pl.col(SOURCE_ROW).is_in(wrong[SOURCE_ROW].implode())
            cells = cells.with_columns(pl.when(~is_wrong).then(str(heading)).alias(str(heading)))
    return cells


def numbers_hold_digits(sheet: Sheet, mapping: ColumnMap) -> bool:
    """At least half of the rows have a digit in their number: then a word alone in a line is no number."""
    keys = mapping.headings_of(RECORDS[mapping.record].key[0])
    if len(sheet.headings) < 2 or not keys:
        return False
    return int(sheet.cells[keys[0]].str.contains(r"\d").sum()) * 2 >= sheet.cells.height


def _lines_between(sheet: Sheet, mapping: ColumnMap, with_digits: bool) -> pl.DataFrame:
    """Lines that are no rows: the headings again, or a word without a digit alone under the number."""
    keys = mapping.headings_of(RECORDS[mapping.record].key[0])
    named = {*mapping.columns, *mapping.ticks}
    headings = [h for h in sheet.headings if h in named]
    if not with_digits or not keys:
        return sheet.cells.clear()
    suspect = sheet.cells.filter(~pl.col(keys[0]).str.contains(r"\d") | _unlike_others(sheet, keys[0], headings))
    others = [h for h in headings if h != keys[0]]
    alone = pl.all_horizontal(
        pl.lit(value=True), *(pl.col(h).is_null() | (pl.col(h).str.strip_chars() == "") for h in others)
    )
    repeated = pl.all_horizontal(pl.col(h).is_null() | (pl.col(h).str.strip_chars() == h) for h in headings)
    unreadable = sheet.faults.filter(pl.col("column").is_null())[SOURCE_ROW]
    return suspect.filter(repeated | alone, ~pl.col(SOURCE_ROW).is_in(unreadable.implode()))


def _unlike_others(sheet: Sheet, key: str, headings: list[str]) -> pl.Series:
    """Whether a number begins with a word and is spelt as none of a row that says more: `CASE 1` among `B.1`, `B.2`."""
    begins = sheet.cells.select(pl.col(key).str.contains(r"^\s*\p{L}{3,}\s").fill_null(value=False)).to_series()
    if not begins.any():
        return begins
    says_more = sheet.cells.select(
        pl.any_horizontal(
            pl.lit(value=False),
            *((pl.col(h).str.strip_chars() != "").fill_null(value=False) for h in headings if h != key),
        )
    ).to_series()
    spelt = sheet.cells.select(text=pl.col(key).str.strip_chars(), shape=shape(pl.col(key)))
    known = spelt["shape"].filter(says_more).drop_nulls().unique()
    unlike = pl.col("text").str.contains(r"^\p{L}{3,}\s") & ~pl.col("shape").is_in(known.implode())
    return spelt.select(unlike.fill_null(value=False)).to_series()


def _notes(sheet: Sheet, mapping: ColumnMap, sheet_number: int) -> pl.DataFrame:
    """Notes on a whole column or file stand at the row of headings."""
    top = pl.DataFrame({ROW: [1 + sheet_number * SHEET_STEP]})
    notes = [problems_of(top, rule, "", expected=text) for rule, text in sheet.notes]
    notes += [problems_of(top, "unit_not_stated", c) for c, unit in mapping.units.items() if not unit and "_mm" in c]
    keys = [c for c in RECORDS[mapping.record].key if set(mapping.headings_of(c)) & sheet.numbers]
    notes += [problems_of(top, "trailing_zeros_lost", c) for c in keys]
    notes += [problems_of(top, "same_meaning", c, value=pl.lit(h)) for h, c in mapping.passed_over.items()]
    return pl.concat([no_problems(), *notes])
