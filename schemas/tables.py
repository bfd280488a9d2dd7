"""The list of records, and what is derived from a declaration: columns, frame schema, JSON Schema, headers, dictionary.

A record added to `DECLARED` appears everywhere without another edit.
"""

import types
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from graphlib import TopologicalSorter
from typing import Annotated, Any, Literal, TypeVar, Union, get_args, get_origin

import polars as pl

from schemas.fields import ForeignKey, FromVocabulary, Partial, Private, Record, Unit
from schemas.records import care, catalogue, condition, house, loan, picture, place, plan, repair

M = TypeVar("M")
MARKS = (Unit, FromVocabulary, ForeignKey, Partial, Private)

DTYPES: Mapping[type, pl.DataType] = {
    str: pl.String(),
    int: pl.Int64(),
    float: pl.Float64(),
    bool: pl.Boolean(),
    date: pl.Date(),
    datetime: pl.Datetime("us"),
    Decimal: pl.Decimal(18, 2),
}

RECORD_MODELS: tuple[type[Record], ...] = (
    catalogue.EnamelObject,
    catalogue.Part,
    catalogue.ObjectGroup,
    catalogue.Fragment,
    place.Location,
    place.PlaceCheck,
    place.Move,
    catalogue.Person,
    catalogue.Significance,
    catalogue.FurtherFact,
    condition.Survey,
    condition.SurveyUnit,
    condition.ConditionCheck,
    condition.Coverage,
    condition.Damage,
    condition.Observation,
    repair.Repair,
    repair.RepairState,
    condition.DangerToPeople,
    condition.Evidence,
    picture.Photo,
    picture.Region,
    place.ClimateReading,
    place.Target,
    care.Decision,
    care.Action,
    care.Option,
    plan.SetupGroup,
    care.OptionEffect,
    plan.OptionAdds,
    plan.LocationEffect,
    plan.Must,
    plan.Plan,
    plan.PlanLine,
    care.Treatment,
    care.MaterialUse,
    loan.Loan,
    loan.LoanLeg,
    loan.LoanObject,
    loan.LoanState,
    loan.LoanFinding,
    loan.Requirement,
    care.YearMoney,
    care.YearHours,
    house.IntakeFile,
    house.Delivery,
    house.RefusedRow,
    house.LoggerGap,
    care.OwnRate,
    house.Setting,
    house.Statement,
    house.Journal,
)


@dataclass(frozen=True)
class OneOf:
    """The value is one of these words of the register itself."""

    words: tuple[str, ...]


@dataclass(frozen=True)
class Column:
    """One declared column; `marks` are instances of `MARKS`, `several` says that a cell holds a list."""

    name: str
    dtype: pl.DataType
    required: bool
    marks: tuple[object, ...]
    constraints: tuple[object, ...]
    text: str

    @property
    def several(self) -> bool:
        """A cell holds several values."""
        return isinstance(self.dtype, pl.List)

    def mark(self, kind: type[M]) -> M | None:
        """The mark of this kind, if the column carries one."""
        return next((m for m in self.marks if isinstance(m, kind)), None)


@dataclass(frozen=True, eq=False)
class TableSpec:
    """A record as every reader sees it; there is one of each record, so it is compared as itself."""

    name: str
    key: tuple[str, ...]
    columns: tuple[Column, ...]
    model: type[Record]

    def schema(self) -> pl.Schema:
        """Frame schema: declared columns, each partial date followed by its derived first and last day."""
        return pl.Schema({name: dtype for c in self.columns for name, dtype in stored(c)})

    def column(self, name: str) -> Column:
        """The declared column of this name; KeyError if there is none."""
        return {c.name: c for c in self.columns}[name]

    def marked(self, kind: type) -> tuple[Column, ...]:
        """Columns that carry a mark of this kind."""
        return tuple(c for c in self.columns if c.mark(kind) is not None)


def stored(column: Column) -> Iterator[tuple[str, pl.DataType]]:
    """Name and type of the column and of what is derived from it."""
    yield column.name, column.dtype
    if column.mark(Partial) is not None:
        yield f"{column.name}_earliest", pl.Date()
        yield f"{column.name}_latest", pl.Date()


def spec(model: type[Record]) -> TableSpec:
    """Derive the table of one declaration."""
    columns = tuple(_column(name, info) for name, info in model.model_fields.items())
    return TableSpec(model.record, model.key, columns, model)


def specs(declared: tuple[type[Record], ...]) -> Mapping[str, TableSpec]:
    """Tables by record name, in the order declared."""
    return {model.record: spec(model) for model in declared}


def _column(name: str, info: Any) -> Column:
    base, notes = _unwrap(info.annotation)
    notes = (*notes, *info.metadata)
    marks = tuple(n for n in notes if isinstance(n, MARKS))
    constraints = tuple(n for n in notes if not isinstance(n, MARKS))
    text = info.description or name.replace("_", " ").capitalize()
    return Column(name, _dtype(base), info.is_required(), marks, constraints, text)


def _unwrap(annotation: Any) -> tuple[Any, tuple[object, ...]]:
    """Strip Optional, Annotated and list; gather every note met on the way."""
    origin = get_origin(annotation)
    if origin is Annotated:
        inner, *notes = get_args(annotation)
        base, more = _unwrap(inner)
        return base, (*_flat(notes), *more)
    if origin in (Union, types.UnionType):
        (inner,) = [a for a in get_args(annotation) if a is not type(None)]
        return _unwrap(inner)
    if origin is Literal:
        return str, (OneOf(get_args(annotation)),)
    if origin is list:
        base, notes_inside = _unwrap(get_args(annotation)[0])
        return list[base], notes_inside  # type: ignore[valid-type]
    return annotation, ()


def _flat(notes: list[Any]) -> Iterator[object]:
    """Pydantic's Field(...) holds its constraints in `.metadata`."""
    for note in notes:
        if hasattr(note, "metadata") and not isinstance(note, MARKS):
            yield from note.metadata
        else:
            yield note


def _dtype(base: Any) -> pl.DataType:
    if get_origin(base) is list:
        return pl.List(DTYPES[get_args(base)[0]])
    return DTYPES[base]


RECORDS: Mapping[str, TableSpec] = specs(RECORD_MODELS)


def parents_first(records: Mapping[str, TableSpec] = RECORDS) -> tuple[str, ...]:
    """Records in an order in which what a row points to comes before it; a record may point to itself."""
    points = {
        n: {p.record for c in s.marked(ForeignKey) if (p := c.mark(ForeignKey))} - {n} for n, s in records.items()
    }
    return tuple(TopologicalSorter(points).static_order())
