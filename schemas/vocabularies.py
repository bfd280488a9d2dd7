"""Vocabularies and values, read once from TOML and frozen. Code knows vocabularies and properties, never terms.

A museum may keep its own copy of the folder and name it in `ENAMELS_VOCABULARIES`.
"""

import os
import tomllib
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from schemas.errors import VocabularyError

Status = Literal["V", "V2", "M", "A", "J"]  # verified, verified in a weak source, from memory, advice, judgement
STATUS_WORDS: Mapping[str, str] = {
    "V": "verified in the source named",
    "V2": "verified in a secondary source",
    "M": "from memory, unverified",
    "A": "common practice, no source",
    "J": "judgement, published by nobody",
}


class TermDefinition(BaseModel):
    """One term; what depends on it are its further properties."""

    model_config = ConfigDict(extra="allow", frozen=True)
    label: str = Field(min_length=1)
    definition: str = Field(min_length=1)
    status: Status
    source: str = Field(min_length=1)
    aat: str | None = Field(default=None, pattern=r"^300[0-9]{6}$")
    broader: str | None = None

    def get(self, name: str, default: Any = None) -> Any:
        """A further property of the term."""
        return (self.model_extra or {}).get(name, default)


class Vocabulary(BaseModel):
    """A list of terms in order."""

    model_config = ConfigDict(extra="forbid", frozen=True)
    name: str
    label: str = Field(min_length=1)
    definition: str = Field(min_length=1)
    status: Status
    source: str = Field(min_length=1)
    ordered: bool = False
    term: dict[str, TermDefinition] = Field(min_length=1)

    def terms_where(self, name: str, value: object = True) -> tuple[str, ...]:
        """Terms whose property `name` equals `value`, in order."""
        return tuple(key for key, entry in self.term.items() if entry.get(name) == value)

    def labels(self) -> Mapping[str, str]:
        """Term to label."""
        return {key: entry.label for key, entry in self.term.items()}

    def properties(self, name: str) -> Mapping[str, Any]:
        """Term to the value of one property, for the terms that have it."""
        return {key: entry.get(name) for key, entry in self.term.items() if entry.get(name) is not None}

    def root_term(self, key: str) -> str:
        """The broadest term above `key`, or itself."""
        broader = self.term[key].broader
        return key if broader is None else self.root_term(broader)


def folder() -> Path:
    """Where the vocabulary files lie."""
    return Path(os.environ.get("ENAMELS_VOCABULARIES") or Path(__file__).parent / "vocabularies")


@cache
def load_parameters(name: str) -> Mapping[str, Any]:
    """A file of values as it stands, `name` without ending; what reads it validates it."""
    path = folder() / f"{name}.toml"
    try:
        return tomllib.loads(path.read_text("utf-8"))
    except (OSError, tomllib.TOMLDecodeError) as error:
        raise VocabularyError(path.name, str(error), "a readable TOML file", "Restore the file.") from error


@cache
def vocabularies() -> Mapping[str, Vocabulary]:
    """Every vocabulary by name. A file holds one (`[term.X]`) or several (`[vocabulary.NAME.term.X]`)."""
    found: dict[str, Vocabulary] = {}
    for path in sorted(folder().glob("*.toml")):
        whole = load_parameters(path.stem)
        several = whole.get("vocabulary", {path.stem: whole} if "term" in whole else {})
        found |= {name: _vocabulary(path.name, name, raw) for name, raw in several.items()}
    return found


def vocabulary(name: str) -> Vocabulary:
    """The vocabulary of this name."""
    return vocabularies()[name]


def _vocabulary(file: str, name: str, raw: Mapping[str, Any]) -> Vocabulary:
    inherited = {"status": raw.get("status"), "source": raw.get("source")}
    terms = {key: inherited | entry for key, entry in raw.get("term", {}).items()}
    try:
        made = Vocabulary.model_validate({**raw, "name": name, "term": terms})
    except ValidationError as error:
        first = error.errors()[0]
        dotted = ".".join(map(str, first["loc"]))
        raise VocabularyError(f"{file}, {name}.{dotted}", first["msg"], "", "Mend the file.") from None
    lost = [f"{key}: {e.broader}" for key, e in made.term.items() if e.broader and e.broader not in made.term]
    if lost:
        raise VocabularyError(file, f"a broader term does not exist ({', '.join(lost)})", "", "Mend the file.")
    return made
