"""What a remark tells of condition: damage, old repairs, a grade, a day; what it says is there, not what it denies."""

import re
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

import polars as pl

from collection.intake.languages import Languages
from collection.intake.text.damage_words import (
    ACTIVITY,
    CLAUSE_ENDS,
    LACKING,
    REMAINS,
    UNSAID,
    WET,
    WORN,
    activities,
    certain,
    moving,
    wet_glass,
    with_what_is_missing,
)
from collection.intake.text.distinct import map_distinct
from collection.intake.text.lexicon import Lexicon, Token, cleaned
from schemas.vocabularies import vocabulary

SCHEMA: Mapping[str, Any] = {
    "kinds": pl.List(pl.String),
    "activities": pl.List(pl.String),  # of the kinds, in their order
    "repair_materials": pl.List(pl.String),
    "dated": pl.String,
    "remark_words": pl.String,
    "doubted": pl.Boolean,  # damage stands among nothing but unknown words and was left out
    "unsaid": pl.Boolean,  # damage of which the kind is not said
    "partly": pl.Boolean,  # something was read, and beside it stand words that are not known
}
FIRST_YEAR, LAST_YEAR = 1800, 2100  # years in which somebody may have written down a condition
AFFIRMED = ("damage", "repair", "repair_unnamed")
SPEAKING = (*AFFIRMED, ACTIVITY, WET, LACKING, UNSAID)  # of condition
DENIED = (*SPEAKING, REMAINS, WORN)
_REACH = 3  # unknown words a negation reaches over: `no sign of recent cracks`
_ISO = re.compile(r"(?<!\d)((?:18|19|20)\d\d)-(0[1-9]|1[0-2])(?:-(0[1-9]|[12]\d|3[01]))?(?!\d)")
_DAY = re.compile(r"(?<!\d)(\d{1,2})([./-])(\d{1,2})\2((?:18|19|20)\d\d)(?!\d)")
_YEAR = re.compile(r"(?<![\d.,])((?:18|19|20)\d\d)(?!\d|[.,]\d|s\b|-tal|er\b)")
UNREAD: Mapping[str, Any] = {"unread": pl.Boolean}
GRADE = "grade"
GRADES: Mapping[str, Any] = {GRADE: pl.String}


def read_remarks(texts: pl.Series, languages: Languages) -> pl.DataFrame:
    """Damage kinds with their activity, repair materials, date and words of each remark, in the same order.

    Columns `SCHEMA`. Terms stand in the order named, each once. The date is ISO 8601 and as coarse as
    written: `1986`, `1986-05`, `1986-05-12`; the latest if there are several. Damage among nothing but unknown words
    may be denied by them and is left out. Each distinct text is read once.
    """
    asked = pl.DataFrame({"text": texts.cast(pl.String)})
    return map_distinct(asked, ("text",), SCHEMA, lambda row: _read(row["text"] or "", languages))


def read_damage_terms(texts: pl.Series, languages: Languages) -> pl.Series:
    """Damage kinds only, for a column that holds a word such as *chipped*: List[String] of the same length."""
    return read_remarks(texts, languages)["kinds"].alias(texts.name)


def _read(text: str, languages: Languages) -> dict[str, Any]:
    shown = cleaned(text)
    tokens = languages.remarks.tokens(shown)
    spoken = list(with_what_is_missing(list(_affirmed(tokens))))
    sure = certain(tokens, spoken, languages)
    wet = wet_glass(sure.spoken)
    affirmed = [t for t in sure.spoken if t.is_a(*AFFIRMED) or t in wet.values()]
    kinds = list(dict.fromkeys((*_terms(affirmed, "damage"), *wet)))
    states = {**activities(sure.spoken), **dict.fromkeys(wet, moving())}
    return {
        "kinds": kinds,
        "activities": [states.get(kind) or _not_assessed() for kind in kinds],
        "repair_materials": _terms(affirmed, "repair") or _terms(affirmed, "repair_unnamed"),
        "dated": _dated(shown, tokens),
        "remark_words": ", ".join(dict.fromkeys(t.text for t in affirmed)) or None,
        "doubted": sure.doubted,
        "unsaid": sure.unsaid,
        "partly": sure.partly,
    }


