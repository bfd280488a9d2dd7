"""Which words the language files know, and which share of the words of a text that is."""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache

from collection.intake.text.lexicon import Token, cleaned, plain, words_of
from collection.intake.text.word_forms import stems_of

REMEMBERED_WORDS = 100_000
_ROMAN = re.compile(r"[ivxlc]+(e|eme|er|o)?")


@dataclass(frozen=True, eq=False)
class KnownWords:
    """The words of the phrases of one language, taken apart when first asked for: most texts are known to another.

    Words stand as they are written and without accents: a text may leave accents out; other accents are another word.
    """

    phrases: tuple[str, ...]
    endings: tuple[str, ...]

    @classmethod
    def of(cls, phrases: Iterable[str], endings: Sequence[str] = ()) -> "KnownWords":
        """The words of these phrases, which may have any of these endings."""
        return cls(tuple(phrases), tuple(endings))

    @cached_property
    def parts(self) -> frozenset[str]:
        """Every word of the phrases."""
        return frozenset(form for its in self._spelt for forms in its for form in forms)

    @cached_property
    def alone(self) -> frozenset[str]:
        """Those that mean something by themselves."""
        return frozenset(form for its in self._spelt if len(its) == 1 for form in its[0])

    @cached_property
    def wild(self) -> tuple[tuple[str, str], ...]:
        """Starts and ends that stand for any letters between them."""
        cut = (plain(cleaned(phrase)).partition("*") for phrase in self.phrases if _is_wild(phrase))
        return tuple(dict.fromkeys((head, tail) for head, _, tail in cut))

    @cached_property
    def stems(self) -> frozenset[str]:
        """What is left of the words without any of the endings."""
        return frozenset(stem for word in self.parts for stem in stems_of(word, self.endings))

    @cached_property
    def _spelt(self) -> tuple[tuple[tuple[str, str], ...], ...]:
        return tuple(_spelt(phrase) for phrase in self.phrases if not _is_wild(phrase))

    def knows(self, word: str, *, alone: bool = False) -> bool:
        """Whether a word in small letters stands in any phrase of the language, whatever its ending; with `alone`,
        whether it means something by itself as it is."""
        if word in (self.alone if alone else self.parts):
            return True
        if not alone and any(stem in self.stems for stem in stems_of(word, self.endings)):
            return True
        return any(
            len(word) > len(head) + len(tail) and plain(word).startswith(head) and plain(word).endswith(tail)
            for head, tail in self.wild
        )


def _is_wild(phrase: str) -> bool:
    return "*" in phrase and len(phrase) > 1


@lru_cache(maxsize=REMEMBERED_WORDS)
def _spelt(phrase: str) -> tuple[tuple[str, str], ...]:
    """The words of a phrase, each without and with its accents; many phrases are those of every language."""
    return tuple((w.text, w.written) for w in words_of(cleaned(phrase)) if w.text.isalpha())


def words_to_know(text: str) -> tuple[str, ...]:
    """The words of a text that a language has to know: no numbers, signs, single letters or Roman numerals."""
    return _words(cleaned(text))


@lru_cache(maxsize=REMEMBERED_WORDS)
def _words(shown: str) -> tuple[str, ...]:
    return tuple(
        w.written
        for w in words_of(shown)
        if w.text.isalpha() and (len(w.text) > 1 or not w.text.isascii()) and not _ROMAN.fullmatch(w.text)
    )


def known_of(text: str, languages: Sequence[KnownWords]) -> tuple[int, int]:
    """How many words a text has, and how many of them the language knows that knows most of them."""
    words, most = words_to_know(text), 0
    for language in languages:
        most = max(most, sum(map(language.knows, words)))
        if most == len(words):  # no other knows more
            break
    return len(words), most


@lru_cache(maxsize=REMEMBERED_WORDS)
def is_known(word: str, languages: tuple[KnownWords, ...]) -> bool:
    """Whether a word as written means something by itself in any language."""
    return any(language.knows(cleaned(word).lower(), alone=True) for language in languages)


def is_unknown(token: Token, languages: tuple[KnownWords, ...]) -> bool:
    """Whether a token is a word, means nothing to its reader and is known to no language."""
    word = token.text
    return word.isalpha() and len(word) > 1 and not token.senses and not is_known(word, languages)
