"""Height, width, depth and diameter in mm, read from a dimension text in any order and shape."""

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import takewhile
from typing import Any

import polars as pl

from collection.intake.languages import Languages
from collection.intake.text.distinct import map_distinct
from collection.intake.text.known_words import is_known
from collection.intake.text.lexicon import UNSURE, Lexicon, Token, cleaned
from collection.intake.text.measures import AXES, MM_PER, NO_BASIS, Amount, Measure, Statement, amounts

SCHEMA: Mapping[str, Any] = {
    "height_mm": pl.Float64,
    "width_mm": pl.Float64,
    "depth_mm": pl.Float64,
    "diameter_mm": pl.Float64,
    "size_words": pl.String,
    "size_basis": pl.String,
    "size_left": pl.Boolean,  # a length is stated whose axis is not known
}
COLUMNS = ("dimensions_text", "size_unit")
_NUMBERED_PART = re.compile(r"\(\s*\.?\s*\d{0,3}\s*[a-z]?(\s*-\s*\.?[a-z0-9])?\s*\)(?=\s*:)|^\s*\.?\d+[a-z]?\s*:", re.I)
_LETTERED = re.compile(r"(?:^|(?<=[;\n]))\s*\(?[a-z]\s*[):]", re.I)  # (a) H. 5 cm; (b) H. 7 cm
_COUNTED = re.compile(r"\(?\b\d{1,2}\)")  # 1) H. 5 cm 2) H. 7 cm
_FIRSTS = (re.compile(r"\s*\(?a\s*[):]", re.I), re.compile(r"\s*\(?1\)"))
_LEADING = frozenset({"mm", "cm"})  # units believed before their numbers; *in* and *m* are words too
_TOUCHING = re.compile(r"(?<=\d)(?=[^\W\d_])|(?<=[^\W\d_])(?=\d)")  # 12.5x8cm
_BEHIND_A_LABEL = frozenset({".", ":", "="})
_STOPS = frozenset({";", ",", "\n"})
LABEL, NO_AXIS = "label", ""
_INITIALS = re.compile(r"\b[^\W\d_](?:x[^\W\d_]){1,2}\b")  # HxBxT
_DECIMALS = 3  # of the millimetres given: far below what anybody measures


def read_sizes(texts: pl.DataFrame, languages: Languages) -> pl.DataFrame:
    """Sizes in mm for each row of `texts`, in the same order; columns `SCHEMA`, empty where not stated.

    `texts`: `dimensions_text`, and optionally `size_unit`, the symbol of the unit of numbers that name none. The
    largest stated height counts; the other sizes are those given with it. Each distinct pair is read once.
    """
    return map_distinct(texts, COLUMNS, SCHEMA, lambda row: _read(row["dimensions_text"], row["size_unit"], languages))


def _read(text: str | None, unit: str | None, languages: Languages) -> dict[str, Any]:
    shown = cleaned(text or "")
    default = _unit(unit, languages.sizes)
    apart = _INITIALS.sub(lambda m: " x ".join(m.group().split("x")), _without_numbering(shown))
    pieces = list(_with_unknown_labels(_pieces(_TOUCHING.sub(" ", apart), languages.sizes), languages))
    statements = [s for s in (_statement(part) for part in _split(pieces)) if s.measures]
    _share_units(statements, default)
    for statement in statements:
        statement.label_all()
    statements_read = [(s.sizes(), s.basis) for s in statements]
    left = any(not m.label and m.mm for statement in statements for m in statement.measures)
    row = _row([(sizes, basis) for sizes, basis in statements_read if sizes], " ".join(shown.split()))
    return row | {"size_left": left}


def _without_numbering(shown: str) -> str:
    """The text without the numbers and letters that count its parts; a line break stands where one stood."""
    text = _NUMBERED_PART.sub(" ", shown)
    for first, every in zip(_FIRSTS, (_LETTERED, _COUNTED), strict=True):
        text = every.sub("\n", text) if first.match(text) else text
    return text


