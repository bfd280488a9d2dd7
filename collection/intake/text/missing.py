"""What a word for *missing* says is gone: a part of the object, or enamel."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

from collection.intake.text.activity import CLAUSE_ENDS, DAMAGE
from collection.intake.text.lexicon import Token

LACKING, PIECE, COAT = "lacking", "piece", "coat"
REMAINS, UPON = "remains", "upon"  # `traces of enamel`: the rest is gone; `traces on the enamel`: it is not
_STOPS = CLAUSE_ENDS | {","}
GILDING, WORN = "gilding", "worn"  # a word for wear or loss beside one for gilding
_NEAR = 3  # tokens from a word for remains to the word for enamel: `traces of blue enamel`
_FAR = 4  # tokens that may stand between: `the lid, which was small, is missing` is not read


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
