"""Forms of words by rule: endings that languages add to a word or change, and accents that part two words."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Generic, TypeVar

SHORTEST_STEM = 4  # letters an ending leaves standing

T = TypeVar("T")


def stems_of(word: str, endings: Sequence[str]) -> Iterator[str]:
    """The word itself and what is left of it without any of the endings, where that is long enough."""
    for ending in ("", *endings):
        if word.endswith(ending) and len(word) - len(ending) >= SHORTEST_STEM:
            yield word[: len(word) - len(ending)]


class Endings(Generic[T]):
    """The listed words of languages by what is left of them without an ending; endings stand for each other."""

    def __init__(self, of_language: Mapping[str, Sequence[str]]) -> None:
        self._endings = {language: tuple(endings) for language, endings in of_language.items() if endings}
        self._by_stem: dict[tuple[str, str], list[T]] = {}
        self._answers: dict[str, list[T]] = {}

    def add(self, word: str, language: str, meaning: T) -> None:
        """Note a listed word of a language."""
        for stem in self._stems(word, language):
            meanings = self._by_stem.setdefault((language, stem), [])
            if meaning not in meanings:
                meanings.append(meaning)

    def of(self, word: str) -> list[T]:
        """What listed words mean that differ from this one only in their ending; the longest stem counts."""
        if word not in self._answers:
            self._answers[word] = self._of(word)
        return self._answers[word]

    def _of(self, word: str) -> list[T]:
        longest = 0
        meanings: list[T] = []
        for language in self._endings:
            for stem in self._stems(word, language):
                meant = self._by_stem.get((language, stem), []) if len(stem) >= longest else []
                if meant and len(stem) > longest:
                    longest, meanings = len(stem), []
                meanings += [m for m in meant if m not in meanings]
        return meanings

    def _stems(self, word: str, language: str) -> Iterable[str]:
        return stems_of(word, self._endings[language]) if language in self._endings else ()


class Accents(Generic[T]):
    """Phrases that a language lists with and without accents: there, and only there, the accents of a text decide."""

    def __init__(self) -> None:
        self._written: dict[tuple[str, ...], dict[str, dict[str, list[T]]]] = {}

    def add(self, key: tuple[str, ...], written: str, language: str, meaning: T) -> None:
        """Note a phrase as it is written in a language file."""
        self._written.setdefault(key, {}).setdefault(language, {}).setdefault(written, []).append(meaning)

    def left_out(self, key: tuple[str, ...], written: str) -> list[T]:
        """What the phrase does not mean as the text writes it."""
        out: list[T] = []
        for forms in self._written.get(key, {}).values():
            if len(forms) > 1 and written in forms:
                out += [m for form, its in forms.items() for m in its if form != written and m not in forms[written]]
        return out
