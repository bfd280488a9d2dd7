"""What the words around a damage tell of it: that it goes on or rests, what is gone, and how sure all that is."""

from bisect import bisect_left
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import groupby

from collection.intake.languages import Languages
from collection.intake.text.known_words import is_unknown
from collection.intake.text.lexicon import MARK, Token
from schemas.vocabularies import vocabulary

CLAUSE_ENDS = frozenset({";", ".", ":", "\n", "!", "?"})
DAMAGE, ACTIVITY, WET = "damage", "activity", "wet"
LACKING, PIECE, COAT = "lacking", "piece", "coat"
REMAINS, UPON = "remains", "upon"  # `traces of enamel`: the rest is gone; `traces on the enamel`: it is not
_STOPS = CLAUSE_ENDS | {","}
GILDING, WORN = "gilding", "worn"  # a word for wear or loss beside one for gilding
_NEAR = 3  # tokens from a word for remains to the word for enamel: `traces of blue enamel`
_FAR = 4  # tokens that may stand between: `the lid, which was small, is missing` is not read
THINGS = frozenset((MARK, COAT, GILDING, PIECE))  # senses of words that name a thing and say nothing of its condition
UNSAID = "unsaid"  # a word for damage that names no kind
_SHORT = 2  # letters from which a word counts


def activities(tokens: Sequence[Token]) -> Mapping[str, str]:
    """Damage kind to the activity said of it, for tokens that nothing denies; of other kinds nothing is said.

    A word of activity speaks of the damage between the same commas; alone between commas, of what its clause names
    before it; alone in its clause, of all that stands before.
    """
    states: dict[str, str] = {}
    before: list[str] = []
    for clause in _parts(tokens, CLAUSE_ENDS):
        own: list[str] = []
        for item in _parts(clause, {","}):
            kinds, state = _values(item, DAMAGE), next(iter(_values(item, ACTIVITY)), None)
            own += kinds
            if state is not None:
                _settle(states, kinds or [k for k in own or before if k not in states], state)
        before += own
    return states


def wet_glass(tokens: Sequence[Token]) -> Mapping[str, Token]:
    """Damage kinds that a word for wet names beside one of unstable glass, each with its word: they are active."""
    unstable = set(vocabulary("damage").terms_where("unstable_glass"))
    if not unstable.intersection(_values(tokens, DAMAGE)):
        return {}
    return {value: token for token in tokens if (value := token.value(WET))}


def moving() -> str:
    """The activity of what is under way."""
    return vocabulary(ACTIVITY).terms_where("moving")[0]


def _settle(states: dict[str, str], kinds: Sequence[str], state: str) -> None:
    for kind in kinds:
        if states.get(kind) != moving():
            states[kind] = state


def _values(tokens: Sequence[Token], kind: str) -> list[str]:
    return [value for token in tokens if (value := token.senses.get(kind))]


def with_what_is_missing(tokens: Sequence[Token]) -> Iterator[Token]:
    """The tokens; a word for *missing* beside a word for a part or for enamel becomes the damage which that is.

    The nearer word decides; a word for *missing* that stands alone stays what its language file says. Remains of enamel
    tell that the rest is gone.
    """
    for place, token in enumerate(tokens):
        term = _gone(tokens, place) if token.is_a(LACKING) else None
        term = term or (_rest_gone(tokens, place) if token.is_a(REMAINS) else None)
        term = _of_gilding(tokens, place) or term
        yield replace(token, senses={**token.senses, DAMAGE: term}) if term else token


def _gone(tokens: Sequence[Token], place: int) -> str | None:
    near = [_nearest(tokens[place + 1 : place + 1 + _FAR]), _nearest(reversed(tokens[max(0, place - _FAR) : place]))]
    named = [pair for pair in near if pair is not None]
    return _term(tokens[place], min(named, key=lambda pair: pair[0])[1]) if named else None


def _of_gilding(tokens: Sequence[Token], place: int) -> str | None:
    """`gilding slightly worn`: what is worn or lost is the gilding."""
    if not tokens[place].is_a(WORN):
        return None
    for near in (reversed(tokens[max(0, place - _NEAR) : place]), tokens[place + 1 : place + 1 + _NEAR]):
        for token in near:
            if token.text in _STOPS or token.is_a(COAT, PIECE, DAMAGE):
                break
            if token.is_a(GILDING):
                return tokens[place].value(WORN)
    return None


def _rest_gone(tokens: Sequence[Token], place: int) -> str | None:
    for token in tokens[place + 1 : place + 1 + _NEAR]:
        if token.is_a(COAT):
            return token.value(COAT)
        if token.text in _STOPS or token.is_a(UPON, DAMAGE):
            return None
    return None


def _nearest(tokens: Iterable[Token]) -> tuple[int, Token] | None:
    for steps, token in enumerate(tokens):
        if token.text in _STOPS:
            return None
        if token.is_a(PIECE, COAT):
            return steps, token
    return None


def _term(lacking: Token, what: Token) -> str | None:
    return lacking.value(LACKING) if what.is_a(PIECE) else what.value(COAT)


@dataclass(frozen=True, slots=True)
class Certain:
    """`spoken`: the tokens without damage that may be denied; `doubted`: there was such damage.

    `unsaid`: damage whose kind its clause does not say; `partly`: words between commas are unknown and nothing there
    was read, while something else was.
    """

    spoken: list[Token]
    doubted: bool
    unsaid: bool
    partly: bool


def certain(tokens: Sequence[Token], spoken: Sequence[Token], languages: Languages) -> Certain:
    """Of the tokens of a remark, and those of them that nothing denies, what is sure."""
    left_out: set[int] = set()
    unsaid = False
    starts = [t.start for t in spoken]
    for part in _parts(tokens, CLAUSE_ENDS):
        mine = spoken[bisect_left(starts, part[0].start) : bisect_left(starts, part[-1].end)]
        damage = [t for t in mine if t.is_a(DAMAGE)]
        words = [t for t in part if _is_word(t) and not t.is_a(DAMAGE, UNSAID)]
        unknown = [t for t in words if is_unknown(t, languages.known_words)]
        if damage and unknown and len(unknown) == len(words):
            left_out.update(t.start for t in mine)
        elif not damage:
            unsaid |= any(t.is_a(UNSAID) for t in mine)
    sure = [t for t in spoken if t.start not in left_out]
    return Certain(sure, bool(left_out), unsaid, bool(sure) and _partly(tokens, languages))


def _partly(tokens: Sequence[Token], languages: Languages) -> bool:
    """Between two commas stand unknown words, and none that says anything of condition."""
    for part in _parts(tokens, CLAUSE_ENDS | {","}):
        words = [t for t in part if _is_word(t)]
        silent = not any(set(t.senses) - THINGS for t in words)
        if silent and any(is_unknown(t, languages.known_words) for t in words):
            return True
    return False


def _parts(tokens: Sequence[Token], ends: Collection[str]) -> Iterator[list[Token]]:
    """The tokens between these signs, as far as there are any."""
    for is_end, part in groupby(tokens, lambda token: token.text in ends):
        if not is_end:
            yield list(part)


def _is_word(token: Token) -> bool:
    return any(letter.isalpha() for letter in token.text) and (len(token.text) >= _SHORT or not token.text.isascii())
