"""What commands ask for alike: which store, who, which day, which objects."""

import getpass
import os
from collections.abc import Callable, Sequence
from datetime import date
from pathlib import Path
from typing import Any, TypeVar

import click
from click.core import ParameterSource

from collection.environment import DEFAULT_STORE
from collection.files import read_source
from schemas.errors import SourceRefused, WrongUsage

F = TypeVar("F", bound=Callable[..., Any])
DEMONSTRATION_STORE = Path("enamels-demo") / DEFAULT_STORE
MOST_LISTED_BYTES = 10_000_000


def store_option(command: F) -> F:
    """`--store` of a command that reads: without one, the store of this folder, else that of a demonstration in it."""
    return _store_option(command, _to_read)


def written_store_option(command: F) -> F:
    """`--store` of a command that writes: never a demonstration unless it is named."""
    return _store_option(command, _to_write)


def _store_option(command: F, default: Callable[..., Path]) -> F:
    return click.option(
        "--store",
        "store_path",
        metavar="FILE",
        envvar="ENAMELS_STORE",
        callback=default,
        help=f"The store file (or ENAMELS_STORE; else {DEFAULT_STORE} in this folder).",
    )(command)


def _to_write(_context: click.Context, _parameter: click.Parameter, stated: str | None) -> Path:
    if stated is None:
        return DEFAULT_STORE
    path = Path(stated)
    if not stated.strip() or path.is_dir():
        raise WrongUsage("--store", f"'{stated}' is no file", "the path of a store file", "Name one.")
    return path


def _to_read(context: click.Context, parameter: click.Parameter, stated: str | None) -> Path:
    if stated is None and not DEFAULT_STORE.exists() and DEMONSTRATION_STORE.exists():
        click.echo(f"There is no {DEFAULT_STORE} here; this is the demonstration, {DEMONSTRATION_STORE}.", err=True)
        return DEMONSTRATION_STORE
    return _to_write(context, parameter, stated)


def require_named_store(path: Path) -> None:
    """Raise WrongUsage where a command that is about to write was given no store and would take the demonstration."""
    source = click.get_current_context().get_parameter_source("store_path")
    if source is ParameterSource.DEFAULT and path == DEMONSTRATION_STORE:
        what, to_do = f"there is no {DEFAULT_STORE} here, only the demonstration", f"Name it: --store {path}"
        raise WrongUsage("--store", what, "the store to write to", f"{to_do}.")


def json_option(command: F) -> F:
    """`--json`: one JSON document on standard output."""
    return click.option("--json", "as_json", is_flag=True, help="One JSON document on standard output.")(command)


def by_option(command: F) -> F:
    """`--by`: who writes."""
    words = "Who does this (or ENAMELS_PERSON, else your login name)."
    return click.option("--by", envvar="ENAMELS_PERSON", default=login_name, help=words)(command)


def as_of_option(command: F) -> F:
    """`--as-of`: the day the question is asked for."""
    words = "As the register was known on this day, such as 2026-11-25."
    return click.option("--as-of", "as_of", metavar="DATE", help=words)(command)


def day_asked(option: str, stated: str) -> date:
    """The day typed after an option. Raises WrongUsage for what is none."""
    try:
        return date.fromisoformat(stated)
    except ValueError:
        expected = "a day such as 2021-09-30"
        raise WrongUsage(option, f"'{stated}' is no day", expected, "Write year-month-day.") from None


def login_name() -> str:
    """The name a person is logged in under."""
    try:
        return getpass.getuser()
    except (KeyError, OSError):
        return f"user {os.getuid()}"


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
