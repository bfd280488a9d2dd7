"""Damage, old repairs and a date read from a remark about condition: what is said to be there, not what is denied."""

import re
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

import polars as pl

from collection.intake.distinct import read_once
from collection.intake.languages import Languages
from collection.intake.words import Lexicon, Token, cleaned

SCHEMA: Mapping[str, Any] = {
    "kinds": pl.List(pl.String),
    "repair_materials": pl.List(pl.String),
    "dated": pl.String,
    "remark_words": pl.String,
}
FIRST_YEAR, LAST_YEAR = 1800, 2100  # years in which somebody may have written down a condition
SAID = ("damage", "repair", "repair_unnamed")
_CLAUSE_ENDS = frozenset({";", ".", ":", "\n", "!", "?"})
_REACH = 3  # unknown words a negation reaches over: `no sign of recent cracks`
_ISO = re.compile(r"(?<!\d)((?:18|19|20)\d\d)-(0[1-9]|1[0-2])(?:-(0[1-9]|[12]\d|3[01]))?(?!\d)")
_DAY = re.compile(r"(?<!\d)(\d{1,2})([./-])(\d{1,2})\2((?:18|19|20)\d\d)(?!\d)")
_YEAR = re.compile(r"(?<![\d.,])((?:18|19|20)\d\d)(?!\d|[.,]\d|s\b|-tal|er\b)")


def read_remarks(texts: pl.Series, languages: Languages) -> pl.DataFrame:
    """Damage kinds, repair materials, the date and the words of each remark, in the same order; columns `SCHEMA`.

    Terms stand in the order named, each once. The date is ISO 8601 and as coarse as written: `1986`, `1986-05`,
    `1986-05-12`; the latest if there are several. Each distinct text is read once.
    """
    asked = pl.DataFrame({"text": texts.cast(pl.String)})
    return read_once(asked, ("text",), SCHEMA, lambda row: _read(row["text"] or "", languages.remarks))


def read_damage_terms(texts: pl.Series, languages: Languages) -> pl.Series:
    """Damage kinds only, for a column that holds a word such as *chipped*: List[String] of the same length."""
    return read_remarks(texts, languages)["kinds"].alias(texts.name)


def _read(text: str, lexicon: Lexicon) -> dict[str, Any]:
    shown = cleaned(text)
    tokens = lexicon.tokens(shown)
    said = [t for t in _affirmed(tokens) if t.is_a(*SAID)]
    return {
        "kinds": _terms(said, "damage"),
        "repair_materials": _terms(said, "repair") or _terms(said, "repair_unnamed"),
        "dated": _dated(shown, tokens),
        "remark_words": ", ".join(dict.fromkeys(t.text for t in said)) or None,
    }


def _terms(tokens: Sequence[Token], kind: str) -> list[str]:
    return list(dict.fromkeys(v for t in tokens if (v := t.senses.get(kind))))


def _affirmed(tokens: Sequence[Token]) -> Iterator[Token]:
    """Tokens that no negation in their clause reaches.

    A negation reaches the next damage word and those listed with it: a comma followed by other words, or after the
    last of a list (`no cracks or chips, scratches`), ends its reach.
    """
    reach = 0
    denying = listed = False
    for place, token in enumerate(tokens):
        role = token.value("role")
        if role == "negation":
            denying, listed, reach = _denies(tokens, place), False, _REACH
        elif token.text in _CLAUSE_ENDS or role == "contrast":
            denying = False
        elif denying and token.is_a(*SAID):
            reach = 0
            continue
        elif denying and token.text == ",":
            denying = not listed and place + 1 < len(tokens) and tokens[place + 1].is_a(*SAID)
        elif role == "last_link":
            listed = True
        elif denying and role != "link":
            reach -= 1
            denying = reach >= 0
        if not token.is_a("role"):
            yield token


def _denies(tokens: Sequence[Token], place: int) -> bool:
    """A negation needs something to deny ahead: `not examined` denies no damage that a later clause names."""
    return any(t.is_a(*SAID) for t in tokens[place + 1 : place + 2 + _REACH])


def _dated(shown: str, tokens: Sequence[Token]) -> str | None:
    found = [*_iso(shown), *_days(shown), *_months(tokens)]
    years = [m.group(1) for m in _YEAR.finditer(shown)]
    known = {date[:4] for date in found}
    return max([*found, *(y for y in years if y not in known)], default=None)


def _iso(shown: str) -> Iterator[str]:
    for match in _ISO.finditer(shown):
        yield "-".join(part for part in match.groups() if part)


def _days(shown: str) -> Iterator[str]:
    """`12.5.1986`, `12/25/1986`; where day and month cannot be told apart only the year counts."""
    for match in _DAY.finditer(shown):
        one, sign, two, year = int(match[1]), match[2], int(match[3]), match[4]
        if one > 12 and 1 <= two <= 12 and one <= 31:
            yield f"{year}-{two:02}-{one:02}"
        elif two > 12 and 1 <= one <= 12 and two <= 31:
            yield f"{year}-{one:02}-{two:02}"
        elif sign == "." and 1 <= one <= 12 and 1 <= two <= 12:
            yield f"{year}-{two:02}-{one:02}"


def _months(tokens: Sequence[Token]) -> Iterator[str]:
    """`May 1986`, `12 May 1986`, `May 12, 1986`."""
    for place, token in enumerate(tokens):
        if not token.is_a("month"):
            continue
        after = [t for t in tokens[place + 1 : place + 5] if t.text not in {".", ",", "-"}][:2]
        digits = [t.text for t in after if t.text.isdigit()]
        year = next((d for d in digits if len(d) == 4 and FIRST_YEAR <= int(d) < LAST_YEAR), None)
        if year is None:
            continue
        before = next((t.text for t in reversed(tokens[max(0, place - 2) : place]) if t.text != "."), "")
        day = next((d for d in (before, digits[0]) if d.isdigit() and len(d) <= 2 and 1 <= int(d) <= 31), None)
        month = f"{year}-{int(token.value('month') or 0):02}"
        yield f"{month}-{int(day):02}" if day else month
