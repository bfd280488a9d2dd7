"""A text as words: normalised, and matched against the phrases of the language files. Knows no language and no term."""

import re
import unicodedata
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache
from itertools import pairwise
from typing import NamedTuple

from collection.intake.text.word_forms import Accents, Endings

MARK = "mark"  # the kind of words that only tell a language
UNSURE = "?"  # behind a kind: languages disagree and nothing tells which one is spoken
LONG_WORD = 8  # letters from which a misspelt or broken word can be told safely
_SPACES = re.compile(r"[^\S\n]+")
_WORD = re.compile(r"\d+|[^\W\d_]+|\n|[^\w\s]|_")
_JOINERS = frozenset("-'’‐‑_\"“”‘`´.")  # standing inside a phrase without meaning: silver-gilt, d'argent, v. Chr.
_REPLACED = str.maketrans(
    {
        "\x92": "'",
        "\x91": "'",
        "\x93": '"',
        "\x94": '"',
        "’": "'",
        "‘": "'",
        "‛": "'",
        "`": "'",
        "“": '"',
        "”": '"',
        "„": '"',
        "″": '"',
        "′": "'",
        "‐": "-",
        "‑": "-",
        "–": "-",
        "—": "-",
        "−": "-",
        **dict.fromkeys("\r\u2028\v\f", "\n"),
    }
)


def cleaned(text: str) -> str:
    """The text to show: NFKC, plain quotes and dashes, no control characters; `\\n` keeps its place."""
    if text.isascii() and text.isprintable():  # most texts, and nothing to weigh letter by letter
        return _SPACES.sub(" ", text.replace("`", "'").replace("''", '"'))
    spaced = "".join(
        f" {c}" if unicodedata.category(c) == "No" and unicodedata.decomposition(c).startswith("<fraction") else c
        for c in text.replace("\r\n", "\n").translate(_REPLACED)
    )
    composed = unicodedata.normalize("NFKC", spaced).translate(_REPLACED).replace("\u2044", "/").replace("''", '"')
    letters = (c for c in composed if c == "\n" or unicodedata.category(c) not in {"Cf", "Mn", "Me", "Cs", "Cn", "Co"})
    return _SPACES.sub(" ", "".join(" " if unicodedata.category(c) == "Cc" and c != "\n" else c for c in letters))


@cache
def _base(letter: str) -> str:
    return unicodedata.normalize("NFD", letter)[0].lower()[0]


def plain(shown: str) -> str:
    """Lower case without accents, letter for letter as long as `shown`."""
    return shown.lower() if shown.isascii() else "".join(map(_base, shown))


class Word(NamedTuple):
    """One run of letters, one run of digits or one sign, with its place in the shown text."""

    text: str
    start: int
    end: int
    written: str  # with its accents, in small letters


def words_of(shown: str) -> tuple[Word, ...]:
    """Words and signs of a shown text, in order."""
    return tuple(
        Word(m.group(), m.start(), m.end(), shown[m.start() : m.end()].lower()) for m in _WORD.finditer(plain(shown))
    )


@dataclass(frozen=True, slots=True)
class Sense:
    """One thing a phrase may mean: a kind known to a reader, and a term or role as its value."""

    language: str
    kind: str
    value: str
    weak: bool = False


@dataclass(frozen=True, slots=True)
class Token:
    """A matched phrase or a single unmatched word; `senses` maps kinds to values."""

    text: str
    start: int
    end: int
    senses: Mapping[str, str] = field(default_factory=dict)

    def is_a(self, *kinds: str) -> bool:
        """Whether the token means one of these kinds."""
        return any(kind in self.senses for kind in kinds)

    def value(self, *kinds: str) -> str | None:
        """The value under the first of these kinds it means."""
        return next((self.senses[kind] for kind in kinds if kind in self.senses), None)


Phrase = tuple[str, ...]


