"""Spans of years and how they combine. Years BCE are negative and there is no year 0; None is open."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from schemas.vocabularies import vocabulary

CENTURY, DECADE = 100, 10


@dataclass(frozen=True, slots=True)
class Span:
    """First and last year; `kind` says what was stated; `bc` is None while no era was stated."""

    first: int | None
    last: int | None
    kind: str
    bc: bool | None = None
    part: str | None = None  # term of century_part
    ordinal: int | None = None  # the century, or the bare ordinal that may be one


def year(number: int) -> Span:
    """A single year, era not yet known."""
    return Span(number, number, "year")


def century(ordinal: int, part: str | None = None) -> Span:
    """A century counted from 1: the 18th is 1701 to 1800."""
    return _parted((ordinal - 1) * CENTURY + 1, CENTURY, "century", part, ordinal)


def hundred(first: int, part: str | None = None) -> Span:
    """A century named by its first year: 1600 to 1699; there was no year 0."""
    if first == 0:
        return replace(century(1, part), part=part)
    return _parted(first, CENTURY, "century", part, first // CENTURY + 1)


def decade(first: int, part: str | None = None) -> Span:
    """Ten years from `first`."""
    return _parted(first, DECADE, "decade", part, None)


def _parted(first: int, length: int, kind: str, part: str | None, ordinal: int | None) -> Span:
    if part is None:
        return Span(first, first + length - 1, kind, None, None, ordinal)
    entry = vocabulary("century_part").term[part]
    low, high = entry.get("first"), entry.get("last")
    scale = CENTURY // length
    return Span(first + (low - 1) // scale, first + -(-high // scale) - 1, f"part_of_{kind}", None, part, ordinal)


def placed(span: Span, bc: bool | None) -> Span:
    """The span before or after our era, where it does not say so itself."""
    if not bc:
        return replace(span, bc=False) if span.bc is None and bc is False else span
    if span.first is None or span.last is None or span.bc is not None:
        return span
    if span.ordinal is None:
        return replace(span, first=-span.last, last=-span.first, bc=True)
    start = -span.ordinal * CENTURY
    offset = (span.ordinal - 1) * CENTURY + 1
    return replace(span, first=start + span.first - offset, last=start + span.last - offset, bc=True)


def ranged(left: Span, right: Span) -> Span:
    """From the start of one to the end of the other; a short or undated end borrows from its neighbour."""
    if left.bc is None and right.bc:
        left = placed(left, True)
    firsts = [s.first for s in (left, right)]
    lasts = [s.last for s in (left, right)]
    kind = left.kind if left.kind == right.kind and left.kind != "year" else "range"
    return Span(
        None if None in firsts else min(f for f in firsts if f is not None),
        None if None in lasts else max(x for x in lasts if x is not None),
        kind,
        left.bc,
    )


def joined_up(spans: Sequence[Span]) -> Span:
    """From the first of several spans to the last, in the order written."""
    joined = spans[0]
    for span in spans[1:]:
        joined = ranged(joined, span)
    return joined


def whole(spans: Sequence[Span]) -> Span:
    """The full span of several dated parts."""
    joined = joined_up(spans)
    return joined if len(spans) == 1 else replace(joined, kind="parts")


def completed(first: int, digits: str) -> int:
    """The year that `75` means after 1450; the number itself where it cannot be a shortened year."""
    base = 10 ** len(digits)
    short = first - first % base + int(digits)
    return short if len(digits) < len(str(first)) and short > first else int(digits)
