"""The languages that catalogues are read in: one TOML file each, checked and frozen. A new language is a new file."""

from collections.abc import Iterable, Mapping, Sequence
from functools import cache, cached_property
from pathlib import Path
from typing import Any, Literal

import tomli
from pydantic import BaseModel, ConfigDict, Field, ValidationError, field_validator

from collection.environment import Environment
from collection.intake.text.known_words import KnownWords
from collection.intake.text.lexicon import MARK, Lexicon, Sense
from schemas.errors import VocabularyError
from schemas.terms import Status
from schemas.vocabularies import Vocabulary, vocabularies, vocabulary

Reading = Literal["materials", "dates", "sizes", "remarks", "grades"]
Section = Mapping[str, Mapping[str, tuple[str, ...]]]  # kind → term or role → phrases

# What the readers understand, and the vocabulary whose terms stand under a kind (None: roles of the reader itself).
KINDS: Mapping[Reading, Mapping[str, str | None]] = {
    "materials": {
        "vitreous": "technique",
        "enamelled": "technique",
        "techniques": "technique",
        "bound": "technique",
        "trade": "technique",
        "surface": "technique",
        "by_definition": "technique",
        "metals": "metal",
        "finishes": "metal_finish",
        "body": None,
        "denial": None,
        "other_craft": None,
        "role": None,
    },
    "dates": {
        "role": None,
        "part": "century_part",
        "ordinal": None,
        "suffix": None,
        "decade": None,
        "tens": None,
        "hundred": None,
    },
    "sizes": {"label": None, "measure_unit": None, "role": None},
    "remarks": {
        "damage": "damage",
        "repair": "repair_material",
        "repair_unnamed": "repair_material",
        "activity": "activity",
        "wet": "damage",
        "lacking": "damage",
        "coat": "damage",
        "piece": None,
        "remains": None,
        "upon": None,
        "unsaid": None,
        "gilding": None,
        "worn": "damage",
        "role": None,
        "month": None,
    },
    "grades": {"grade": "grade", "role": None},
}


INFLECTED = ("materials", "remarks")  # whose words are read in other forms than the listed ones


class Example(BaseModel):
    """A text and what must be read from it with this file alone and cannot be read with another language alone."""

    model_config = ConfigDict(extra="forbid", frozen=True)
    reading: Reading
    text: str = Field(min_length=1)
    expected: Mapping[str, Any] = Field(min_length=1)


class Language(BaseModel):
    """One language file."""

    model_config = ConfigDict(extra="forbid", frozen=True)
    language: str = Field(pattern=r"^[a-z]{2,3}$")
    label: str = Field(min_length=1)
    status: Status
    source: str = Field(min_length=1)
    marks: tuple[str, ...] = ()  # words that mean nothing to a reader and tell the language
    common: tuple[str, ...] = ()  # other words of such texts that mean nothing to a reader
    weak: tuple[str, ...] = ()  # words believed only where the rest of the text speaks this language
    endings: tuple[str, ...] = ()  # that words of materials and of condition may take or change
    loose: tuple[str, ...] = ()  # long words read with one letter wrong
    materials: Section = {}
    dates: Section = {}
    sizes: Section = {}
    remarks: Section = {}
    grades: Section = {}
    example: tuple[Example, ...] = Field(min_length=1)

    @field_validator(*KINDS)
    @classmethod
    def _kinds_known(cls, section: Section, info: Any) -> Section:
        unknown = set(section) - set(KINDS[info.field_name])
        if unknown:
            raise ValueError(f"no reader understands {', '.join(sorted(unknown))}")
        return section

    def entries(self, reading: Reading) -> Iterable[tuple[str, Sense]]:
        """Phrases of one reading with their senses."""
        section: Section = getattr(self, reading)
        for kind, values in section.items():
            for value, phrases in values.items():
                for phrase in phrases:
                    yield phrase, Sense(self.language, kind, value, phrase in self.weak)
        for mark in self.marks:
            yield mark, Sense(self.language, MARK, mark)

    def known_words(self) -> KnownWords:
        """Every word of the file, and those that name periods and objects in any language."""
        own = [phrase for reading in KINDS for phrase, _ in self.entries(reading)]
        shared = [
            w for name in ("period", "object_type") for e in vocabulary(name).term.values() for w in e.get("words", ())
        ]
        return KnownWords.of([*own, *self.common, *shared], self.endings)


