"""Technique, metal, finish and whether there is enamel on metal, read from prose by the language files' rules."""

from collections.abc import Iterator, Mapping, Sequence
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
from collection.intake.text.lexicon import Lexicon, Token, cleaned, map_distinct
from collection.intake.text.techniques import in_order, named_techniques, painted_by_definition, specific
from schemas.vocabularies import vocabulary

STATED, IMPLIED, AMBIGUOUS = "stated", "implied", "ambiguous"
COLUMNS = ("materials_text", "classification_text", "title", "description")
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
}


@dataclass(slots=True)
class Record:
    """The texts of one record as stretches."""

    materials: list[Clause]
    classification: list[Clause]
    title: list[Clause]
    description: list[Clause]

    def speaking(self) -> list[Clause]:
        """The first text that mentions enamel, of those that may."""
        if any(s.mentions or s.denials for s in self.materials):
            return self.materials
        spoken = [t for s in self.materials for t in s.tokens]
        if spoken and (not any(t.is_a("metals") for t in spoken) or any(t.value("body") == "paint" for t in spoken)):
            return []
        return next(
            (text for text in (self.classification, self.title, self.description) if any(s.mentions for s in text)), []
        )


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
        }


def read_materials(texts: pl.DataFrame, languages: Languages) -> pl.DataFrame:
    """Technique, metal, finish and verdict for each row of `texts`, in the same order.

    `texts`: any of `materials_text`, `classification_text`, `title`, `description` as String; others are ignored.
    Each distinct combination is read once. Columns: `SCHEMA`.
    """
    return map_distinct(texts, COLUMNS, SCHEMA, lambda row: _read(row, languages.materials).row())


def _read(row: Mapping[str, str | None], lexicon: Lexicon) -> Reading:
    record = Record(*(stretches(cleaned(row[column] or ""), lexicon) for column in COLUMNS))
    speaking = record.speaking()
    reading = Reading()
    rulings = [(stretch, ruling) for stretch in speaking for ruling in stretch.rulings()]
    rulings = [(s, _recast(record, speaking, s, r)) for s, r in rulings]
    _judge(reading, record, speaking, rulings)
    if reading.verdict == NOT_READ:
        reading.base = next((m for s in record.materials for m in _named(s.metals(None))), None)
    elif reading.verdict != NOT_ON_METAL:
        _techniques(reading, record, [s for s, r in rulings if r.verdict != NOT_ON_METAL])
        _metals(reading, record, [(s, r) for s, r in rulings if r.verdict != NOT_ON_METAL])
    return reading


def _recast(record: Record, speaking: Sequence[Clause], stretch: Clause, ruling: Ruling) -> Ruling:
    """A ruling in the light of what the museum files the record under."""
    if ruling.verdict != ON_METAL or speaking is not record.materials:
        return ruling
    filed = {v for s in record.classification for v in s.bodies()}
    bare = not any(t.is_a("metals", "body") for s in record.materials for t in s.tokens)
    if bare and filed & {"ceramic", "glass", "support"} and not stretch.tokens[ruling.place].is_a("techniques"):
        return Ruling(ruling.place, NOT_ON_METAL, None, f"{ruling.why}, filed under ceramics, glass or works on paper")
    metal = ruling.carrier and vocabulary("metal").term.get(ruling.carrier.value("metals") or "")
    painting = any(t.is_a("by_definition") for s in record.classification for t in s.tokens)
    if metal and metal.get("paint_likely"):
        return Ruling(ruling.place, NOT_ON_METAL if painting else FLAGGED, ruling.carrier, ruling.why)
    return ruling


def _judge(
    reading: Reading, record: Record, speaking: Sequence[Clause], rulings: Sequence[tuple[Clause, Ruling]]
) -> None:
    order: tuple[Verdict, ...] = (ON_METAL, FLAGGED, NOT_ON_METAL)
    for verdict in order:
        ruling = next((r for _, r in rulings if r.verdict == verdict), None)
        if ruling:
            reading.verdict, reading.why = verdict, ruling.why
            return
    other = next(_denied_elsewhere(record, speaking), None)
    if other is not None:
        reading.verdict, reading.why = NOT_ON_METAL, other.text


def _denied_elsewhere(record: Record, speaking: Sequence[Clause]) -> Iterator[Token]:
    """Words that say it is something else: a denial, another craft, or what the thing is made of besides metal."""
    yield from (token for clause in speaking for token in clause.denials)
    for clause in (*record.materials, *record.classification):
        yield from (token for token in clause.tokens if token.is_a("denial", "other_craft", "body"))


def _techniques(reading: Reading, record: Record, speaking: Sequence[Clause]) -> None:
    named = [pair for stretch in dict.fromkeys(speaking) for pair in named_techniques(stretch)]
    if not specific(named):
        titled = [pair for stretch in record.title for pair in named_techniques(stretch) if specific([pair])]
        named = titled or [*named, *painted_by_definition(record.materials, record.classification, record.title)]
    reading.technique, reading.technique_words = in_order(named), [words for _, words in named]
    if any(flagged(term) for term in reading.technique):
        reading.verdict = FLAGGED


def _metals(reading: Reading, record: Record, rulings: Sequence[tuple[Clause, Ruling]]) -> None:
    carried = [(s, r.carrier) for s, r in rulings if r.carrier]
    if carried:
        stretch, metals = carried[0][0], [carrier for _, carrier in carried]
        scope = stretch.scope_of(stretch.tokens.index(metals[0]))
    else:
        stretch, scope, metals = _listed_metals(record, rulings)
        metals = _named(metals)
    reading.base = metals[0] if metals else None
    reading.finish = _finish(record, stretch, scope, reading.base)
    reading.wire = next(
        (t for s in record.materials for i, t in enumerate(s.tokens) if t.is_a("metals") and s.ornament(i) == "wire"),
        None,
    )
    if reading.verdict == FLAGGED or len({m.value("metals") for m in metals}) > 1:
        reading.certainty = AMBIGUOUS
    else:
        reading.certainty = STATED if metals else IMPLIED


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