def _unit(symbol: str | None, lexicon: Lexicon) -> str | None:
    """The unit a mapping names, by any of its names in the loaded languages."""
    tokens = lexicon.tokens(cleaned(symbol or "").strip())
    return next((u for t in tokens if (u := t.value("measure_unit")) in MM_PER), None)


def _row(statements_read: Sequence[tuple[dict[str, float], str]], words: str) -> dict[str, Any]:
    statements_read = _together(statements_read)
    tall = max((f for f in statements_read if "height" in f[0]), key=lambda f: f[0]["height"], default=None)
    ordered = [*([tall] if tall else []), *statements_read]
    sizes = {axis: next((s[axis] for s, _ in ordered if axis in s), None) for axis in AXES}
    basis = (tall or (statements_read[0] if statements_read else ({}, NO_BASIS)))[1]
    return {
        **{f"{axis}_mm": None if v is None else round(v, _DECIMALS) for axis, v in sizes.items()},
        "size_words": words if statements_read else None,
        "size_basis": basis,
    }


def _together(statements_read: Sequence[tuple[dict[str, float], str]]) -> list[tuple[dict[str, float], str]]:
    """`H. 9 cm; W. 7 cm`: sizes without a height belong to the height before them."""
    groups: list[tuple[dict[str, float], str]] = []
    for sizes, basis in statements_read:
        if groups and AXES[0] in groups[-1][0] and AXES[0] not in sizes:
            groups[-1] = ({**sizes, **groups[-1][0]}, groups[-1][1])
        else:
            groups.append((sizes, basis))
    return groups


@dataclass(frozen=True, slots=True)
class MeasureToken:
    """A number or a token that means something to the reader."""

    amount: Amount | None
    token: Token


def _pieces(shown: str, lexicon: Lexicon) -> list[MeasureToken]:
    numbers = {a.start: a for a in amounts(shown)}
    spans = [(a.start, a.end) for a in numbers.values()]
    pieces: list[MeasureToken] = []
    for token in lexicon.tokens(shown):
        if token.start in numbers:
            pieces.append(MeasureToken(numbers[token.start], token))
        elif not any(a <= token.start < b for a, b in spans):
            pieces.append(MeasureToken(None, token))
    return pieces


def _with_unknown_labels(pieces: Sequence[MeasureToken], languages: Languages) -> Iterator[MeasureToken]:
    """The pieces; a word that no language file knows, right before a number, names an axis that is not known."""
    for place, piece in enumerate(pieces):
        word = piece.token
        unknown = piece.amount is None and word.text.isalpha() and not word.senses
        if unknown and _heads_a_number(pieces[place + 1 :]) and not is_known(word.text, languages.known_words):
            yield replace(piece, token=replace(word, senses={LABEL: NO_AXIS}))
        else:
            yield piece


def _heads_a_number(after: Sequence[MeasureToken]) -> bool:
    """A number follows at once, that nothing behind it labels and that does not begin `inro: 4 x 2 cm`."""
    at = next((i for i, p in enumerate(after) if p.token.text not in _BEHIND_A_LABEL), len(after))
    if at == len(after) or after[at].amount is None:
        return False
    behind = list(takewhile(lambda p: p.amount is None and p.token.text not in _STOPS, after[at + 1 :]))
    chained = any(p.token.text == ":" for p in after[:at]) and any(p.token.value("role") == "by" for p in behind)
    inside = takewhile(lambda p: p.token.text not in _STOPS, after[at + 1 :])
    return not chained and not any(p.token.is_a(LABEL) for p in inside if p.amount is None)


def _split(pieces: Sequence[MeasureToken]) -> Iterator[list[MeasureToken]]:
    part: list[MeasureToken] = []
    depth = 0
    for piece in pieces:
        depth += (piece.token.text in "([") - (piece.token.text in ")]")
        if piece.token.text == "\n" or (piece.token.text == ";" and depth <= 0):
            yield part
            part, depth = [], 0
        else:
            part.append(piece)
    yield part


