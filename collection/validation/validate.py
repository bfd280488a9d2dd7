"""Judging sheets: every row that is not blank gets exactly one outcome, and a reason where it was not taken. Pure."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import polars as pl

from collection.intake.catalogue import READINGS, read_catalogue
from collection.intake.files.sheet import ROW, Sheet
from collection.intake.languages import Languages
from collection.intake.mapping.mapping import OBJECT, PROSE, TAKE_ANYWAY, UNSAID, ColumnMap
from collection.snapshot import Collection
from collection.validation.cells import typed
from collection.validation.derived import made_beside, with_places, with_whole
from collection.validation.duplicates import compare
from collection.validation.problems import (
    NOT_ENAMEL,
    PROBLEMS,
    REFUSED,
    SET_ASIDE,
    found,
    nothing,
    refused_rows,
    set_aside,
    worded,
)
from collection.validation.rules.cross_record import RELATIONS, broken_references
from collection.validation.rules.deferred import DEFERRED_RECORD, deferred_problems
from collection.validation.rules.row import MORE_RULES, ROW_RULES
from collection.validation.session import ValidationSession
from schemas.tables import RECORDS, TableSpec

ACCEPTED, UNCHANGED = "accepted", "unchanged"
OUTCOMES = pl.Schema({n: pl.String() for n in ("file", "sheet", "record", "key", "outcome")} | {ROW: pl.Int64()})


@dataclass(frozen=True)
class ValidationResult:
    """`accepted`: rows to write, by record; `refused`: rows set aside, with reasons; `outcomes`: each row once."""

    accepted: Mapping[str, pl.DataFrame]
    refused: pl.DataFrame
    outcomes: pl.DataFrame
    problems: pl.DataFrame
    readings: pl.DataFrame


def judge(
    sheets: Iterable[tuple[Sheet, ColumnMap]], kept: Collection, languages: Languages, *, with_readings: bool = True
) -> ValidationResult:
    """Judge every row of every sheet against its record, the other rows and what the register holds.

    Sheets come parents first (`schemas.tables.parents_first`): what a row points to is judged before it.
    `with_readings`: also say what was read of every row; schema `READINGS`.
    """
    session = ValidationSession(kept, with_readings=with_readings)
    done = [_judge_sheet(s, m, session, languages) for s, m in sheets]
    late = [_late(checks, session) for checks in session.taken.get(DEFERRED_RECORD, ()) if ROW in checks.columns]
    accepted = {name: pl.concat(frames, how="diagonal") for name, frames in session.taken.items()}
    return ValidationResult(
        accepted,
        pl.concat([pl.DataFrame(schema=SET_ASIDE), *(d.set_aside for d in done)]),
        pl.concat([pl.DataFrame(schema=OUTCOMES), *(d.outcomes for d in done)]),
        pl.concat([pl.DataFrame(schema=PROBLEMS), *(d.problems for d in done), *late]),
        pl.concat([pl.DataFrame(schema=READINGS), *(d.readings for d in done)]),
    )


def _late(checks: pl.DataFrame, session: ValidationSession) -> pl.DataFrame:
    """Questions about accepted checks; those that came with a remark stand in no row of their own."""
    own = checks.filter(pl.col(ROW).is_not_null())
    asked = deferred_problems(own, session.rows)
    return worded(
        asked,
        own.select(ROW, key="check_id"),
        file=str(own["source_file"].first() or ""),
        sheet="",
        record=DEFERRED_RECORD,
    )


@dataclass(frozen=True)
class _Judged:
    set_aside: pl.DataFrame
    outcomes: pl.DataFrame
    problems: pl.DataFrame
    readings: pl.DataFrame


@dataclass(frozen=True)
class _Read:
    """A sheet typed and read: `rows` with `source_row`, what was wrong, and what only objects have."""

    rows: pl.DataFrame
    problems: list[pl.DataFrame]
    not_enamel: pl.DataFrame
    places: pl.DataFrame
    readings: pl.DataFrame


def _judge_sheet(sheet: Sheet, mapping: ColumnMap, session: ValidationSession, languages: Languages) -> _Judged:
    spec = RECORDS[mapping.record]
    read = _read(sheet, mapping, session, languages)
    numbers = read.rows.select(ROW, key=_number(spec))
    rows = _without(read.rows, refused_rows(pl.concat(read.problems)))
    not_enamel = read.not_enamel.join(rows, on=ROW, how="semi")
    rows = _without(rows, not_enamel[ROW])
    compared = compare(rows, spec, session.kept_rows(spec), session.seen_above(spec))
    session.see(spec, compared.seen)
    problems = [*read.problems, _take_places(read.places, rows, session), compared.problems]
    rows = _relate(compared.rows, spec, session, problems)
    session.take(spec.name, rows.with_columns(source_file=pl.lit(sheet.file)))
    if spec.name == OBJECT:
        for name, more in made_beside(rows, session, languages, sheet.file):
            session.take(name, more)
    return _close(sheet, spec, numbers, rows, compared.unchanged, not_enamel, problems, read.readings, session)


def _read(sheet: Sheet, mapping: ColumnMap, session: ValidationSession, languages: Languages) -> _Read:
    """Type the cells, read the prose of objects, and apply the rules a row can break by itself."""
    spec = RECORDS[mapping.record]
    cells, texts = _mapped(sheet, mapping)
    made = typed(cells, spec, mapping)
    rows, problems = with_whole(made.rows, spec), [_faults(sheet), made.problems, _notes(sheet, mapping)]
    not_enamel, places = pl.DataFrame(schema={ROW: pl.Int64, "why": pl.String}), pl.DataFrame()
    readings = pl.DataFrame(schema=READINGS)
    if spec.name == OBJECT:
        read = read_catalogue(rows, texts, mapping, languages, session.kept[OBJECT][spec.key[0]])
        problems.append(read.problems)
        not_enamel, readings = read.not_enamel, read.readings() if session.with_readings else readings
        rows, places = with_places(read.rows.drop("technique_typed"), texts, session.rows("location"))
    said = pl.concat(problems).select(ROW, "column")  # an unreadable value is not missing as well
    broken = [rule(rows, spec) for rule in (*ROW_RULES, *MORE_RULES.get(spec.name, ()))]
    problems += [problem.join(said, on=[ROW, "column"], how="anti") for problem in broken]
    return _Read(rows, problems, not_enamel, places, readings)


def _take_places(places: pl.DataFrame, rows: pl.DataFrame, session: ValidationSession) -> pl.DataFrame:
    """Add the new places that some row still names once refused rows are out; a note for each."""
    if places.is_empty() or "location_id" not in rows.columns:
        return nothing()
    used = places.join(rows, on="location_id", how="semi")
    session.take("location", used)
    return found(used, "place_made", "location_text", value=pl.col("name"))


def _mapped(sheet: Sheet, mapping: ColumnMap) -> tuple[pl.DataFrame, pl.DataFrame]:
    """The cells under the record's own columns, and the texts that are read for several columns at once."""
    spec = RECORDS[mapping.record]
    headings: dict[str, list[str]] = {}
    for heading, target in mapping.columns.items():
        if target != UNSAID and heading in sheet.cells.columns:
            headings.setdefault(target, []).append(heading)
    joined = {
        t: pl.concat_str([pl.col(h) for h in hs], separator="; ", ignore_nulls=True) for t, hs in headings.items()
    }
    exprs = {
        t: pl.col(headings[t][0]) if len(headings[t]) == 1 else pl.when(e != "").then(e) for t, e in joined.items()
    }
    own = [e.alias(t) for t, e in exprs.items() if t in {c.name for c in spec.columns}]
    read = [
        e.alias(t)
        for t, e in exprs.items()
        if t in (*PROSE, TAKE_ANYWAY, "title", "description", "period_text", "culture")
    ]
    texts = sheet.cells.select(read) if spec.name == OBJECT and read else pl.DataFrame()
    return sheet.cells.select(ROW, *own), texts if texts.width else sheet.cells.select(ROW)


