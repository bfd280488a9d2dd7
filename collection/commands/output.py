"""What a command gives back, and the options every command has."""

import getpass
import json
import math
import os
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import Any, TypeVar

import click
import polars as pl

from collection.snapshot import Collection
from collection.store import Store
from schemas.errors import WrongUsage

F = TypeVar("F", bound=Callable[..., Any])
DEFAULT_STORE = "enamels.duckdb"


@dataclass(frozen=True)
class Answer:
    """`words` for people, `document` for `--json`, and the exit code."""

    words: str
    document: Mapping[str, object] = field(default_factory=dict)
    code: int = 0


def emit(answer: Answer, *, as_json: bool) -> None:
    """Print an answer: with `--json` one document on standard output and the words on standard error."""
    if as_json:
        click.echo(json.dumps(plain(answer.document), ensure_ascii=False, allow_nan=False))
    if answer.words:
        click.echo(answer.words, err=as_json)
    if answer.code:
        raise click.exceptions.Exit(answer.code)


def plain(value: object) -> object:
    """Anything as JSON can say it: dates as text, frames as rows, no NaN."""
    if isinstance(value, pl.DataFrame):
        return [plain(row) for row in value.iter_rows(named=True)]
    if isinstance(value, Mapping):
        return {str(k): plain(v) for k, v in value.items()}
    if isinstance(value, float):
        return value if math.isfinite(value) else None
    if isinstance(value, str | int | bool | None):
        return value
    return [plain(v) for v in value] if isinstance(value, Sequence) else str(value)


def store_option(command: F) -> F:
    """`--store`: the store file."""
    return click.option(
        "--store",
        "store_path",
        type=click.Path(path_type=Path, dir_okay=False),
        envvar="ENAMELS_STORE",
        default=DEFAULT_STORE,
        show_default=True,
        help="The store file (or ENAMELS_STORE).",
    )(command)


def json_option(command: F) -> F:
    """`--json`: one JSON document on standard output."""
    return click.option("--json", "as_json", is_flag=True, help="One JSON document on standard output.")(command)


def by_option(command: F) -> F:
    """`--by`: who writes."""
    return click.option(
        "--by",
        envvar="ENAMELS_PERSON",
        default=login_name,
        help="Who does this (or ENAMELS_PERSON, else your login name).",
    )(command)


def as_of_option(command: F) -> F:
    """`--as-of`: the day the question is asked for."""
    return click.option("--as-of", "as_of", metavar="DATE", help="As things stood on this day, such as 2026-11-25.")(
        command
    )


def login_name() -> str:
    """The name a person is logged in under."""
    try:
        return getpass.getuser()
    except (KeyError, OSError):
        return f"user {os.getuid()}"


def resolve_as_of(stated: str | None, collection: Collection) -> date:
    """The day asked for; else the store's own day (a demonstration has one); else today."""
    if stated:
        try:
            return date.fromisoformat(stated)
        except ValueError:
            raise WrongUsage(
                "--as-of", f"'{stated}' is no day", "a day such as 2026-11-25", "Write year-month-day."
            ) from None
    kept = collection["setting"].filter(pl.col("name") == "today")["value"]
    return date.fromisoformat(kept[0]) if kept.len() else date.today()


def opened(path: Path) -> Store:
    """The store at a path."""
    return Store(path)