class Languages(BaseModel):
    """The languages in use, in the order of their names."""

    model_config = ConfigDict(frozen=True)
    each: tuple[Language, ...]

    @cached_property
    def known_words(self) -> tuple[KnownWords, ...]:
        """The words of each language, in order."""
        return tuple(language.known_words() for language in self.each)

    @cached_property
    def labels(self) -> str:
        """The names of the languages, as a list."""
        return ", ".join(language.label for language in self.each)

    def _lexicon(self, reading: Reading) -> Lexicon:
        loose = [word for language in self.each for word in language.loose]
        endings = {lang.language: lang.endings for lang in self.each} if reading in INFLECTED else {}
        return Lexicon((entry for language in self.each for entry in language.entries(reading)), loose, endings)

    @cached_property
    def materials(self) -> Lexicon:
        """Words of technique, metal, finish and of what is no enamel on metal."""
        return self._lexicon("materials")

    @cached_property
    def dates(self) -> Lexicon:
        """Words of dates, with the names of periods from their vocabulary."""
        named = [
            (phrase, Sense(language.language, "period", key))
            for key, entry in vocabulary("period").term.items()
            for phrase in entry.get("words", ())
            for language in self.each
        ]
        spoken = [entry for language in self.each for entry in language.entries("dates")]
        return Lexicon([*spoken, *named])

    @cached_property
    def sizes(self) -> Lexicon:
        """Words of dimensions and units."""
        return self._lexicon("sizes")

    @cached_property
    def remarks(self) -> Lexicon:
        """Words of damage and of old repairs."""
        return self._lexicon("remarks")

    @cached_property
    def grades(self) -> Lexicon:
        """Words of a check's grade."""
        return self._lexicon("grades")


def load(folder: Path | None = None, only: Sequence[str] | None = None) -> Languages:
    """Every language file of `folder` (default: ENAMELS_LANGUAGES, else those of the register), or only the named ones.

    Raises VocabularyError naming the file when one is unreadable or names a kind or term nobody knows.
    """
    chosen = folder or Environment.read().languages or Path(__file__).parent / "languages"
    return _load(chosen, None if only is None else tuple(only))


@cache
def _load(folder: Path, only: tuple[str, ...] | None) -> Languages:
    paths = sorted(folder.glob("*.toml"))
    return Languages(each=tuple(_language(path) for path in paths if only is None or path.stem in only))


def _language(path: Path) -> Language:
    try:
        language = Language.model_validate(tomli.loads(path.read_text("utf-8")))
    except (OSError, tomli.TOMLDecodeError) as error:
        raise VocabularyError(path.name, str(error), "a readable TOML file", "Correct the file.") from error
    except ValidationError as error:
        first = error.errors()[0]
        dotted = ".".join(map(str, first["loc"]))
        raise VocabularyError(f"{path.name}, {dotted}", first["msg"], "", "Correct the file.") from None
    _check_terms(path.name, language)
    return language


def _check_terms(file: str, language: Language) -> None:
    for reading, kinds in KINDS.items():
        section: Section = getattr(language, reading)
        for kind, name in kinds.items():
            known = _vocabulary(name)
            lost = set(section.get(kind, {})) - set(known.term) if known else set()
            if lost:
                raise VocabularyError(
                    f"{file}, {reading}.{kind}",
                    f"unknown terms {', '.join(sorted(lost))}",
                    f"terms of {name}",
                    "Correct the file.",
                )


def _vocabulary(name: str | None) -> Vocabulary | None:
    return vocabularies().get(name or "")  # one the register does not hold is not checked against
