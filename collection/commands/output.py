"""What a command answers: words for people, one JSON document for programs, and an exit code."""

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass, field

import click
import polars as pl
from pydantic_core import to_json

# Control characters but the line feed, and marks that change the direction of writing: shown, never sent to a terminal.
UNSHOWN = re.compile("[\x00-\x09\x0b-\x1f\x7f-\x9f\u061c\u200e\u200f\u202a-\u202e\u2066-\u2069]")


@dataclass(frozen=True)
class Answer:
    """`words` for people, `document` for `--json`, and the exit code."""

    words: str
    document: Mapping[str, object] = field(default_factory=dict)
    code: int = 0


def emit(answer: Answer, *, as_json: bool) -> None:
    """Print an answer: with `--json` one document on standard output and the words on standard error."""
    if as_json:
        click.echo(json_text(answer.document))
    if answer.words:
        click.echo(visible(answer.words), err=as_json)
    if answer.code:
        raise click.exceptions.Exit(answer.code)


def visible(text: str) -> str:
    r"""Text with its control characters written out, a bell as \x07: a terminal obeys none of them."""
    return UNSHOWN.sub(lambda sign: sign[0].encode("unicode_escape").decode(), text)


def json_text(value: object) -> str:
    """One JSON document: frames as lists of rows, dates as text, no NaN and no infinity."""
    return to_json(value, inf_nan_mode="null", fallback=_as_plain).decode()


def _as_plain(value: object) -> object:
    """What JSON has no form for."""
    if isinstance(value, pl.DataFrame):
        return [{name: _finite(cell) for name, cell in row.items()} for row in value.iter_rows(named=True)]
    return str(value)


def _finite(cell: object) -> object:
    return None if isinstance(cell, float) and not math.isfinite(cell) else cell
