"""What a record holds, as a reader's words: terms by their labels, figures with their units, days as they are known.

Where something is on an object, and how large, is said alike in every table of a document.
"""

from collections.abc import Iterable, Mapping
from datetime import UTC, date, datetime
from typing import Any
from zoneinfo import ZoneInfo

from collection.documents.words import label, say
from collection.questions.words import day_in_words
from schemas.fields import FromVocabulary, Unit
from schemas.records.catalogue import WHOLE
from schemas.tables import RECORDS
from schemas.vocabularies import vocabulary

Row = Mapping[str, Any]
FEW = 100  # from here on one decimal is enough
MANY = 10_000  # from here on thousands are set apart
TOGETHER = "\u00a0"  # a figure and its unit stay on one line
YEAR_MONTH, WHOLE_DAY = 2, 3  # parts of a partial date


def term(record: str, column: str, value: Any) -> str:
    """Label of a term; a word the vocabulary lacks stands as it is, nothing is empty."""
    mark = RECORDS[record].column(column).mark(FromVocabulary)
    if value is None or mark is None:
        return ""
    known = vocabulary(mark.vocabulary).term
    return "; ".join(known[v].label if v in known else v for v in ([value] if isinstance(value, str) else value))


def figure(value: float | int | None) -> str:
    """A number without decimals nobody measured."""
    if value is None:
        return ""
    if abs(value) < 1:
        return f"{value:.3g}"
    shown = f"{value:.2f}" if abs(value) < FEW else f"{value:{',' if abs(value) >= MANY else ''}.1f}"
    return shown.rstrip("0").rstrip(".")


def rough(value: float | None) -> str:
    """An error: two figures, never more."""
    return "" if value is None else figure(float(f"{value:.2g}"))


def quantity(record: str, column: str, value: float | None) -> str:
    """A number with the unit of its column."""
    mark = RECORDS[record].column(column).mark(Unit)
    return "" if value is None else joined(figure(value), mark.symbol if mark else "", by=TOGETHER)


def part(name: str | None) -> str:
    """Name of a part; the whole is called so."""
    return say("whole") if name in (None, WHOLE) else str(name)


def yes_no(value: bool | None) -> str:
    """Yes, no, or not recorded."""
    return say("not_said") if value is None else say("yes" if value else "no")


def joined(*parts: str | None, by: str = ", ") -> str:
    """Those parts that say something."""
    return by.join(p for p in parts if p)


def facts(*pairs: tuple[str, str | None]) -> tuple[Mapping[str, str], ...]:
    """Rows of a block of facts; a fact that says nothing is left out."""
    return tuple({"key": key, "label": label(key), "text": value} for key, value in pairs if value)


def always(*pairs: tuple[str, str | None]) -> tuple[Mapping[str, str], ...]:
    """Rows of a block of facts; a fact that says nothing is printed as not recorded, with a rule to write on."""
    return tuple(
        {"key": key, "label": label(key), "text": value or say("not_said"), "blank": "" if value else "yes"}
        for key, value in pairs
    )


def to_write(*keys: str) -> tuple[Mapping[str, str], ...]:
    """Rows of a block of lines to be written by hand."""
    return tuple({"key": key, "label": label(key)} for key in keys)


def paragraphs(sentences: Iterable[str | None]) -> tuple[Mapping[str, str], ...]:
    """Rows of a block of text."""
    return tuple({"text": sentence} for sentence in sentences if sentence)


def coded(**values: object) -> dict[str, str]:
    """What machines read beside the printed text: terms and figures as kept, those that are there."""
    return {f"{key}_kept": str(value) for key, value in values.items() if value is not None}


def day_words(value: date | str | None) -> str:
    """*10 September 2026*, *September 2026*, *2026*; a text that is no date stands as it is; empty for None."""
    if value is None:
        return ""
    if isinstance(value, date):
        return day_in_words(value)
    parts = value.split("-")
    try:
        if len(parts) == WHOLE_DAY:
            return day_in_words(date.fromisoformat(value))
        return f"{date(int(parts[0]), int(parts[1]), 1):%B %Y}" if len(parts) == YEAR_MONTH else value
    except ValueError:
        return value


def moment_words(value: datetime, zone: str) -> str:
    """*1 September 2026, 11:00 (Europe/London)*: a moment kept in UTC, in the museum's own zone where it is set."""
    there = value.replace(tzinfo=UTC).astimezone(ZoneInfo(zone) if zone else UTC)
    return f"{day_in_words(there.date())}, {there:%H:%M} ({zone or 'UTC'})"


def where(row: Row) -> str:
    """Part, side and position."""
    table = "damage" if "damage_id" in row else "repair"
    place = joined(term(table, "side", row["side"]).lower(), row["position"])
    return place if place and row["part"] == WHOLE else joined(part(row["part"]), place)


def extent(row: Row, record: str) -> str:
    """Area, length and band as seen, with the error where one is known."""
    error = rough(row.get("measurement_error"))
    measured = joined(
        quantity(record, "area_mm2", row["area_mm2"]),
        quantity(record, "length_mm", row["length_mm"]) if "length_mm" in row else "",
    )
    return joined(
        f"{measured}{TOGETHER}{say('error', error=error)}" if measured and error else measured,
        term(record, "extent_band", row["extent_band"]),
    )
