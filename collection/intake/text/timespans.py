"""Spans of years and how they combine. Years BCE are negative and there is no year 0; None is open."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from collection.intake.text.lexicon import Token
from schemas.vocabularies import vocabulary

LATEST_YEAR = 2100  # a larger number is no year
LAST_CENTURY = 21
SIGNS = frozenset({"-", "/", "~"})  # from … to
_SILENT = frozenset({".", ",", "(", ")", "[", "]", "'", '"', "?", "&", "+", "*", "="})
_ROMAN = re.compile(r"^(x{0,2})(ix|iv|v?i{0,3})$")
_VALUES: Mapping[str, int] = {"i": 1, "v": 5, "x": 10}
_NEAR = 12  # tokens within which the century word of several ordinals follows
Tokens = Sequence[Token]


def ordinal_at(tokens: Tokens, place: int) -> int | None:
    """The century a written or Roman numeral names, where a century word follows, or stands before it: `s. XVI`."""
    value = tokens[place].value("ordinal")
    number = int(value) if value else roman(tokens[place])
    return number if number and (century_word(tokens, place + 1) or _century_before(tokens, place)) else None


def roman(token: Token) -> int | None:
    """The value of a Roman numeral up to 29, with the ordinal letters that languages add to it."""
    text = token.text.lower()
    stems = [text, *(text[: -len(end)] for end in ("eme", "ème", "er", "e", "o") if text.endswith(end))]
    if token.is_a("role", "part"):
        return None
    return next((_roman_value(stem) for stem in stems if stem and _ROMAN.match(stem)), None)


def _roman_value(text: str) -> int:
    values = [_VALUES[letter] for letter in text]
    return sum(-v if v < n else v for v, n in zip(values, [*values[1:], 0], strict=True))


def _century_before(tokens: Tokens, place: int) -> bool:
    """Whether a century word stands before: at once, or before further numerals with range signs between them."""
    word = place - 1
    while word >= 0 and (
        tokens[word].text in SIGNS | {"."} or tokens[word].value("role") == "range" or roman(tokens[word]) is not None
    ):
        word -= 1
    return word >= 0 and tokens[word].value("role") == "century" and not after_ordinal(tokens, word)


def century_word(tokens: Tokens, place: int) -> bool:
    """Whether a century word follows: at once, or behind further ordinals, parts and range signs."""
    for at in range(place, min(place + _NEAR, len(tokens))):
        token, role = tokens[at], tokens[at].value("role")
        if role == "century" or (role == "circa_or_century" and after_ordinal(tokens, at)):
            return True
        passed = token.text in SIGNS | _SILENT or role in {"range", "circa"} or token.is_a("part", "suffix", "ordinal")
        short = token.text.isdigit() and len(token.text) <= len(str(LAST_CENTURY))
        if not (passed or short or roman(token) is not None):
            return False
    return False


def century_ahead(tokens: Tokens, place: int) -> bool:
    """Whether a number or numeral follows before the next semicolon."""
    for token in tokens[place + 1 :]:
        if token.text == ";":
            return False
        if token.text.isdigit() or roman(token) is not None:
            return True
    return False


def after_ordinal(tokens: Tokens, place: int) -> bool:
    """Whether an ordinal or its ending stands before `place`: then `c.` means century."""
    return place > 0 and tokens[place - 1].is_a("suffix", "ordinal")


def is_hundreds(tokens: Tokens, place: int) -> bool:
    """`1870s`, `1760er`, `1600-tal`: an ending that makes a number a decade or a hundred years."""
    after = tokens[place + 1 : place + 3]
    glued = bool(after) and after[0].start == tokens[place].end
    if not glued:
        return False
    plain = after[0].value("role") == "hundreds" or (after[0].is_a("decade") and int(tokens[place].text) >= CENTURY)
    return plain or _hyphened(after)


def _hyphened(after: Tokens) -> bool:
    return len(after) == 2 and (
        (after[0].text == "-" and after[1].value("role") == "hundreds")
        or (after[0].text in {"-", "'"} and after[1].is_a("decade") and after[1].start == after[0].end)
    )


def ending_unknown(tokens: Tokens, place: int) -> bool:
    """`1500-luku`: an ending that no language file knows; what it makes of the number is not known either."""
    after = tokens[place + 1 : place + 3]
    glued = len(after) == 2 and after[0].start == tokens[place].end and after[1].start == after[0].end
    return glued and after[0].text == "-" and after[1].text.isalpha() and not after[1].senses


def past_hundreds(tokens: Tokens, place: int) -> int:
    """The place of the last token of the ending behind the number at `place`."""
    while place + 1 < len(tokens) and (
        tokens[place + 1].value("role") == "hundreds"
        or tokens[place + 1].is_a("decade")
        or _hyphened(tokens[place + 1 : place + 3])
    ):
        place += 1
    return place


def hundreds_ahead(tokens: Tokens, place: int) -> bool:
    """`1600-1700-tal`: the word for hundreds stands once, after the second number."""
    ahead = tokens[place + 1 : place + 5]
    return (
        int(tokens[place].text) % CENTURY == 0
        and len(ahead) == 4
        and ahead[0].text in SIGNS
        and ahead[1].text.isdigit()
        and _hyphened(ahead[2:])
    )


def decade_word(tokens: Tokens, place: int) -> bool:
    """`années 1870`: a word before the number makes it a decade."""
    return any(t.value("role") == "decade_before" for t in tokens[max(0, place - 2) : place])


def is_year(tokens: Tokens, place: int) -> bool:
    """Whether the number is a year: three or four digits, or any beside an era."""
    number = int(tokens[place].text)
    if era_near(tokens, place):
        return number > 0
    return CENTURY <= number <= LATEST_YEAR


def era_near(tokens: Tokens, place: int) -> bool:
    """Whether BC or AD stands beside the number, or BC soon after it as in `664-332 BC`."""
    around = [*tokens[max(0, place - 1) : place], *tokens[place + 1 : place + 5]]
    return any(t.value("role") in {"bc", "ad"} for t in around[:2]) or any(t.value("role") == "bc" for t in around)


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
