"""Vocabularies and values, read once from TOML and frozen. Code knows vocabularies and properties, never terms.

A museum may keep its own copy of the folder and name it in `ENAMELS_VOCABULARIES`.
"""

import os
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any, TypeVar

import tomli
from pydantic import BaseModel, ConfigDict, Field, SerializeAsAny, ValidationError

from schemas.errors import VocabularyError
from schemas.terms import TERM_MODELS, Status, TermDefinition

FOLDER = "ENAMELS_VOCABULARIES"
T = TypeVar("T", bound=TermDefinition)
STATUS_WORDS: Mapping[str, str] = {
    "V": "verified in the source named",
    "V2": "verified in a secondary source",
    "M": "from memory, unverified",
    "A": "common practice, no source",
    "J": "judgement, published by nobody",
}


class Vocabulary(BaseModel):
    """A list of terms in order."""

    model_config = ConfigDict(extra="forbid", frozen=True)
    name: str
    label: str = Field(min_length=1)
    definition: str = Field(min_length=1)
    status: Status
    source: str = Field(min_length=1)
    ordered: bool = False
    term: dict[str, SerializeAsAny[TermDefinition]] = Field(min_length=1)

    def terms_where(self, name: str) -> tuple[str, ...]:
        """Terms whose property `name` is set, in order. AttributeError where the vocabulary has no such property."""
        return tuple(key for key, entry in self.term.items() if getattr(entry, name))

    def labels(self) -> Mapping[str, str]:
        """Term to label."""
        return {key: entry.label for key, entry in self.term.items()}

    def properties(self, name: str) -> Mapping[str, Any]:
        """Term to the value of one property, for the terms that set it."""
        values = {key: getattr(entry, name) for key, entry in self.term.items()}
        return {key: value for key, value in values.items() if value not in (None, ())}

    def root_term(self, key: str) -> str:
        """The broadest term above `key`, or itself."""
        broader = self.term[key].broader
        return key if broader is None else self.root_term(broader)


def folder() -> Path:
    """Where the vocabulary files lie; raises VocabularyError where the museum named a folder that is not there."""
    own = os.environ.get(FOLDER)
    if own and not Path(own).is_dir():
        raise VocabularyError(FOLDER, f"there is no folder {own}", "a folder of vocabularies", "Correct or unset it.")
    return Path(own) if own else Path(__file__).parent / "vocabularies"


@cache
def load_parameters(name: str) -> Mapping[str, Any]:
    """A file of values as it stands, `name` without ending; what reads it validates it."""
    path = folder() / f"{name}.toml"
    try:
        return tomli.loads(path.read_text("utf-8"))
    except (OSError, tomli.TOMLDecodeError) as error:
        raise VocabularyError(path.name, str(error), "a readable TOML file", "Restore the file.") from error


@cache
def vocabularies() -> Mapping[str, Vocabulary]:
    """Every vocabulary by name. A file holds one (`[term.X]`) or several (`[vocabulary.NAME.term.X]`)."""
    read: dict[str, Vocabulary] = {}
    for path in sorted(folder().glob("*.toml")):
        whole = load_parameters(path.stem)
        several = whole.get("vocabulary", {path.stem: whole} if "term" in whole else {})
        read |= {name: _vocabulary(path.name, name, raw) for name, raw in several.items()}
    return read


def terms(name: str, model: type[T]) -> Mapping[str, T]:
    """The terms of a vocabulary, typed; raises VocabularyError where the folder lacks it."""
    return {key: its for key, its in vocabulary(name).term.items() if isinstance(its, model)}


def vocabulary(name: str) -> Vocabulary:
    """The vocabulary of this name; raises VocabularyError where the folder lacks it."""
    if name not in vocabularies():
        raise VocabularyError(str(folder()), f"there is no vocabulary {name}", "", "Restore its file.")
    return vocabularies()[name]


def _vocabulary(file: str, name: str, raw: Mapping[str, Any]) -> Vocabulary:
    inherited = {"status": raw.get("status"), "source": raw.get("source")}
    terms = {key: _term(f"{file}, {name}.term.{key}", name, inherited | entry) for key, entry in raw["term"].items()}
    try:
        read = Vocabulary.model_validate({**raw, "name": name, "term": terms})
    except ValidationError as error:
        raise _wrong(f"{file}, {name}", error) from None
    lost = [f"{key}: {e.broader}" for key, e in terms.items() if e.broader and e.broader not in terms]
    if lost:
        raise VocabularyError(file, f"a broader term does not exist ({', '.join(lost)})", "", "Correct the file.")
    return read


def _term(where: str, vocabulary_name: str, raw: Mapping[str, Any]) -> TermDefinition:
    try:
        return TERM_MODELS.get(vocabulary_name, TermDefinition).model_validate(raw)
    except ValidationError as error:
        raise _wrong(where, error) from None


def _wrong(where: str, error: ValidationError) -> VocabularyError:
    """The first thing that is wrong, with its dotted key; a property nobody knows is said with the ones there are."""
    first = error.errors()[0]
    dotted = ".".join(map(str, first["loc"]))
    return VocabularyError(f"{where}.{dotted}", first["msg"], "", "Correct the file.")
