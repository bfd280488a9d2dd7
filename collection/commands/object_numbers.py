"""Object numbers as a person gives them to a command: one after another, or one a line of a file."""

from collections.abc import Sequence
from pathlib import Path

from collection.files import read_source
from schemas.errors import SourceRefused, WrongUsage

MOST_LISTED_BYTES = 10_000_000


def numbers_asked(named: Sequence[str], path: Path | None, command: str, others: str = "") -> list[str]:
    """Numbers named and those of the file, each once, in order. Raises WrongUsage where there is none."""
    numbers = list(dict.fromkeys([*named, *_listed(path)]))
    if not numbers:
        expected = f"object numbers, --from-file{others}"
        raise WrongUsage(f"enamels {command}", "no object was named", expected, "Name one.")
    return numbers


def _listed(path: Path | None) -> list[str]:
    """Object numbers of a file, one a line."""
    if path is None:
        return []
    try:
        lines = read_source(path, MOST_LISTED_BYTES).decode("utf-8-sig").splitlines()
    except UnicodeDecodeError:
        raise SourceRefused(str(path), "this is no text in UTF-8", "object numbers, one a line", "") from None
    return [line.strip() for line in lines if line.strip()]
