"""What carries the enamel: a material text as stretches, and for each mention of enamel a ruling."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from collection.intake.text.lexicon import Lexicon, Token
from schemas.vocabularies import vocabulary

Verdict = Literal["enamel_on_metal", "not_enamel_on_metal", "flagged", "not_read"]
ON_METAL: Verdict = "enamel_on_metal"
NOT_ON_METAL: Verdict = "not_enamel_on_metal"
FLAGGED: Verdict = "flagged"
NOT_READ: Verdict = "not_read"  # no word for enamel, and none that says it is something else

MENTIONS = ("vitreous", "enamelled", "techniques")
MATERIALS = ("metals", "body")
LONGEST = 4000  # characters read of one text: a longer one is an essay, not a statement of materials
_FAR = 3  # unknown words a participle may stand away from what it describes
_STOPS = frozenset({";", ":", "/", "|"})
_COMMAS = frozenset({",", "(", ")"})


@dataclass(frozen=True, slots=True)
class Ruling:
    """One mention of enamel: the verdict on it, the token of the metal that carries it if stated, and the words why."""

    place: int
    verdict: Verdict
    carrier: Token | None = None
    why: str = ""


class Clause:
    """A part of a material text between full stops, semicolons or colons; `label` when it began `frame:`."""

    def __init__(self, tokens: Sequence[Token], label: bool = False) -> None:
        self.tokens = tuple(tokens)
        self.label = label
        self.scopes = tuple(_part_scopes(self.tokens)) if not label else ((0, len(self.tokens)),)
        self.mentions = tuple(i for i, t in enumerate(self.tokens) if t.is_a(*MENTIONS) and not self._denied(i))
        self.denials = tuple(t for t in self.tokens if t.is_a("denial"))

    def item(self, place: int) -> tuple[int, int]:
        """First and one past last token of the comma-separated item that holds `place`."""
        first = next((i + 1 for i in range(place - 1, -1, -1) if self.tokens[i].text in _COMMAS), 0)
        last = next((i for i in range(place, len(self.tokens)) if self.tokens[i].text in _COMMAS), len(self.tokens))
        return first, last

    def _denied(self, place: int) -> bool:
        first, last = self.item(place)
        return any(t.is_a("denial") for t in self.tokens[first:last])

    def scope_of(self, place: int) -> tuple[int, int] | None:
        """The part (frame, case, mount) whose words hold `place`, or None for the body of the object."""
        return next((scope for scope in self.scopes if scope[0] <= place < scope[1]), None)

    def metals(self, scope: tuple[int, int] | None) -> list[Token]:
        """Metals named in a part, or in the body, that may carry enamel: no wire, no foil, no ornament."""
        return [
            t
            for i, t in enumerate(self.tokens)
            if t.is_a("metals") and self.scope_of(i) == scope and not self.ornament(i)
        ]

    def ornament(self, place: int) -> str | None:
        """Whether the metal at `place` is a wire, foil or ornament: the role of the word that says so."""
        after = next((t for t in self.tokens[place + 1 : place + 3] if t.text not in {"-", "'"}), None)
        return after.value("role") if after and after.value("role") in {"wire", "foil"} else None

    def of_ornament(self, place: int) -> bool:
        """`gilt wires`: whether what stands between the commas is a wire or foil without a metal of its own."""
        first, last = self.item(place)
        item = self.tokens[first:last]
        return any(t.value("role") in {"wire", "foil"} for t in item) and not any(t.is_a("metals") for t in item)

    def bodies(self) -> list[str]:
        """What the object is made of besides metal."""
        return [v for t in self.tokens if (v := t.value("body"))]

    def rulings(self) -> Iterator[Ruling]:
        """A ruling for each mention that is not denied."""
        for place in self.mentions:
            yield self._stated(place) or self._listed(place)

    def _stated(self, place: int) -> Ruling | None:
        carrier = self._participle(place) if self.tokens[place].is_a("enamelled") else None
        carrier = carrier or self._upon(place) or self._with(place)
        if carrier is None or carrier.value("body") in {"mineral_body", "organic_body", "paint"}:
            return None
        if carrier.value("body") == "support" and self.tokens[place].is_a("techniques"):
            return None
        why = f"{self.tokens[place].text} … {carrier.text}"
        if carrier.is_a("metals"):
            painted = self._mixed_with_paint(place)
            return Ruling(place, NOT_ON_METAL if painted else ON_METAL, carrier, why)
        metal_too = any(t.is_a("metals") for t in self.tokens[self.item(place)[0] : self.tokens.index(carrier)])
        return Ruling(place, FLAGGED if metal_too else self._on_body(place), None, why)

    def _on_body(self, place: int) -> Verdict:
        return FLAGGED if self.tokens[place].is_a("techniques") and self._fired_body(place) else NOT_ON_METAL

    def _fired_body(self, place: int) -> bool:
        first, last = self.item(place)
        return any(t.value("body") in {"ceramic", "glass"} for t in self.tokens[first:last])

    def _mixed_with_paint(self, place: int) -> bool:
        first, _ = self.item(place)
        before = self.tokens[first:place]
        return any(t.value("body") == "paint" for t in before) and not any(t.value("role") == "upon" for t in before)

    def _upon(self, place: int) -> Token | None:
        _, last = self.item(place)
        upon = next((i for i in range(place + 1, last) if self.tokens[i].value("role") == "upon"), None)
        if upon is None:
            return None
        carrier = next((i for i in range(upon + 1, last) if self._solid(i)), None)
        between = any(self.tokens[i].is_a("metals") for i in range(place + 1, upon))
        if carrier is None or (between and not self.tokens[carrier].is_a("metals")):
            return None
        return self.tokens[carrier]

    def _solid(self, place: int) -> bool:
        token = self.tokens[place]
        return token.is_a("body") or (token.is_a("metals") and not self.ornament(place))

    def _participle(self, place: int) -> Token | None:
        first, last = self.item(place)
        ahead = next((i for i in range(place + 1, min(last, place + 1 + _FAR)) if self._solid(i)), None)
        barred = ahead is not None and any(
            t.value("role") in {"with", "upon", "and"} for t in self.tokens[place + 1 : ahead]
        )
        if ahead is not None and not barred:
            return self.tokens[ahead]
        if any(t.value("role") in {"part", "list_part"} for t in self.tokens[place + 1 : last]):
            return None
        behind = next((i for i in range(place - 1, -1, -1) if self._solid(i)), None)
        return self.tokens[behind] if behind is not None and self.tokens[behind].value("body") != "support" else None

    def _with(self, place: int) -> Token | None:
        first, _ = self.item(place)
        link = next(
            (i for i in range(place - 1, first - 1, -1) if self.tokens[i].value("role") == "with" or self._solid(i)),
            None,
        )
        if link is None or self.tokens[link].value("role") != "with":
            return None
        return next((self.tokens[i] for i in range(link - 1, first - 1, -1) if self._solid(i)), None)

    def _listed(self, place: int) -> Ruling:
        words = self.tokens[place].text
        part = self.scope_of(place)
        solids = [t for i, t in enumerate(self.tokens) if self._solid(i) and part in {None, self.scope_of(i)}]
        bodies = {t.value("body") for t in solids if t.is_a("body")}
        strong = self.tokens[place].is_a("techniques") or any(
            t.is_a("techniques") for t in self.tokens[max(0, place - 1) : place]
        )
        if solids and solids[0].value("body") == "ceramic":
            return Ruling(place, NOT_ON_METAL, None, f"{solids[0].text}, {words}")
        if any(t.is_a("metals") for t in solids):
            doubtful = solids[0].value("body") == "glass" and not strong
            return Ruling(place, FLAGGED if doubtful else ON_METAL, None, words)
        if bodies & {"ceramic", "glass", "support", "paint"} and not strong:
            other = next(t for t in solids if t.value("body") in {"ceramic", "glass", "support", "paint"})
            return Ruling(place, NOT_ON_METAL, None, f"{other.text}, {words}")
        return Ruling(place, ON_METAL, None, words)


def _part_scopes(tokens: Sequence[Token]) -> Iterator[tuple[int, int]]:
    """Stretches of tokens that speak of a frame, mount, case, dial or movement."""
    floor = 0
    for place, token in enumerate(tokens):
        role = token.value("role")
        if role not in {"part", "list_part"}:
            continue
        bars = _COMMAS | {"&"} if role == "part" else frozenset()
        start = next(
            (
                i + 1
                for i in range(place - 1, floor - 1, -1)
                if tokens[i].text in bars or (role == "part" and tokens[i].value("role") in {"with", "upon", "inside"})
            ),
            floor,
        )
        start = _after_mention(tokens, start, place) if role == "part" else start
        end = _with_end(tokens, place)
        yield start, end
        floor = end


def _after_mention(tokens: Sequence[Token], start: int, place: int) -> int:
    """`cloisonné enamel and gilt metal mounts`: a mention that only an `and` links to the part is the body's."""
    if any(t.is_a(*MATERIALS) for t in tokens[:start]):
        return start
    for i in range(start, place):
        if (
            tokens[i].is_a("vitreous", "techniques")
            and i + 1 < place
            and tokens[i + 1].value("role") == "and"
            and not any(t.is_a("metals") for t in tokens[start:i])
        ):
            return i + 2
    return start


