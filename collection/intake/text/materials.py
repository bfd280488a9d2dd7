"""Technique, metal, finish and whether there is enamel on metal, read from prose by the language files' rules."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import polars as pl

from collection.intake.languages import Languages
from collection.intake.text.clauses import (
    FLAGGED,
    NOT_ON_METAL,
    NOT_READ,
    ON_METAL,
    Clause,
    Ruling,
    Verdict,
    flagged,
    stretches,
)
from collection.intake.text.distinct import map_distinct
from collection.intake.text.known_words import is_unknown
from collection.intake.text.lexicon import Token, cleaned
from collection.intake.text.other_bodies import Record, denied_elsewhere, recast
from collection.intake.text.techniques import (
    Named,
    in_order,
    named_techniques,
    of_a_workshop,
    painted_by_definition,
    specific,
)
from schemas.vocabularies import vocabulary

STATED, IMPLIED, AMBIGUOUS = "stated", "implied", "ambiguous"
COLUMNS = ("materials_text", "classification_text", "title", "description", "technique_text")
SCHEMA: Mapping[str, Any] = {
    "technique": pl.List(pl.String),
    "technique_words": pl.String,
    "base_metal": pl.String,
    "base_metal_words": pl.String,
    "wire_metal": pl.String,
    "metal_finish": pl.String,
    "metal_finish_words": pl.String,
    "verdict": pl.String,
    "verdict_words": pl.String,
    "certainty": pl.String,
    "unknown_words": pl.String,  # of the materials, where technique or metal was not read
}


@dataclass(slots=True)
class Reading:
    """What was read of one record; becomes one row."""

    technique: list[str] = field(default_factory=list)
    technique_words: list[str] = field(default_factory=list)
    base: Token | None = None
    wire: Token | None = None
    finish: Token | None = None
    verdict: Verdict = NOT_READ
    why: str = ""
    certainty: str = STATED
    unknown: list[str] = field(default_factory=list)

    def row(self) -> dict[str, Any]:
        """The row, empty where nothing was read."""
        return {
            "technique": self.technique,
            "technique_words": ", ".join(dict.fromkeys(self.technique_words)) or None,
            "base_metal": self.base and self.base.value("metals"),
            "base_metal_words": self.base and self.base.text,
            "wire_metal": self.wire and self.wire.value("metals"),
            "metal_finish": self.finish and self.finish.value("finishes"),
            "metal_finish_words": self.finish and self.finish.text,
            "verdict": self.verdict,
            "verdict_words": self.why or None,
            "certainty": self.certainty,
            "unknown_words": ", ".join(dict.fromkeys(self.unknown)) or None,
        }


def read_materials(texts: pl.DataFrame, languages: Languages) -> pl.DataFrame:
    """Technique, metal, finish and verdict for each row of `texts`, in the same order.

    `texts`: any of `COLUMNS` as String; others are ignored. `technique_text`: cells whose heading says that they name a
    technique, which need no word for enamel.
    Each distinct combination is read once. Columns: `SCHEMA`.
    """
    return map_distinct(texts, COLUMNS, SCHEMA, lambda row: _read(row, languages).row())


def _read(row: Mapping[str, str | None], languages: Languages) -> Reading:
    record = Record(*(stretches(cleaned(row[column] or ""), languages.materials) for column in COLUMNS))
    speaking = record.speaking()
    reading = Reading()
    rulings = [(stretch, ruling) for stretch in speaking for ruling in stretch.rulings()]
    rulings = [(s, recast(record, speaking, s, r)) for s, r in rulings]
    _judge(reading, record, speaking, rulings)
    if reading.verdict == NOT_READ:
        reading.base = next((m for s in record.materials for m in _named(s.metals(None))), None)
        _by_technique_alone(reading, record)
    elif reading.verdict != NOT_ON_METAL:
        _techniques(reading, record, [s for s, r in rulings if r.verdict != NOT_ON_METAL])
        _metals(reading, record, [(s, r) for s, r in rulings if r.verdict != NOT_ON_METAL])
        if reading.base is None or not specific((term, "") for term in reading.technique):
            reading.unknown = [
                t.text for s in record.materials for t in s.tokens if is_unknown(t, languages.known_words)
            ]
    return reading


def _by_technique_alone(reading: Reading, record: Record) -> None:
    """Under a heading for techniques the word for one is enough: `Grisaille`, `Painted (Limoges)`, `Canton`."""
    named = [
        (t.value("trade", "bound") or "", t.text)
        for s in record.technique
        for t in s.tokens
        if t.is_a("trade", "bound")
    ]
    if not named:
        return
    reading.technique, reading.technique_words = in_order(named), [words for _, words in named]
    metal = vocabulary("metal").term.get((reading.base and reading.base.value("metals")) or "")
    reading.verdict = FLAGGED if metal and metal.get("paint_likely") else ON_METAL
    reading.why, reading.certainty = ", ".join(reading.technique_words), IMPLIED


def _judge(
    reading: Reading, record: Record, speaking: Sequence[Clause], rulings: Sequence[tuple[Clause, Ruling]]
) -> None:
    order: tuple[Verdict, ...] = (ON_METAL, FLAGGED, NOT_ON_METAL)
    for verdict in order:
        ruling = next((r for _, r in rulings if r.verdict == verdict), None)
        if ruling:
            reading.verdict, reading.why = verdict, ruling.why
            return
    other = next(denied_elsewhere(record, speaking), None)
    if other is not None:
        reading.verdict, reading.why = NOT_ON_METAL, other.text


def _techniques(reading: Reading, record: Record, speaking: Sequence[Clause]) -> None:
    named = [pair for stretch in dict.fromkeys(speaking) for pair in named_techniques(stretch)]
    if not specific(named):
        elsewhere = next((its for text in (record.title, record.description) if (its := _specific_in(text))), [])
        named = elsewhere or [
            *named,
            *painted_by_definition(record.materials, record.classification, record.title),
        ]
    named = [*named, *of_a_workshop(named, record.materials, record.classification)]
    reading.technique, reading.technique_words = in_order(named), [words for _, words in named]
    if any(flagged(term) for term in reading.technique):
        reading.verdict = FLAGGED


def _specific_in(text: Sequence[Clause]) -> list[Named]:
    """Techniques that another text of the record names, where they say more than that there is enamel."""
    return [pair for stretch in text for pair in named_techniques(stretch) if specific([pair])]


def _metals(reading: Reading, record: Record, rulings: Sequence[tuple[Clause, Ruling]]) -> None:
    carried = [(s, r.carrier) for s, r in rulings if r.carrier]
    if carried:
        stretch, metals = carried[0][0], [carrier for _, carrier in carried]
        scope = stretch.scope_of(stretch.tokens.index(metals[0]))
    else:
        stretch, scope, metals = _listed_metals(record, rulings)
        metals = _named(metals)
    metals = metals or _metals_of_title(record)
    reading.base = metals[0] if metals else None
    reading.finish = _finish(record, stretch, scope, reading.base)
    reading.wire = next(
        (t for s in record.materials for i, t in enumerate(s.tokens) if t.is_a("metals") and s.ornament(i) == "wire"),
        None,
    )
    unassigned = not metals and record.names_metal()  # a metal is named, of what is not sure
    if reading.verdict == FLAGGED or unassigned or len({m.value("metals") for m in metals}) > 1:
        reading.certainty = AMBIGUOUS
    else:
        reading.certainty = STATED if metals else IMPLIED


def _metals_of_title(record: Record) -> list[Token]:
    """`Ring of silver`: the metal may stand in the title, or in the first sentence, where the materials name none."""
    if record.names_metal():
        return []
    first = (*record.title, *record.description[:1])
    return _named([m for stretch in first for m in stretch.metals(None)])


def _named(metals: list[Token]) -> list[Token]:
    """`copper (metal)`: a word for any metal counts only where no metal is named."""
    generic = vocabulary("metal").terms_where("generic")
    return [m for m in metals if m.value("metals") not in generic] or metals


def _listed_metals(
    record: Record, rulings: Sequence[tuple[Clause, Ruling]]
) -> tuple[Clause, tuple[int, int] | None, list[Token]]:
    """Metals of the part that holds the first mention; else of the body; else, on stone or ivory, of the mounts."""
    places = [(s, s.scope_of(r.place)) for s, r in rulings]
    for stretch, scope in places:
        if metals := stretch.metals(scope):
            return stretch, scope, metals
    stretch, scope = places[0]
    if scope is not None and not record.materials:
        return stretch, scope, []
    if scope is None:
        for other in record.materials:
            if metals := other.metals(None):
                return other, None, metals
        if {"mineral_body", "organic_body"} & {v for s in record.materials for v in s.bodies()}:
            for other, part in ((s, p) for s in record.materials for p in s.scopes):
                if metals := other.metals(part):
                    return other, part, metals
    return stretch, scope, []


def _finish(record: Record, stretch: Clause, scope: tuple[int, int] | None, base: Token | None) -> Token | None:
    """The finish of the base metal: said with it, or in the same part, or in a stretch that says nothing but finish."""
    if base is not None and base.is_a("finishes"):
        return base
    metal = base and base.value("metals")
    bare = [s for s in record.materials if s is not stretch and not any(t.is_a("metals", "body") for t in s.tokens)]
    return next(
        (
            t
            for s in (stretch, *(bare if scope is None else ()))
            for i, t in enumerate(s.tokens)
            if t.is_a("finishes") and s.scope_of(i) == scope and t.value("metals") in {None, metal}
            if not s.of_ornament(i)
        ),
        None,
    )
