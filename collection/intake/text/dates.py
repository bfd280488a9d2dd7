"""Years read from a date text: single years, ranges, centuries and their parts, decades, reigns and dynasties."""

import re
import unicodedata
from collections.abc import Mapping, Sequence
from itertools import pairwise
from typing import Any

import polars as pl

from collection.intake.languages import Languages
from collection.intake.text.date_parser import DateParser
from collection.intake.text.lexicon import Lexicon, Token, cleaned, map_distinct
from collection.intake.text.timespans import Span, whole
from schemas.vocabularies import vocabulary

SCHEMA: Mapping[str, Any] = {
    "earliest_year": pl.Int64,
    "latest_year": pl.Int64,
    "date_circa": pl.Boolean,
    "date_words": pl.String,
    "date_precision": pl.String,
    "no_date": pl.Boolean,
}
COLUMNS = ("date_text", "period_text")
_ISO = re.compile(r"\b(\d{4})-(?:0[1-9]|1[0-2])-(?:[0-2]\d|3[01])(?:T\S*)?\b")
_SHORT_DAY = re.compile(r"(?<![\d-])(\d{4})-(?:\d-[0-3]?\d|[01]\d-\d)(?![\d-])")  # 2020-1-5 is a day, no range
_DAY = re.compile(r"(?<!\d)(?:[0-3]?\d[./-])[01]?\d[./-](\d{4})\b")


def read_dates(texts: pl.DataFrame, languages: Languages) -> pl.DataFrame:
    """Earliest and latest year of each row of `texts`, in the same order; columns `SCHEMA`.

    `texts`: `date_text` and optionally `period_text` as String; the latter counts only where the former gives no year.
    Years BCE are negative. Each distinct pair is read once.
    """
    return map_distinct(
        texts, COLUMNS, SCHEMA, lambda row: _read(row["date_text"], row["period_text"], languages.dates)
    )


def _read(date: str | None, period: str | None, lexicon: Lexicon) -> dict[str, Any]:
    row = _text(date, lexicon) if date else None
    row = row or (_text(period, lexicon) if period else None) or _row(None, False, "")
    empty = row["earliest_year"] is None and row["latest_year"] is None
    return row | {"no_date": empty and bool(date) and _says_no_date(date or "", lexicon)}


def _says_no_date(text: str, lexicon: Lexicon) -> bool:
    """The words say that there is no date."""
    return any(t.value("role") == "no_date" for t in lexicon.tokens(cleaned(text)))


def _text(text: str, lexicon: Lexicon) -> dict[str, Any] | None:
    shown = _SHORT_DAY.sub(r"\1", cleaned(text))
    shown = _DAY.sub(r"\1", _ISO.sub(r"\1", shown))
    tokens = lexicon.tokens(shown.replace("\n", " ; "))
    line = DateParser(tokens)
    spans = line.spans()
    eras = [] if spans else _eras(tokens)
    if not spans and not eras:
        return None
    doubtful = line.circa or _near_unknown_letters(tokens)
    return _row(whole(spans or eras), doubtful, " ".join(shown.split()))


def _near_unknown_letters(tokens: Sequence[Token]) -> bool:
    """A word in letters that no language here writes stands beside a number: what it makes of it is not known."""
    return any(
        number.text.isdigit() and not word.senses and _foreign(word.text)
        for first, second in pairwise(tokens)
        for number, word in ((first, second), (second, first))
    )


def _foreign(word: str) -> bool:
    return word.isalpha() and not any(unicodedata.name(letter, "").startswith("LATIN") for letter in word)


def _row(span: Span | None, circa: bool, words: str) -> dict[str, Any]:
    first, last = (span.first, span.last) if span else (None, None)
    if first is not None and last is not None and first > last:
        first, last = last, first
    return {
        "earliest_year": first,
        "latest_year": last,
        "date_circa": circa,
        "date_words": words or None,
        "date_precision": _precision(span, first, last),
    }


def _precision(span: Span | None, first: int | None, last: int | None) -> str:
    if span is None:
        return "undated"
    if first is None or last is None:
        return "open_ended"
    return "range" if span.kind == "year" and first != last else span.kind


def _eras(tokens: Sequence[Token]) -> list[Span]:
    """Reigns and dynasties named; one that encloses another named one is left out."""
    terms = vocabulary("period").term
    named = [terms[t.value("period") or ""] for i, t in enumerate(tokens) if t.is_a("period") and _counts(tokens, i)]
    spans = [(entry.get("first"), entry.get("last")) for entry in named]
    inner = [s for s in spans if not any(o != s and s[0] <= o[0] and o[1] <= s[1] for o in spans)]
    return [Span(first, last, "period") for first, last in dict.fromkeys(inner)]


def _counts(tokens: Sequence[Token], place: int) -> bool:
    """A style is no date; a name that is also a style or a people needs a word like reign or period beside it."""
    near = [t.value("role") for t in (*tokens[max(0, place - 2) : place], *tokens[place + 1 : place + 3])]
    if "style" in near:
        return False
    needs = vocabulary("period").term[tokens[place].value("period") or ""].get("named_with")
    return not needs or "era" in near
