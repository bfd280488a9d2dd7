"""The texts of one record, and what they say against enamel on metal: another body, a paint, a denial, a picture."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from collection.intake.text.clauses import FLAGGED, NOT_ON_METAL, ON_METAL, Clause, Ruling
from collection.intake.text.lexicon import Token
from schemas.vocabularies import vocabulary

FIRED = frozenset({"ceramic", "glass"})  # bodies that carry enamel as metal does
PICTURES = frozenset({"paint", "support"})  # what pictures are made of


@dataclass(slots=True)
class Record:
    """The texts of one record as stretches; `technique`: of headings under which a technique is enough."""

    materials: list[Clause]
    classification: list[Clause]
    title: list[Clause]
    description: list[Clause]
    technique: list[Clause]

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

    def names_metal(self) -> bool:
        """Whether the materials name any metal."""
        return any(t.is_a("metals") for s in self.materials for t in s.tokens)


def recast(record: Record, speaking: Sequence[Clause], stretch: Clause, ruling: Ruling) -> Ruling:
    """A ruling in the light of the other texts of the record."""
    if ruling.verdict != ON_METAL:
        return ruling
    if speaking is not record.materials:
        return _of_a_picture(record, speaking, ruling)
    mention = stretch.tokens[ruling.place]
    filed = {v for s in record.classification for v in s.bodies()}
    bare = not any(t.is_a("metals", "body") for s in record.materials for t in s.tokens)
    if bare and filed & {*FIRED, "support"} and not mention.is_a("techniques"):
        return replace(ruling, verdict=NOT_ON_METAL, why=f"{ruling.why}, filed under ceramics, glass or works on paper")
    if bare and (titled := _fired_in(record.title)):
        sure = not mention.is_a("techniques") or _on_any_body(mention)
        return replace(ruling, verdict=NOT_ON_METAL if sure else FLAGGED, why=f"{ruling.why}, {titled.text}")
    if not record.names_metal() and (denial := _denial_of_a_body(record)):
        return replace(ruling, verdict=NOT_ON_METAL, why=denial.text)
    if ruling.carrier is None and _two_bodies(record, stretch, mention):
        return replace(ruling, verdict=FLAGGED)
    return _where_paint_is_likely(record, ruling)


def _where_paint_is_likely(record: Record, ruling: Ruling) -> Ruling:
    metal = ruling.carrier and vocabulary("metal").term.get(ruling.carrier.value("metals") or "")
    painting = any(t.is_a("by_definition") for s in record.classification for t in s.tokens)
    if metal and metal.get("paint_likely"):
        return replace(ruling, verdict=NOT_ON_METAL if painting else FLAGGED)
    return ruling


def _of_a_picture(record: Record, speaking: Sequence[Clause], ruling: Ruling) -> Ruling:
    """`Pastel. The sitter wears an enamelled order.`: what a picture shows is none of its materials."""
    named = [*record.title, *record.classification, *(record.description[:1] if speaking is record.description else ())]
    pictured = next((t for s in named for t in s.tokens if t.value("body") in PICTURES), None)
    metal = any(t.is_a("metals") for s in named for t in s.tokens)
    if pictured is None or ruling.carrier is not None or metal:
        return ruling
    return replace(ruling, verdict=NOT_ON_METAL, why=pictured.text)


def _fired_in(text: Sequence[Clause]) -> Token | None:
    """A word for glass or ceramic in a text that names no metal."""
    tokens = [t for s in text for t in s.tokens]
    if any(t.is_a("metals") for t in tokens):
        return None
    return next((t for t in tokens if t.value("body") in FIRED), None)


def _on_any_body(mention: Token) -> bool:
    return (mention.value("techniques") or "") in vocabulary("technique").terms_where("on_any_body")


def _denial_of_a_body(record: Record) -> Token | None:
    """A denial beside another body: `crystal, enamel paint`."""
    if not any(body in FIRED for s in record.materials for body in s.bodies()):
        return None
    return next((t for s in record.materials for t in s.denials), None)


def _two_bodies(record: Record, stretch: Clause, mention: Token) -> bool:
    """`steel, glass` and, apart from them, `enamelled`: which of the two carries it is not said."""
    if not mention.is_a("enamelled") or any(t.is_a("metals", "body") for t in stretch.tokens):
        return False
    return record.names_metal() and any(body in FIRED for s in record.materials for body in s.bodies())


def denied_elsewhere(record: Record, speaking: Sequence[Clause]) -> Iterator[Token]:
    """Words that say it is something else: a denial, another craft, or what the thing is made of besides metal."""
    yield from (token for clause in speaking for token in clause.denials)
    for clause in (*record.materials, *record.classification):
        yield from (token for token in clause.tokens if token.is_a("denial", "other_craft", "body"))