def _faults(sheet: Sheet) -> pl.DataFrame:
    return sheet.faults.select(ROW, "rule", "column", "value", expected=pl.lit(None, pl.String))


def _notes(sheet: Sheet, mapping: ColumnMap) -> pl.DataFrame:
    """Notes on a whole column or file stand at the row of headings."""
    top = pl.DataFrame({ROW: [1]})
    notes = [found(top, "encoding_guessed", "", expected=n) for n in sheet.notes]
    notes += [found(top, "unit_not_stated", c) for c, unit in mapping.units.items() if unit == UNSAID and "_mm" in c]
    keys = [c for c in RECORDS[mapping.record].key if set(mapping.headings_of(c)) & sheet.numbers]
    notes += [found(top, "trailing_zeros_lost", c) for c in keys]
    return pl.concat([nothing(), *notes])


def _relate(
    rows: pl.DataFrame, spec: TableSpec, session: ValidationSession, problems: list[pl.DataFrame]
) -> pl.DataFrame:
    """References first, until no row points to a refused one; then the rules over several records."""
    rows = _without(rows, refused_rows(pl.concat(problems)))
    while True:
        broken = broken_references(rows, spec, session.numbers, session.refused)
        if broken.is_empty():
            break
        problems.append(broken)
        rows = _without(rows, refused_rows(broken))
    trial = ValidationSession(
        session.kept, taken={**session.taken, spec.name: [*session.taken.get(spec.name, []), rows]}
    )
    wrong = [rule(rows, trial.rows) for rule in RELATIONS.get(spec.name, ()) if not rows.is_empty()]
    problems += wrong
    return _without(rows, refused_rows(pl.concat([nothing(), *wrong])))