def _statement(pieces: Sequence[MeasureToken]) -> Statement:
    statement = Statement([])
    chain, depth, joined = 0, 0, False
    for place, piece in enumerate(pieces):
        text = piece.token.text
        depth += (text in "([") - (text in ")]")
        if piece.amount:
            amount = piece.amount
            if _ranges(pieces, place) and statement.measures:
                last = statement.measures.pop()
                amount = replace(amount, value=max(last.value, amount.value), start=last.start)
                joined = True
            chain += not joined
            joined = False
            _measure(statement, amount, depth > 0, chain, list(_behind(pieces, place)))
        elif piece.token.value("role") == "by":
            joined = bool(statement.measures)
        elif (axis := _label(pieces, place)) is not None:
            statement.labels.append((piece.token.start, axis))
        elif text in ",()":
            joined = False
    _leading_unit(statement, pieces)
    return statement


def _behind(pieces: Sequence[MeasureToken], place: int) -> Iterator[MeasureToken]:
    """What stands right behind a number; a label between the number and its unit is passed over: `3 (d) cm`."""
    for piece in pieces[place + 1 :]:
        if piece.token.text in {"(", ")"} or (
            piece.amount is None and piece.token.is_a(LABEL, LABEL + UNSURE) and not piece.token.is_a("measure_unit")
        ):
            continue
        yield piece
        return


def _leading_unit(statement: Statement, pieces: Sequence[MeasureToken]) -> None:
    """`Height in cm: 12.5`: a unit before the numbers counts where none of them has one."""
    if not statement.measures or any(m.unit for m in statement.measures):
        return
    ahead = (b.token.value("measure_unit") for b in pieces if b.token.start < statement.measures[0].start)
    unit = next((u for u in ahead if u in _LEADING), None)
    for measure in statement.measures:
        measure.unit = unit


def _label(pieces: Sequence[MeasureToken], place: int) -> str | None:
    """The axis a word names; an empty one where languages read an initial differently."""
    token = pieces[place].token
    after_number = place > 0 and pieces[place - 1].amount is not None
    if after_number and token.is_a("measure_unit"):
        return None
    return token.value(LABEL) if token.is_a(LABEL) else NO_AXIS if token.is_a(LABEL + UNSURE) else None


def _ranges(pieces: Sequence[MeasureToken], place: int) -> bool:
    """Whether the number at `place` ends a range: `12-15 cm`, `12 cm to 15 cm`."""
    before = list(pieces[max(0, place - 3) : place])
    if not before or not (before[-1].token.text == "-" or before[-1].token.value("role") == "range"):
        return False
    return any(b.amount for b in before[-2:-1]) or (
        len(before) == 3 and before[0].amount is not None and before[1].token.is_a("measure_unit")
    )


def _measure(statement: Statement, amount: Amount, bracket: bool, chain: int, after: Sequence[MeasureToken]) -> None:
    unit = next((b.token.value("measure_unit") for b in after[:1] if b.amount is None), None)
    last = statement.measures[-1] if statement.measures else None
    if last and last.unit == "ft" and unit == "inch" and amount.start - last.end < 8 and last.chain != chain:
        last.value, last.unit = last.value * MM_PER["ft"] / MM_PER["inch"] + amount.value, "inch"
        return
    if unit and unit not in MM_PER:  # a weight, a count
        if statement.labels and (last is None or statement.labels[-1][0] > last.start):
            statement.labels.pop()
        return
    statement.measures.append(Measure(amount.value, amount.fine, bracket, chain, amount.start, amount.end, unit))


def _share_units(statements: Sequence[Statement], default: str | None) -> None:
    """A unit counts for the numbers before it that name none: `12,5 x 8 cm`, `H. 12 ; L. 8 cm`."""
    unit: str | None = None
    bracket: bool | None = None
    for measure in reversed([m for s in statements for m in s.measures]):
        if measure.unit is None and measure.bracket == bracket:
            measure.unit = unit
        elif measure.unit is not None:
            unit, bracket = measure.unit, measure.bracket
        measure.unit = measure.unit or default