def _with_end(tokens: Sequence[Token], place: int) -> int:
    after = place + 1
    if after < len(tokens) and tokens[after].value("role") in {"with", "made_of"}:
        return next((i for i in range(after, len(tokens)) if tokens[i].text in _COMMAS), len(tokens))
    return after


def stretches(shown: str, lexicon: Lexicon) -> list[Clause]:
    """A material text cut at semicolons, colons and full stops."""
    cut: list[list[Token]] = [[]]
    labels: list[bool] = [False]
    text = shown[:LONGEST].replace("\n", " ")
    listed = not {",", ":"} & set(text)  # `Gold; enamel; pearls`: the semicolons of a list
    tokens = lexicon.tokens(text.replace(";", ",") if listed else text)
    for place, token in enumerate(tokens):
        if token.text in _STOPS or (token.text == "." and _ends(tokens, place)):
            label = (
                token.text == ":"
                and any(t.value("role") in {"part", "list_part"} for t in cut[-1])
                and not any(t.is_a(*MATERIALS) for t in cut[-1])
            )
            cut.append([])
            labels.append(label)
        else:
            cut[-1].append(token)
    return [Clause(part, label) for part, label in zip(cut, labels, strict=True) if part]


def _ends(tokens: Sequence[Token], place: int) -> bool:
    return place > 0 and len(tokens[place - 1].text) > 3 and tokens[place - 1].text.isalpha()


def flagged(term: str) -> bool:
    """Whether the vocabulary keeps objects of this technique with a flag."""
    entry = vocabulary("technique").term.get(term)
    return bool(entry and entry.get("flagged"))