class Lexicon:
    """Phrases with what they mean, over the loaded languages. `*` at an end of a word stands for any letters.

    `endings`: by language, those that its words may take.
    """

    def __init__(
        self,
        entries: Iterable[tuple[str, Sense]],
        loose: Iterable[str] = (),
        endings: Mapping[str, Sequence[str]] | None = None,
    ) -> None:
        self._endings: Endings[Sense] = Endings(endings or {})
        self._accents: Accents[Sense] = Accents()
        self._exact: dict[Phrase, list[Sense]] = {}
        self._wild: list[tuple[str, str, Sense]] = []  # start, end, sense
        for phrase, sense in entries:
            self._add(phrase, sense)
        self._longest = max(map(len, self._exact), default=1)
        self._loose = tuple({plain(word) for word in loose})
        self._known = {word for phrase in self._exact for word in phrase}
        self._guessed: dict[str, Phrase | None] = {}

    def _add(self, phrase: str, sense: Sense) -> None:
        if "*" in phrase and len(phrase) > 1:
            head, _, tail = plain(cleaned(phrase)).partition("*")
            self._wild.append((head, tail, sense))
            return
        words = [w for w in words_of(cleaned(phrase)) if w.text not in _JOINERS or len(phrase) == 1]
        key = tuple(w.text for w in words)
        self._accents.add(key, " ".join(w.written for w in words), sense.language, sense)
        if len(key) == 1 and sense.kind != MARK:
            self._endings.add(key[0], sense.language, sense)
        for spelt in {key, ("".join(key),)} if len(key) > 1 and len("".join(key)) >= LONG_WORD else {key}:
            senses = self._exact.setdefault(spelt, [])
            if sense not in senses:
                senses.append(sense)

    def tokens(self, shown: str) -> list[Token]:
        """The text as tokens, longest phrase first; unmatched words and signs stand alone without senses."""
        words = words_of(shown)
        spans = list(self._spans(words))
        scores = _scores([senses for _, _, senses in spans])
        return [
            Token(shown[words[i].start : words[j - 1].end], words[i].start, words[j - 1].end, _chosen(senses, scores))
            for i, j, senses in spans
        ]

    def _spans(self, words: Sequence[Word]) -> Iterable[tuple[int, int, list[Sense]]]:
        place = 0
        while place < len(words):
            end, senses = self._match(words, place)
            yield place, end, senses
            place = end

    def _match(self, words: Sequence[Word], place: int) -> tuple[int, list[Sense]]:
        best, senses_in = place + 1, self._exact.get((words[place].text,), [])
        key: Phrase = ()
        matched: Phrase = (words[place].text,)
        for end in range(place, min(len(words), place + 2 * self._longest)):
            if words[end].text in _JOINERS and end > place:
                continue
            key = (*key, words[end].text)
            if len(key) > self._longest:
                break
            if len(key) > 1 and key in self._exact:
                best, senses_in, matched = end + 1, self._exact[key], key
        if not senses_in:
            return self._unlisted(words, place)
        written = " ".join(w.written for w in words[place:best] if w.text not in _JOINERS or best == place + 1)
        left_out = self._accents.left_out(matched, written)
        return best, [s for s in senses_in if s not in left_out]

    def _unlisted(self, words: Sequence[Word], place: int) -> tuple[int, list[Sense]]:
        text = words[place].text
        if not text.isalpha() or text in self._known:
            return place + 1, []
        if inflected := self._endings.of(text):
            return place + 1, inflected
        wild = [
            s
            for head, tail, s in self._wild
            if len(text) > len(head) + len(tail) and text.startswith(head) and text.endswith(tail)
        ]
        if wild:
            return place + 1, wild
        return self._broken(words, place) or (place + 1, self._exact.get(self._guess(text) or (), []))

    def _broken(self, words: Sequence[Word], place: int) -> tuple[int, list[Sense]] | None:
        """A long word that a line end or a hyphen broke in two."""
        ahead = range(place + 1, min(place + 3, len(words)))
        after = next((i for i in ahead if words[i].text not in {"-", "\n"}), None)
        if after is None or words[after].text in self._known:
            return None
        joined = words[place].text + words[after].text
        senses_in = self._exact.get((joined,)) if len(joined) >= LONG_WORD else None
        return (after + 1, senses_in) if senses_in else None

    def _guess(self, text: str) -> Phrase | None:
        if text not in self._guessed:
            from rapidfuzz.distance import OSA  # few words are guessed, and every command would wait for it

            near = [
                w
                for w in self._loose
                if len(w) >= LONG_WORD - 1 and w[0] == text[0] and OSA.distance(w, text, score_cutoff=1) <= 1
            ]
            self._guessed[text] = next(((w,) for w in near if (w,) in self._exact), None)
        return self._guessed[text]


def _scores(senses_in: Sequence[list[Sense]]) -> dict[str, float]:
    scores: dict[str, float] = {}
    for senses in senses_in:
        spoken = {s.language for s in senses if not s.weak}
        for language in spoken:
            scores[language] = scores.get(language, 0.0) + 1 / len(spoken)
    return scores


def _chosen(senses: Sequence[Sense], scores: Mapping[str, float]) -> dict[str, str]:
    """What a phrase means here. Where languages disagree, the one that the rest of the text speaks decides."""
    top = max(scores.values(), default=0.0)
    strong = [s for s in senses if not s.weak or 0 < scores.get(s.language, 0.0) >= top]
    meant = {
        language: {(s.kind, s.value) for s in strong if s.language == language}
        for language in {s.language for s in strong}
    }
    if any(a != b for a, b in pairwise(meant.values())):
        best = max(scores.get(language, 0.0) for language in meant)
        strong = [s for s in strong if scores.get(s.language, 0.0) >= best]
    values: dict[str, set[str]] = {}
    for sense in strong:
        values.setdefault(sense.kind, set()).add(sense.value)
    return {kind if len(several) == 1 else kind + UNSURE: min(several) for kind, several in values.items()}
