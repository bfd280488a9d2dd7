"""What a person has to say before a file of a logger can be read, and which logger and place a name means."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from zoneinfo import available_timezones

import polars as pl

from collection.climate.clock import is_zone
from collection.intake.loggers.values import UNITS
from collection.intake.loggers.words import HUMIDITY, TEMPERATURE, bare_name, heading, unit_of, zone_minutes
from collection.intake.mapping.mapping import LoggerAnswers
from collection.validation.conventions import parse_order

NO_PLACE = "-"  # an answer: readings that belong to no place
EXAMPLES = 3
SIGNS = {TEMPERATURE: ("°C", "°F", "K"), HUMIDITY: ("%", "share")}  # each a word that `unit_of` knows


@dataclass(frozen=True)
class Question:
    """`key`: the entry of the mapping that answers it, from `[logger]` on; `examples`: what stands in the file;
    `choices`: the answers there are, where they can be listed."""

    key: tuple[str, ...]
    words: str
    examples: tuple[str, ...] = ()
    choices: tuple[str, ...] = ()

    def __str__(self) -> str:
        shown = f" (such as {', '.join(self.examples)})" if self.examples else ""
        return f"{self.words}{shown}"


@dataclass(frozen=True)
class Named:
    """The logger a name means and its place (None: readings of no place), with what has to be asked."""

    logger_id: str
    location_id: str | None
    questions: tuple[Question, ...] = ()


@dataclass(frozen=True)
class Places:
    """The places of the register (location_id, name, logger_id), and what was answered for loggers before."""

    locations: pl.DataFrame
    answered: Mapping[str, LoggerAnswers] = field(default_factory=dict)

    def before(self, loggers: Iterable[str]) -> LoggerAnswers:
        """What was last answered for these loggers, where it was the same for all."""
        earlier = [self.answered[name] for name in loggers if name in self.answered]
        return earlier[0] if earlier and all(e.habits == earlier[0].habits for e in earlier) else LoggerAnswers()

    def named(self, name: str, answers: LoggerAnswers) -> Named:
        """The logger and the place of a name that stands in a file."""
        logger = answers.names.get(name, name)
        if not self.knows(logger) and (self.knows(bare_name(logger)) or heading(logger).kind == "logger"):
            logger = bare_name(logger)
        mine = self._where("logger_id", logger)
        if logger in answers.places:
            place = answers.places[logger]
            return Named(mine[0][1] if mine else logger, None if place == NO_PLACE else place)
        if len(mine) == 1:
            return Named(mine[0][1], mine[0][0])
        if len(mine) > 1:
            return Named(logger, None, (self._where_is(logger, f"{len(mine)} places name logger {logger}", mine),))
        here = self._where("location_id", logger) or self._where("name", logger)
        if len(here) == 1:
            place, own = here[0]
            return Named(own or logger, place)
        return Named(logger, None, (self._where_is(logger, f"no place names logger {logger}", here),))

    def knows(self, name: str) -> bool:
        """The name is that of a logger or a place of the register."""
        return bool(name) and any(self._where(c, name) for c in ("logger_id", "location_id", "name"))

    def _where(self, column: str, value: str) -> list[tuple[str, str]]:
        same = pl.col(column).str.strip_chars().str.to_lowercase() == value.strip().lower()
        return self.locations.filter(same).select("location_id", "logger_id").rows()

    def _where_is(self, logger: str, why: str, candidates: Iterable[tuple[str, str]]) -> Question:
        words = f"{why}: in which place did it measure? Its short name, or {NO_PLACE} for none"
        every = (NO_PLACE, *self.locations["location_id"].drop_nulls())
        return Question(("places", logger), words, tuple(place for place, _ in candidates), every)


def zone_question(suggested: str, examples: tuple[str, ...]) -> Question:
    """The zone of a clock that says none."""
    house = f"; the house lives in {suggested}" if suggested else ""
    words = (
        f"the times name no zone: which did the logger's clock keep? A zone such as Europe/London, or UTC, UTC+1{house}"
    )
    return Question(("zone",), words, examples, tuple(sorted(available_timezones())))


def order_question(orders: tuple[str, ...], examples: tuple[str, ...]) -> Question:
    """The order of day and month where the dates prove none."""
    names = {"dmy": "dd/mm/yyyy", "mdy": "mm/dd/yyyy", "ymd": "yyyy/mm/dd"}
    asked = tuple(names[o] for o in orders)
    return Question(("order",), f"day and month cannot be told apart: {' or '.join(asked)}?", examples, asked)


def unit_question(quantity: str, examples: tuple[str, ...]) -> Question:
    """The unit of a quantity that no heading, cell or size of the values states."""
    words = {
        TEMPERATURE: "the temperature has no unit: °C, °F or K?",
        HUMIDITY: "the relative humidity never exceeds 1: is it a share of 1, or %?",
    }
    return Question((quantity,), words[quantity], examples, SIGNS[quantity])


def faults_of_answers(answers: LoggerAnswers) -> Iterator[tuple[str, str]]:
    """What is wrong with answers, and what was expected."""
    if answers.zone and not is_zone(answers.zone) and zone_minutes(answers.zone) is None:
        yield f"'{answers.zone}' is no time zone", "a zone of the time zone database, such as Europe/Berlin, or UTC+1"
    for quantity, written in ((TEMPERATURE, answers.temperature), (HUMIDITY, answers.humidity)):
        if written and unit_of(written)[0] != quantity:
            yield f"'{written}' is no unit of {quantity}", ", ".join(UNITS[quantity])
    if answers.order and not order_letters(answers.order):
        yield f"'{answers.order}' is no order of day, month and year", "dd/mm/yyyy, mm/dd/yyyy or yyyy/mm/dd"


def order_letters(written: str) -> str:
    """`dmy` for `dd/mm/yyyy`; empty where it is no order."""
    try:
        return "".join(part[0] for part in parse_order(written).parts)
    except ValueError:
        return ""
