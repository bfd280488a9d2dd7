"""Whether a damage told in words is said to go on or to rest: `weeping, lifting, active`; `crack, stable`."""

from collections.abc import Iterator, Mapping, Sequence

from collection.intake.text.lexicon import Token
from schemas.vocabularies import vocabulary

CLAUSE_ENDS = frozenset({";", ".", ":", "\n", "!", "?"})
DAMAGE, ACTIVITY, WET = "damage", "activity", "wet"


def activities(tokens: Sequence[Token]) -> Mapping[str, str]:
    """Damage kind to the activity said of it, for tokens that nothing denies; of other kinds nothing is said.

    A word of activity speaks of the damage between the same commas; alone between commas, of what its clause names
    before it; alone in its clause, of all that stands before.
    """
    states: dict[str, str] = {}
    before: list[str] = []
    for clause in _cut(tokens, CLAUSE_ENDS):
        own: list[str] = []
        for item in _cut(clause, frozenset({","})):
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


def _cut(tokens: Sequence[Token], signs: frozenset[str]) -> Iterator[list[Token]]:
    part: list[Token] = []
    for token in tokens:
        if token.text in signs:
            yield part
            part = []
        else:
            part.append(token)
    yield part