def _not_assessed() -> str:
    return vocabulary(ACTIVITY).terms_where("not_assessed")[0]


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
        elif token.text in CLAUSE_ENDS or role == "contrast":
            denying = False
        elif denying and token.is_a(*DENIED):
            reach = 0
            continue
        elif denying and token.text == ",":
            denying = not listed and _list_goes_on(tokens, place + 1)
        elif role == "last_link":
            listed = True
        elif denying and role != "link" and len(token.text) > 1:  # not an elision: `sans fissures ni d'éclats`
            reach -= 1
            denying = reach >= 0
        if not token.is_a("role"):
            yield token


def _list_goes_on(tokens: Sequence[Token], place: int) -> bool:
    """`no cracks, chips or losses`: a damage that stands bare, or that *or* follows; not `no cracks, chip at rim`."""
    if place >= len(tokens) or not tokens[place].is_a(*AFFIRMED):
        return False
    end = next((i for i in range(place, len(tokens)) if tokens[i].text in CLAUSE_ENDS), len(tokens))
    after = tokens[place + 1 : end]
    bare = not after or after[0].text == "," or after[0].value("role") == "link"
    return bare or any(t.value("role") == "last_link" for t in after)


def _denies(tokens: Sequence[Token], place: int) -> bool:
    """A negation needs something to deny ahead: `not examined` denies no damage that a later clause names."""
    return any(t.is_a(*DENIED) for t in tokens[place + 1 : place + 2 + _REACH])


def _dated(shown: str, tokens: Sequence[Token]) -> str | None:
    dates = [*_iso(shown), *_days(shown), *_months(tokens)]
    years = [m.group(1) for m in _YEAR.finditer(shown)]
    known = {date[:4] for date in dates}
    return max([*dates, *(y for y in years if y not in known)], default=None)


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


def unread_remarks(texts: pl.Series, languages: Languages) -> pl.Series:
    """Whether a text has letters and no word for damage, repair, activity or a grade: Boolean of the same length.

    A damage that is denied is a word that was read: *no cracks* is no unread remark.
    """
    asked = pl.DataFrame({"text": texts.cast(pl.String)})
    read = map_distinct(asked, ("text",), UNREAD, lambda row: {"unread": _unread(row["text"] or "", languages)})
    return read["unread"].alias(texts.name)


def _unread(text: str, languages: Languages) -> bool:
    shown = cleaned(text)
    if not any(letter.isalpha() for letter in shown):
        return False
    return not any(t.is_a(*SPEAKING) for t in languages.remarks.tokens(shown)) and not any(
        t.is_a(GRADE) for t in languages.grades.tokens(shown)
    )


def read_grades(texts: pl.Series, languages: Languages) -> pl.Series:
    """A term of vocabulary grade for each text, or null: String of the same length and name.

    Every word must be one for a grade or for *condition*, and all grades the same: what says more is not read.
    """
    asked = pl.DataFrame({"text": texts.cast(pl.String)})
    read = map_distinct(asked, ("text",), GRADES, lambda row: {GRADE: _grade(row["text"] or "", languages.grades)})
    return read[GRADE].alias(texts.name)


def with_grades(cells: pl.DataFrame, languages: Languages) -> pl.DataFrame:
    """Cells of a list of checks with the words of their grades as terms; others stay as written."""
    if GRADE not in cells.columns or cells.schema[GRADE] != pl.String:
        return cells
    return cells.with_columns(pl.coalesce(read_grades(cells[GRADE], languages), GRADE).alias(GRADE))


def _grade(text: str, lexicon: Lexicon) -> str | None:
    words = [t for t in lexicon.tokens(cleaned(text)) if any(c.isalnum() for c in t.text)]
    terms = {term for t in words if (term := t.value(GRADE))}
    known = all(t.is_a(GRADE, "role") for t in words)
    return next(iter(terms)) if known and len(terms) == 1 else None
