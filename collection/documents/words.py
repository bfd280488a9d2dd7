"""The words of the report, read once from `words.toml`."""

from collections.abc import Mapping, Sequence
from functools import cache
from pathlib import Path
from typing import Any

import tomli

WORDS = Path(__file__).parent / "words.toml"


@cache
def words() -> Mapping[str, Any]:
    """The whole file."""
    return tomli.loads(WORDS.read_text("utf-8"))


def title(name: str) -> str:
    """Heading of a block."""
    return str(words()["title"][name])


def label(name: str) -> str:
    """What stands before a fact."""
    return str(words()["label"][name])


def columns(*names: str) -> tuple[tuple[str, str], ...]:
    """Key and heading of each column of a table."""
    return tuple((name, str(words()["column"][name])) for name in names)


def sheet_heading(name: str) -> str:
    """Heading of a column of a workbook."""
    return str(words()["sheet"][name])


def sheet_name(name: str) -> str:
    """Name of a sheet of a workbook."""
    return str(words()["sheet_name"][name])


def say(name: str, /, **parts: object) -> str:
    """A short phrase with its parts filled in."""
    return str(words()["say"][name]).format(**parts)


def text(name: str, /, **parts: object) -> str:
    """A sentence with its parts filled in."""
    return str(words()["text"][name]["text"]).format(**parts)


def texts(name: str) -> Sequence[Mapping[str, str]]:
    """A list of sentences, each with its text and when it holds."""
    return tuple(words()[name])
