"""The options that pick objects: one for each filter, and what was typed as a selection.

Apart from the other options, since the questions come with them, which a command that writes has no use for.
"""

from collections.abc import Callable, Mapping
from typing import Any, TypeVar

import click

from collection.questions.places import place_called
from collection.questions.selection import BY_NAME, FILTERS, PLACE, Selection
from collection.questions.triage import Triage
from schemas.errors import NotFound, WrongUsage

F = TypeVar("F", bound=Callable[..., Any])
Typed = str | bool | tuple[str, ...] | None
MOST_NAMED = 20  # values named in a message


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
        from natsort import natsorted  # only for this message, and all answers would wait for it

        known = ", ".join(natsorted(triage.places)[:MOST_NAMED])
        raise NotFound("--location", f"there is no place '{text}'", known, "Choose one, by its number or its name.")
    return place


def _several(typed: str | tuple[str, ...] | None) -> tuple[str, ...]:
    return (typed,) if isinstance(typed, str) else tuple(typed or ())
