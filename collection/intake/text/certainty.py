"""What of a remark is sure: damage beside words that are known, and of a kind that is said."""

from bisect import bisect_left
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby

from collection.intake.languages import Languages
from collection.intake.text.activity import CLAUSE_ENDS, DAMAGE
from collection.intake.text.known_words import is_unknown
from collection.intake.text.lexicon import MARK, Token
from collection.intake.text.missing import COAT, GILDING, PIECE

THINGS = frozenset((MARK, COAT, GILDING, PIECE))  # senses of words that name a thing and say nothing of its condition
UNSAID = "unsaid"  # a word for damage that names no kind
_SHORT = 2  # letters from which a word counts


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
