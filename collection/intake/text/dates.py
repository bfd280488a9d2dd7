"""Years read from a date text: single years, ranges, centuries and their parts, decades, reigns and dynasties."""

import re
from collections.abc import Iterator, Mapping, Sequence
from itertools import takewhile
from typing import Any

import polars as pl

from collection.intake.languages import Languages
from collection.intake.text.date_parser import DateParser
from collection.intake.text.distinct import map_distinct
from collection.intake.text.known_words import is_known
from collection.intake.text.lexicon import MARK, Lexicon, Token, cleaned
from collection.intake.text.timespans import Span, roman, whole
from schemas.vocabularies import vocabulary

SCHEMA: Mapping[str, Any] = {
    "earliest_year": pl.Int64,
    "latest_year": pl.Int64,
    "date_circa": pl.Boolean,
    "date_words": pl.String,
    "date_precision": pl.String,
    "no_date": pl.Boolean,
    "word_beside": pl.String,  # that no language file knows: what it makes of the number beside it is not known
}
COLUMNS = ("date_text", "period_text")
_ISO = re.compile(r"\b(\d{4})-(?:0[1-9]|1[0-2])-(?:[0-2]\d|3[01])(?:T\S*)?\b")
_BETWEEN = frozenset({".", "-", "'", '"', "(", "["})
_FAR = 4  # tokens beside a number within which a word may be about it
_SHORT_DAY = re.compile(r"(?<![\d-])(\d{4})-(?:\d-[0-3]?\d|[01]\d-\d)(?![\d-])")  # 2020-1-5 is a day, no range
_DAY = re.compile(r"(?<!\d)(?:[0-3]?\d[./-])[01]?\d[./-](\d{4})\b")


def read_dates(texts: pl.DataFrame, languages: Languages) -> pl.DataFrame:
    """Earliest and latest year of each row of `texts`, in the same order; columns `SCHEMA`.

    `texts`: `date_text` and optionally `period_text` as String; the latter counts only where the former gives no year.
    Years BCE are negative. A word that no language file knows beside a number stands in `word_beside`: the years are in
    doubt. Each distinct pair is read once.
    """
    return map_distinct(texts, COLUMNS, SCHEMA, lambda row: _read(row["date_text"], row["period_text"], languages))


def _read(date: str | None, period: str | None, languages: Languages) -> dict[str, Any]:
    row = _text(date, languages) if date else None
    row = row or (_text(period, languages) if period else None) or _row(None, False, "")
    empty = row["earliest_year"] is None and row["latest_year"] is None
    return row | {"no_date": empty and bool(date) and _says_no_date(date or "", languages.dates)}


def _says_no_date(text: str, lexicon: Lexicon) -> bool:
    """The words say that there is no date."""
    return any(t.value("role") == "no_date" for t in lexicon.tokens(cleaned(text)))


def _text(text: str, languages: Languages) -> dict[str, Any] | None:
    shown = _SHORT_DAY.sub(r"\1", cleaned(text))
    shown = _DAY.sub(r"\1", _ISO.sub(r"\1", shown))
    tokens = languages.dates.tokens(shown.replace("\n", " ; "))
    line = DateParser(tokens)
    spans = line.spans()
    eras = [] if spans else _eras(tokens)
    if not spans and not eras:
        return None
    near = next((tokens[i].text for i in _words_near_numbers(tokens) if _says_nothing(tokens[i], languages)), None)
    row = _row(whole(spans or eras), line.circa, " ".join(shown.split()))
    return row | {"word_beside": near}


def _says_nothing(token: Token, languages: Languages) -> bool:
    """A word that no language file knows, in dates or elsewhere."""
    word = token.text
    return word.isalpha() and not token.senses and roman(token) is None and not is_known(word, languages.known_words)


def _words_near_numbers(tokens: Sequence[Token]) -> Iterator[int]:
    """Places of the words beside a number, up to the next sign or the next word that means something in a date."""
    for place, token in enumerate(tokens):
        if token.text.isdigit():
            yield from _words_from(tokens, range(place - 1, -1, -1))
            yield from _words_from(tokens, range(place + 1, len(tokens)))


def _words_from(tokens: Sequence[Token], places: Sequence[int]) -> Iterator[int]:
    words = [i for i in places[:_FAR] if tokens[i].text not in _BETWEEN]
    for i in takewhile(lambda i: tokens[i].text.isalpha(), words):
        yield i
        if set(tokens[i].senses) - {MARK} and tokens[i].value("role") != "range":
            return


def _row(span: Span | None, circa: bool, words: str) -> dict[str, Any]:
    if span and 0 in (span.first, span.last):  # there was no year 0: what names it is not read
        span = None
    first, last = (span.first, span.last) if span else (None, None)
    if first is not None and last is not None and first > last:
        first, last = last, first
    return {
        "earliest_year": first,
        "latest_year": last,
        "date_circa": circa,
        "date_words": words or None,
        "date_precision": _precision(span, first, last),
        "word_beside": None,
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
