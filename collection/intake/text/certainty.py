"""What of a remark is sure: damage beside words that are known, and of a kind that is said."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from collection.intake.languages import Languages
from collection.intake.text.activity import CLAUSE_ENDS, DAMAGE
from collection.intake.text.known_words import is_known
from collection.intake.text.lexicon import Token

UNSAID = "unsaid"  # a word for damage that names no kind
_SHORT = 2  # letters from which a word counts


@dataclass(frozen=True, slots=True)
class Certain:
    """`spoken`: the tokens without damage that may be denied; `doubted`: there was such damage.

    `unsaid`: damage whose kind its clause does not say.
    """

    spoken: list[Token]
    doubted: bool
    unsaid: bool


def certain(tokens: Sequence[Token], spoken: Sequence[Token], languages: Languages) -> Certain:
    """Of the tokens of a remark, and those of them that nothing denies, what is sure."""
    left_out: set[int] = set()
    unsaid = False
    for first, last in _clauses(tokens):
        mine = [t for t in spoken if first <= t.start < last]
        damage = [t for t in mine if t.is_a(DAMAGE)]
        words = [t for t in tokens if first <= t.start < last and _is_word(t) and not t.is_a(DAMAGE, UNSAID)]
        unknown = [t for t in words if not t.senses and not is_known(t.text, languages.known_words)]
        if damage and unknown and len(unknown) == len(words):
            left_out.update(t.start for t in mine)
        elif not damage:
            unsaid |= any(t.is_a(UNSAID) for t in mine)
    sure = [t for t in spoken if t.start not in left_out]
    return Certain(sure, bool(left_out), unsaid)


def _clauses(tokens: Sequence[Token]) -> Iterator[tuple[int, int]]:
    """Where each clause begins and ends in the text."""
    start = 0
    for token in tokens:
        if token.text in CLAUSE_ENDS:
            yield start, token.start
            start = token.end
    yield start, tokens[-1].end if tokens else start


def _is_word(token: Token) -> bool:
    return any(letter.isalpha() for letter in token.text) and (
        len(token.text) >= _SHORT or not token.text.isascii()
    )
