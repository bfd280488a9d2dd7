"""Which heading means which column, in which unit, and what a file writes for *unknown*: shown, edited, reused."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from collection.validation.cell_values import Verdict, judge_cell
from collection.validation.conventions import Conventions, parse_order
from collection.validation.spelling import plain
from schemas.records import house
from schemas.tables import RECORDS

# Headings whose text is read for several columns at once; they are targets of a mapping beside an object's own columns.
PROSE = ("materials_text", "classification_text", "date_text", "dimensions_text", "object_type_text", "location_text")
KEEP = "keep"  # the target of a heading whose cells become further facts of the object
JOINED = (*PROSE, "description", "period_text", KEEP)  # several headings may fill one of these
TAKE_ANYWAY = "take_anyway"  # where a person overrules the reading *outside this collection*
OBJECT = RECORDS["object"].name
IGNORED = ""  # the target of a heading that is left out
# The register writes its other records itself: no file brings them in.
BROUGHT_IN = tuple(
    name for name, spec in RECORDS.items() if spec.model.__module__ != house.__name__ or name == house.Setting.record
)
LONGEST_EXAMPLE, EXAMPLES = 40, 3
SINGLE_ANSWERS = ("name", "zone", "order", "temperature", "humidity")


@dataclass(frozen=True)
class LoggerAnswers:
    """What a person said of a file that a logger wrote; empty where nothing had to be asked.

    `names`: of columns or rows, to loggers; `places`: of loggers, to places. `of`: the loggers it was said of, `day`:
    when.
    """

    name: str = ""
    zone: str = ""
    order: str = ""
    temperature: str = ""
    humidity: str = ""
    names: Mapping[str, str] = field(default_factory=dict)
    places: Mapping[str, str] = field(default_factory=dict)
    of: tuple[str, ...] = ()
    day: str = field(default="", compare=False)

    @property
    def habits(self) -> tuple[str, ...]:
        """What a logger goes on doing from file to file."""
        return (self.zone, self.order, self.temperature, self.humidity)

    @classmethod
    def joined(cls, several: Sequence["LoggerAnswers"]) -> "LoggerAnswers":
        """What was said for several sheets, as one."""
        single: dict[str, Any] = {n: next((v for a in several if (v := getattr(a, n))), "") for n in SINGLE_ANSWERS}
        names, places = ({k: v for a in several for k, v in getattr(a, n).items()} for n in ("names", "places"))
        return cls(**single, names=names, places=places)

    def filled_from(self, earlier: "LoggerAnswers") -> "LoggerAnswers":
        """These answers, and the earlier ones where nothing was said this time."""
        habits = ("zone", "order", "temperature", "humidity")
        filled: dict[str, Any] = {n: getattr(self, n) or getattr(earlier, n) for n in habits}
        return replace(self, **filled, places={**earlier.places, **self.places})

    def in_words(self) -> str:
        """What was said: *zone UTC, order dd/mm/yyyy, T1 in L2*; empty where nothing was."""
        single = [f"{name} {value}" for name in SINGLE_ANSWERS if (value := getattr(self, name))]
        names = [f"{written} is {logger}" for written, logger in self.names.items()]
        return ", ".join([*single, *names, *(f"{logger} in {place}" for logger, place in self.places.items())])

    def with_answer(self, key: Sequence[str], value: str) -> "LoggerAnswers":
        """These answers and one more; `key`: the name of the answer, and of what it is about where that is needed."""
        name, *of = key
        filled: dict[str, Any] = {name: {**getattr(self, name), of[0]: value} if of else value}
        return replace(self, **filled)


@dataclass(frozen=True)
class ColumnMap:
    """`columns`: heading to column (empty: left out); the rest by column.

    `words`: what a cell says to the value it stands for; `same`: one value for every row, of a column that the file
    does not have; `ticks`: headings under which a mark means a damage of a kind.

    `passed_over`: headings that mean a column which another heading fills already. `remembered`: the day on which
    this mapping was used before, where it was found again and not suggested anew.
    """

    record: str
    columns: Mapping[str, str]
    units: Mapping[str, str] = field(default_factory=dict)
    orders: Mapping[str, str] = field(default_factory=dict)  # of dates, such as dd/mm/yyyy
    unknown: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    decimal_comma: tuple[str, ...] = ()
    encoding: str = ""
    passed_over: Mapping[str, str] = field(default_factory=dict, compare=False)
    remembered: str = field(default="", compare=False)
    logger: LoggerAnswers | None = None  # of a file that a logger wrote
    words: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
    same: Mapping[str, str] = field(default_factory=dict)
    ticks: Mapping[str, str] = field(default_factory=dict)  # by heading
    text: str = field(default="", compare=False)  # of the file a person wrote it in, with its comments

    def filled(self) -> set[str]:
        """Columns that a heading or one value for every row fills."""
        return {*self.columns.values(), *self.same} - {IGNORED}

    def headings_of(self, column: str) -> list[str]:
        """Headings that fill this column, in the order of the file."""
        return [heading for heading, target in self.columns.items() if target == column]

    def ignored(self) -> list[str]:
        """Headings that are left out."""
        return [heading for heading, target in self.columns.items() if not target and heading not in self.ticks]

    def conventions(self) -> Conventions:
        """How the file writes its numbers and dates. Raises ValueError for an order that is none."""
        orders = {column: parse_order(written) for column, written in self.orders.items() if written}
        return Conventions(self.units, orders, self.unknown, self.decimal_comma)

    def with_columns(self, columns: Mapping[str, str]) -> "ColumnMap":
        """The mapping with these headings."""
        return replace(self, columns=columns)


def targets(record: str) -> tuple[str, ...]:
    """Every column a heading may be mapped to."""
    own = tuple(c.name for c in RECORDS[record].columns)
    return own + ((*PROSE, TAKE_ANYWAY, KEEP) if record == OBJECT else ())


TICKED = (OBJECT, RECORDS["condition_check"].name)  # records a mark may tell a damage of
DAMAGE = RECORDS["damage"]


def damage_of_tick(target: str) -> Verdict:
    """The kind of damage that `damage:KIND` names, or what was expected there."""
    record, _, kind = (part.strip() for part in target.partition(":"))
    if plain(record) != DAMAGE.name or not kind:
        return Verdict(rule="unknown_term", expected=f"{DAMAGE.name}: and a kind of damage")
    return judge_cell(DAMAGE, DAMAGE.column("kind"), kind)
