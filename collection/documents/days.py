"""Days as a document prints them: in words, no more exact than they are known."""

from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

from collection.questions.words import day_in_words

YEAR_MONTH, WHOLE_DAY = 2, 3  # parts of a partial date


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