def _close(
    sheet: Sheet,
    spec: TableSpec,
    numbers: pl.DataFrame,
    rows: pl.DataFrame,
    unchanged: pl.Series,
    not_enamel: pl.DataFrame,
    problems: list[pl.DataFrame],
    readings: pl.DataFrame,
    session: ValidationSession,
) -> _Judged:
    # Of a row that could not be read the rest says nothing.
    others = _without(pl.concat(problems[1:]), problems[0][ROW])
    listed = worded(pl.concat([problems[0], others]), numbers, file=sheet.file, sheet=sheet.name, record=spec.name)
    outcomes = numbers.select(
        file=pl.lit(sheet.file),
        sheet=pl.lit(sheet.name),
        record=pl.lit(spec.name),
        key="key",
        outcome=_outcome(rows[ROW], unchanged, not_enamel[ROW]),
        **{ROW: ROW},
    )
    refused = outcomes.filter(pl.col("outcome") == REFUSED)
    if len(spec.key) == 1:
        session.refused[spec.name] = pl.concat([session.refused.get(spec.name, refused["key"].clear()), refused["key"]])
    said = readings.drop("outcome").join(outcomes.select(ROW, "outcome"), on=ROW, how="left", maintain_order="left")
    aside = set_aside(sheet, outcomes, not_enamel, listed)
    return _Judged(aside, outcomes.select(OUTCOMES.names()), listed, said.select(READINGS.names()))


def _outcome(accepted: pl.Series, unchanged: pl.Series, not_enamel: pl.Series) -> pl.Expr:
    """What became of a row, by its number."""
    of = {ACCEPTED: accepted, UNCHANGED: unchanged, NOT_ENAMEL: not_enamel}
    each = (pl.when(pl.col(ROW).is_in(rows.implode())).then(pl.lit(name)) for name, rows in of.items())
    return pl.coalesce(*each, pl.lit(REFUSED))


def _number(spec: TableSpec) -> pl.Expr:
    return pl.concat_str([pl.col(k).cast(pl.String) for k in spec.key], separator=" / ", ignore_nulls=True)


def _without(rows: pl.DataFrame, source_rows: pl.Series) -> pl.DataFrame:
    return rows if source_rows.is_empty() else rows.filter(~pl.col(ROW).is_in(source_rows.implode()))
