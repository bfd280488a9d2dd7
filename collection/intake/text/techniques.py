"""Which words of a stretch name how the enamel was laid, and in what order they count."""

from collections.abc import Iterable, Iterator, Sequence

from collection.intake.text.clauses import MENTIONS, Clause
from schemas.vocabularies import vocabulary

Named = tuple[str, str]  # technique term, words it was read from
_LINKS = {"and", "manner"}
_FAR = 3  # unknown words that may stand between a technique word and its enamel: `painted pale blue enamel`


def named_techniques(stretch: Clause) -> Iterator[Named]:
    """Terms with their words in the order named; the unspecified term where only enamel is said."""
    for place, token in enumerate(stretch.tokens):
        if place in stretch.mentions:
            yield token.value(*reversed(MENTIONS)) or "", token.text
        elif token.is_a("bound") and _bound(stretch, place):
            yield token.value("bound") or "", token.text
        elif token.is_a("surface") and _laid(stretch, place):
            yield token.value("surface") or "", token.text


def _bound(stretch: Clause, place: int) -> bool:
    """Whether only manners, techniques and a few words stand between the word and a mention of enamel."""
    return _reaches(stretch, range(place + 1, len(stretch.tokens)), _FAR) or _reaches(
        stretch, range(place - 1, -1, -1), 0
    )


def _reaches(stretch: Clause, places: Iterable[int], allowed: int) -> bool:
    comma = False
    for place in places:
        token = stretch.tokens[place]
        if place in stretch.mentions:
            return True
        if token.text in {",", "(", "-", '"', "'", "&"}:
            comma = comma or token.text == ","
        elif token.is_a("metals", "body") or token.value("role") in {"upon", "with", "part", "list_part"}:
            return False
        elif not token.is_a("bound", "surface", "finishes") and token.value("role") not in _LINKS:
            allowed -= 1
            if allowed < 0 or comma:
                return False
    return False


def _laid(stretch: Clause, place: int) -> bool:
    """A word for worked metal names the enamel unless it stands by a metal, out of reach of the enamel."""
    first, last = stretch.item(place)
    by_metal = any(t.is_a("metals") for t in stretch.tokens[first:last])
    if by_metal and not any(first <= i < last for i in stretch.mentions):
        return _enamelled_next(stretch, last)
    part = stretch.scope_of(place)
    if part and not any(part[0] <= i < part[1] for i in stretch.mentions):
        return False
    if _reaches(stretch, range(place + 1, len(stretch.tokens)), _FAR) or _reaches(stretch, range(place - 1, -1, -1), 0):
        return True
    if by_metal and _filled(stretch, place, last):
        return True
    under = any(i in stretch.mentions for i in range(first, place)) and any(
        t.value("role") == "upon" for t in stretch.tokens[first:place]
    )
    return bool(stretch.mentions) and ((under and not _metal_before(stretch, place)) or not by_metal)


def _enamelled_next(stretch: Clause, last: int) -> bool:
    """`gold filigree, enamelled`: the next item says no more than that it is."""
    if last + 1 not in stretch.mentions or not stretch.tokens[last + 1].is_a("enamelled"):
        return False
    return stretch.item(last + 1) == (last + 1, last + 2)


def _filled(stretch: Clause, place: int, last: int) -> bool:
    """`silver filigree with enamel`, `filigree of silver, enamelled`: the worked metal itself holds the enamel."""
    behind = next((i for i in range(place + 1, min(last, place + 1 + _FAR)) if stretch.tokens[i].is_a("metals")), None)
    worked = stretch.tokens[place].is_a("metals") or _metal_before(stretch, place) or behind is not None
    after = (place if behind is None else behind) + 1
    if not worked or after >= last:
        return False
    with_it = stretch.tokens[after].value("role") == "with" and any(i in stretch.mentions for i in range(after, last))
    return with_it or (after in stretch.mentions and stretch.tokens[after].is_a("enamelled"))


def _metal_before(stretch: Clause, place: int) -> bool:
    return place > 0 and stretch.tokens[place - 1].is_a("metals")


def of_a_workshop(named: Sequence[Named], *texts: Sequence[Clause]) -> Iterator[Named]:
    """`painted enamel on copper, Limoges`: the narrower term of a technique that is named, where its place stands."""
    terms = {term for term, _ in named}
    for token in (t for text in texts for s in text for t in s.tokens if t.is_a("trade")):
        term = token.value("trade") or ""
        if vocabulary("technique").term[term].broader in terms:
            yield term, token.text


def specific(named: Iterable[Named]) -> bool:
    """Whether any term says more than that there is enamel."""
    return any(term not in unspecified() for term, _ in named)


def unspecified() -> tuple[str, ...]:
    """Terms that say no more than that there is enamel."""
    return vocabulary("technique").terms_where("unspecified")


def in_order(named: Sequence[Named]) -> list[str]:
    """First named first, a broader term before its narrower; worked-metal techniques before painting.

    The unspecified term stays only where nothing says more.
    """
    broader = {key: entry.broader for key, entry in vocabulary("technique").term.items()}
    terms: list[str] = []
    for term, _ in named:
        above = broader.get(term)
        terms += [t for t in (above, term) if t and t not in terms]
    specific_terms = [t for t in terms if t not in unspecified() and broader.get(t) not in unspecified()]
    terms_left = (
        [t for t in terms if t not in unspecified()]
        if specific_terms
        else sorted(terms, key=lambda t: t not in unspecified())
    )
    after = vocabulary("technique").properties("after")
    return sorted(
        terms_left,
        key=lambda t: any(other in terms_left for other in after.get(t, after.get(broader.get(t) or "", ()))),
    )


def painted_by_definition(*texts: Sequence[Clause]) -> Iterator[Named]:
    """Terms that a record filed under paintings, or called a portrait miniature, has by definition."""
    materials = texts[0]
    if any(body in {"paint", "support"} for s in materials for body in s.bodies()):
        return
    if any(s.scope_of(i) for s in materials for i in s.mentions):
        return
    for stretch in (s for text in texts for s in text):
        for place, token in enumerate(stretch.tokens):
            if token.is_a("by_definition") and not _set_in(stretch, place):
                yield token.value("by_definition") or "", token.text


def _set_in(stretch: Clause, place: int) -> bool:
    """`set with a miniature on vellum`: the picture is another thing, or on another ground."""
    first, last = stretch.item(place)
    before = any(t.value("role") == "with" for t in stretch.tokens[first:place])
    return before or any(t.is_a("body") for t in stretch.tokens[place:last])
