"""Single cells that the fast expressions did not take: units beside numbers, labels of terms, pydantic's own judgement.

Each distinct text is judged once; what comes out is a value, or the rule that was broken and what was expected.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from decimal import Decimal
from functools import cache
from typing import Annotated, Any

from pydantic import TypeAdapter, ValidationError

from collection.validation.conventions import factor_of, is_date, is_number, number_and_unit, unit_factors, units_named
from collection.validation.spelling import plain
from schemas.fields import SHARE, FromVocabulary, Unit
from schemas.tables import RECORDS, Column, TableSpec
from schemas.vocabularies import load_parameters, vocabulary

BETWEEN = ";"
A_DAY = re.compile(r"^\d{4}-\d{2}-\d{2}")
TERMS_SHOWN = 12
CENT = Decimal("0.01")
NEAR_ENOUGH = 75  # of 100: how alike a word must be to be suggested


@dataclass(frozen=True)
class Verdict:
    """`value` where `rule` is empty; else the rule broken and what was expected (None: the rule's own words)."""

    value: Any = None
    rule: str = ""
    expected: str | None = None


def judge_cell(spec: TableSpec, column: Column, text: str) -> Verdict:
    """Judge one text that is not empty."""
    if term := column.mark(FromVocabulary):
        return _as_terms(text, term.vocabulary) if column.several else _as_term(text, term.vocabulary)
    unit = column.mark(Unit)
    if unit and unit.symbol == SHARE.symbol and (share := load_parameters("lines")["share_words"].get(plain(text))):
        return Verdict(float(share))
    if unit and unit.symbol in unit_factors() and (parts := number_and_unit(text)):
        return _with_unit(spec, column, text, parts, unit.symbol)
    if column.dtype.is_temporal() and not A_DAY.match(text):
        return Verdict(rule="impossible_date")  # pydantic would take a bare number for seconds since 1970
    return _by_pydantic(spec, column, text)


@cache
def term_words(name: str) -> Mapping[str, str]:
    """What a person may write for each term, plain: the term, its label, and further words it lists."""
    words: dict[str, str] = {}
    for key, entry in vocabulary(name).term.items():
        for word in (key, entry.label, *getattr(entry, "words", ())):
            words.setdefault(plain(word), key)
    return words


def _as_term(text: str, name: str) -> Verdict:
    key = term_words(name).get(plain(text))
    return Verdict(key) if key else Verdict(rule="unknown_term", expected=_near(text, name))


def _as_terms(text: str, name: str) -> Verdict:
    verdicts = [_as_term(part, name) for part in text.split(BETWEEN) if part.strip()]
    wrong = next((v for v in verdicts if v.rule), None)
    return wrong or Verdict([v.value for v in verdicts] or None)


def _near(text: str, name: str) -> str:
    from rapidfuzz import process  # few cells ask, and every command would wait for it

    words, terms = term_words(name), list(vocabulary(name).term)
    close = process.extractOne(plain(text), list(words), score_cutoff=NEAR_ENOUGH)
    if close:
        return f"a term of {name}; did you mean '{words[close[0]]}'?"
    return f"one of {', '.join(terms[:TERMS_SHOWN])}" + (", ..." if len(terms) > TERMS_SHOWN else "")


def _with_unit(spec: TableSpec, column: Column, text: str, parts: tuple[str, str], symbol: str) -> Verdict:
    number, unit = parts
    factor = factor_of(unit, symbol)
    if factor is None:
        whole = _by_pydantic(spec, column, text)
        worded = whole.rule and unit.replace(" ", "").isalpha()
        return Verdict(rule="unknown_unit", expected=f"one of {units_named(symbol)}") if worded else whole
    judged = _by_pydantic(spec, column, number)
    return judged if judged.rule else _by_pydantic(spec, column, repr(float(judged.value) * factor))


def _by_pydantic(spec: TableSpec, column: Column, text: str) -> Verdict:
    try:
        value = _adapter(spec.name, column.name).validate_python(text)
    except ValidationError as error:
        message = error.errors()[0]["msg"]
        return Verdict(rule=_rule_of(column), expected=message[:1].lower() + message[1:])
    if isinstance(value, Decimal):
        value = value.quantize(CENT)  # 0e-40 is a number too
    zoned = isinstance(value, datetime) and value.tzinfo is not None
    return Verdict(value.astimezone(UTC).replace(tzinfo=None) if zoned else value)


@cache
def _adapter(record: str, name: str) -> TypeAdapter[Any]:
    info = RECORDS[record].model.model_fields[name]
    noted: Any = info.annotation
    for note in info.metadata:
        noted = Annotated[noted, note]
    return TypeAdapter(noted)


def _rule_of(column: Column) -> str:
    if is_date(column):
        return "impossible_date"
    if is_number(column):
        return "impossible_number"
    return "wrong_form"
