"""A file of a logger as sheets of climate readings: one for each logger in it, times in UTC, values in °C, % and lx."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

import polars as pl

from collection.intake.files.sheet import SOURCE_ROW, Sheet
from collection.intake.loggers.layout import Layout, Measured, TimeColumns, layout, named_in
from collection.intake.loggers.questions import Named, Places, Question
from collection.intake.loggers.reading import (
    BLOCK,
    BROKEN,
    LOGGER,
    PLACE,
    SPEC,
    read_group,
    readings_of,
    sheet_of,
    with_unused,
)
from collection.intake.mapping.mapping import ColumnMap, LoggerAnswers
from schemas.errors import SourceRefused

HEAD_ROWS = 150


@dataclass(frozen=True)
class Grid:
    """Every cell of a sheet as text, columns named by position from 0, with `source_row`; what its reader set apart."""

    file: str
    sha256: str
    name: str
    cells: pl.DataFrame
    faults: pl.DataFrame
    notes: tuple[tuple[str, str], ...] = ()

    def head(self) -> list[list[str]]:
        """The first rows, an empty cell as an empty text."""
        return [
            ["" if c is None else c for c in row] for row in self.cells.drop(SOURCE_ROW).head(HEAD_ROWS).iter_rows()
        ]


@dataclass(frozen=True)
class Export:
    """One logger of a file: its readings as a sheet with the mapping that reads it, and what has to be asked first."""

    sheet: Sheet
    mapping: ColumnMap
    questions: tuple[Question, ...]


def exports(grid: Grid, places: Places, answers: LoggerAnswers | None, house_zone: str) -> list[Export]:
    """The loggers of a sheet; none where it is no file of a logger."""
    head = grid.head()
    its = None if any(set(SPEC.key) <= set(row) for row in head) else layout(head)  # the register's own headings
    if its is None:
        return []
    if its.refused:
        to_do = "Export the readings themselves; daily limits can be made of them."
        raise SourceRefused(grid.file, its.refused, "one reading of temperature or humidity a row", to_do)
    asked = _Asked(answers or LoggerAnswers(), places, house_zone)
    body, faults = readings_of(grid.cells, grid.faults, its)
    several = [_export(grid, body, faults, its, group, asked) for group in _groups(body, its, asked)]
    if several and its.unused:
        sheet, mapping = with_unused(several[0].sheet, several[0].mapping, body, its.unused)
        several[0] = Export(sheet, mapping, several[0].questions)
    return several


@dataclass(frozen=True)
class _Asked:
    """What was answered, what the register knows, and the zone the house lives in."""

    answers: LoggerAnswers
    places: Places
    house_zone: str


@dataclass(frozen=True)
class _Group:
    """Columns of one logger: by quantity; `name` as it stands in the file, None where a column or a line names it."""

    name: str | None
    columns: Mapping[str, Measured]
    clock: TimeColumns
    questions: tuple[Question, ...] = ()


def _groups(body: pl.DataFrame, its: Layout, asked: _Asked) -> Iterator[_Group]:
    """The values that belong together: of one name; unnamed ones in the order in which they repeat."""
    by_rows = its.logger_column is not None or its.place_column is not None or body[BLOCK].n_unique() > 1
    named = not by_rows and all(m.name for m in its.measured)
    groups: dict[tuple[str, int], dict[str, Measured]] = {}
    for m in its.measured:
        name, nth = m.name if named else "", 0
        while m.quantity in groups.get((name, nth), {}):
            nth += 1
        groups.setdefault((name, nth), {})[m.quantity] = m
    for (name, nth), columns in groups.items():
        clock = next(iter(columns.values())).clock
        pair = f"pair {nth + 1}" if len(groups) > 1 and not named else None
        yield _Group(name or pair, columns, clock, _unnamed(pair, asked))


def _unnamed(pair: str | None, asked: _Asked) -> tuple[Question, ...]:
    """The question which logger wrote a pair of columns that nothing names."""
    if pair is None or pair in asked.answers.names:
        return ()
    return (Question(("names", pair), f"nothing names the {pair} of columns: which logger wrote it?"),)


def _export(grid: Grid, body: pl.DataFrame, faults: pl.DataFrame, its: Layout, group: _Group, asked: _Asked) -> Export:
    """One group of columns read, its loggers and places named, its questions gathered."""
    names, why = _names(grid, body, its, group, asked)
    named, answers = _resolved(names, asked)
    read = read_group(_placed(body, names, named), its, group.columns, group.clock, answers, asked.house_zone)
    loggers = tuple(dict.fromkeys(n.logger_id for n in named.values()))
    sheet = sheet_of(read, faults, group.columns)
    whole = replace(
        sheet,
        file=grid.file,
        sha256=grid.sha256,
        name=", ".join(loggers) if group.name else grid.name,
        notes=grid.notes,
    )
    day = asked.places.before(loggers).day if answers.habits != asked.answers.habits else ""
    mapping = ColumnMap(SPEC.name, {h: h for h in whole.headings}, logger=replace(answers, of=loggers), remembered=day)
    nameless = bool(why or group.questions)
    where = () if nameless else tuple(q for n in named.values() for q in n.questions)
    return Export(whole, mapping, (*group.questions, *why, *where, *read.questions))


def _resolved(names: pl.Series, asked: _Asked) -> tuple[Mapping[str, Named], LoggerAnswers]:
    """Logger and place of each name, and the answers with those given for the same loggers before."""
    distinct = names.drop_nulls().unique(maintain_order=True).to_list()
    loggers = [asked.places.named(n, asked.answers).logger_id for n in distinct]
    answers = asked.answers.filled_from(asked.places.before(loggers))
    return {n: asked.places.named(n, answers) for n in distinct}, answers


def _placed(body: pl.DataFrame, names: pl.Series, named: Mapping[str, Named]) -> pl.DataFrame:
    """The rows with logger and place."""
    loggers = {name: its.logger_id for name, its in named.items()}
    places = {name: its.location_id for name, its in named.items()}
    return body.with_columns(
        names.replace_strict(loggers, default=None, return_dtype=pl.String).alias(LOGGER),
        names.replace_strict(places, default=None, return_dtype=pl.String).alias(PLACE),
    )


def _names(
    grid: Grid, body: pl.DataFrame, its: Layout, group: _Group, asked: _Asked
) -> tuple[pl.Series, tuple[Question, ...]]:
    """The logger of each row by its name in the file, and the question where nothing names it."""
    if group.name:
        return _all(group.name, body), ()
    column = its.logger_column if its.logger_column is not None else its.place_column
    if column is not None:
        named = body.select(
            pl.when(~pl.col(BROKEN) | pl.col(str(group.clock.first)).is_not_null())
            .then(pl.col(str(column)).str.strip_chars())
            .alias(LOGGER)
        )
        return named[LOGGER], ()
    if asked.answers.name:
        return _all(asked.answers.name, body), ()
    if body[BLOCK].null_count() < body.height:
        return body[BLOCK], ()
    label = next((m.name for m in group.columns.values() if m.name), "")
    stem = grid.file.rpartition(".")[0]
    known = [n for n in (named_in(its.head, "place"), label, grid.name, stem) if asked.places.knows(n)]
    if known or label:
        return _all(known[0] if known else label, body), ()
    return _all("?", body), (
        Question(("name",), "nothing in the file names its logger: what is its number?", (grid.file,)),
    )


def _all(name: str, body: pl.DataFrame) -> pl.Series:
    return pl.Series([name], dtype=pl.String).new_from_index(0, body.height)
