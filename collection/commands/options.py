"""The options that commands share: which store, who, which day, which objects."""

import getpass
import os
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any, TypeVar

import click
from natsort import natsorted

from collection.questions.places import place_called
from collection.questions.selection import BY_NAME, FILTERS, PLACE, Selection
from collection.questions.triage import Triage
from collection.settings import DEFAULT_STORE
from schemas.errors import NotFound, WrongUsage

F = TypeVar("F", bound=Callable[..., Any])
DEMONSTRATION_STORE = Path("enamels-demo") / DEFAULT_STORE
Typed = str | bool | tuple[str, ...] | None
MOST_NAMED = 20  # values named in a message


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


def filter_options(command: F) -> F:
    """An option for each filter; the command takes what was typed under the filter's name."""
    for its in reversed(FILTERS):
        words = f"Only these: {its.label.lower()}."
        names, several = f"--{its.option}", bool(its.vocabulary)
        if its.choices:
            names, words = f"--{its.option}/--not-{its.option}", "; ".join(its.choices.values()) + "."
        more: dict[str, Any] = {"default": None} if its.choices else {"multiple": several}
        command = click.option(names, its.name, callback=_choice, help=words, **more)(command)
    return command


def _choice(_context: click.Context, parameter: click.Parameter, typed: Typed) -> tuple[str, ...]:
    """What was typed as values of the filter. Raises WrongUsage for what is none of its choices."""
    its = BY_NAME[str(parameter.name)]
    if isinstance(typed, bool):
        return (list(its.labels())[not typed],)
    values = [(text, its.choice(text)) for text in _several(typed)]
    for text, value in values:
        if value is None:
            what, known = f"there is no {its.label.lower()} '{text}'", ", ".join(list(its.labels())[:MOST_NAMED])
            raise WrongUsage(f"--{its.option}", what, known, "Choose one, by its name or its label.")
    return tuple(value for _, value in values if value is not None)


def selection_of(triage: Triage, typed: Mapping[str, tuple[str, ...]]) -> Selection:
    """What was typed as a selection. Raises NotFound for a place the register does not have."""
    places = tuple(_place(triage, text) for text in typed[PLACE])
    return Selection.of(**{**typed, PLACE: places})


def _place(triage: Triage, text: str) -> str:
    place = place_called(triage.collection["location"], text)
    if place is None:
        known = ", ".join(natsorted(triage.places)[:MOST_NAMED])
        raise NotFound("--location", f"there is no place '{text}'", known, "Choose one, by its number or its name.")
    return place


def _several(typed: str | tuple[str, ...] | None) -> tuple[str, ...]:
    return (typed,) if isinstance(typed, str) else tuple(typed or ())


def login_name() -> str:
    """The name a person is logged in under."""
    try:
        return getpass.getuser()
    except (KeyError, OSError):
        return f"user {os.getuid()}"
