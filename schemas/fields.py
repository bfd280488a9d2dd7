"""The marks on a field that every reader (frame, store, rules, workbook, dictionary, export) matches on, and the
field types built from them. A reader that meets a mark or constraint it does not know raises; it never skips one."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import Annotated, ClassVar

from pydantic import BaseModel, ConfigDict, Field


@dataclass(frozen=True)
class Unit:
    """The unit of a number, as printed."""

    symbol: str


@dataclass(frozen=True)
class FromVocabulary:
    """The value is a term of this vocabulary."""

    vocabulary: str


@dataclass(frozen=True)
class ForeignKey:
    """The value is the key of a row of this record."""

    record: str


@dataclass(frozen=True)
class Partial:
    """A date known to the day, the month or the year; `NAME_earliest` and `NAME_latest` are derived."""


@dataclass(frozen=True)
class Private:
    """The value never leaves the house; `why` says for whose sake."""

    why: str


class Record(BaseModel):
    """One row of one kind of record; the only declaration of its columns."""

    # Built when a row is first judged: building all forty takes 40 ms that a command which only reads has no use for.
    model_config = ConfigDict(extra="forbid", frozen=True, defer_build=True)
    record: ClassVar[str]
    key: ClassVar[tuple[str, ...]]
    # The day a row began to be true, or the row it came with: the first of these that is filled; else it always was.
    known_from: ClassVar[tuple[str, ...]] = ()
    # Days that end something, each with the columns that go with it: empty until that day has come.
    ended_by: ClassVar[Mapping[str, tuple[str, ...]]] = {}


# The longest cell a spreadsheet can hold (ECMA-376 leaves it to the program; 32,767 is common practice, no source).
LONGEST_CELL = 32_767

Key = Annotated[str, Field(min_length=1, max_length=200)]
Name = Annotated[str, Field(min_length=1, max_length=500)]
Text = Annotated[str, Field(min_length=1, max_length=LONGEST_CELL)]
Digest = Annotated[str, Field(pattern=r"^[0-9a-f]{64}$")]
Currency = Annotated[str, Field(pattern=r"^[A-Z]{3}$")]  # ISO 4217
PartialDate = Annotated[str, Field(pattern=r"^[0-9]{4}(-[0-9]{2}(-[0-9]{2})?)?$"), Partial()]
Day = date
Moment = datetime
Year = Annotated[int, Field(ge=-5000, le=2200), Unit("year, below 0 for BCE")]
Percent = Annotated[float, Field(ge=0, le=100, allow_inf_nan=False), Unit("%")]
SHARE = Unit("share of 1")
Share = Annotated[float, Field(ge=0, le=1, allow_inf_nan=False), SHARE]
Millimetres = Annotated[float, Field(gt=0, le=100_000, allow_inf_nan=False), Unit("mm")]
SquareMillimetres = Annotated[float, Field(gt=0, le=1e10, allow_inf_nan=False), Unit("mm²")]
Grams = Annotated[float, Field(gt=0, le=1e8, allow_inf_nan=False), Unit("g")]
Celsius = Annotated[float, Field(ge=-90, le=100, allow_inf_nan=False), Unit("°C")]
Lux = Annotated[float, Field(ge=0, le=200_000, allow_inf_nan=False), Unit("lx")]
Hours = Annotated[float, Field(ge=0, le=1e5, allow_inf_nan=False), Unit("h")]
Days = Annotated[float, Field(ge=0, le=1e4, allow_inf_nan=False), Unit("d")]
Years = Annotated[float, Field(gt=0, le=1e5, allow_inf_nan=False), Unit("year")]
Months = Annotated[float, Field(gt=0, le=1200, allow_inf_nan=False), Unit("month")]
Minutes = Annotated[float, Field(ge=0, le=1e5, allow_inf_nan=False), Unit("min")]
Count = Annotated[int, Field(ge=1, le=1_000_000), Unit("pieces")]
Money = Annotated[
    Decimal, Field(ge=0, max_digits=18, decimal_places=2, allow_inf_nan=False), Unit("currency beside it")
]
Number = Annotated[float, Field(allow_inf_nan=False)]
