"""Frames at the arrows: a function that names the schema of what it returns is held to it while tests run."""

from collections.abc import Callable
from functools import wraps
from typing import ParamSpec, TypeVar

import polars as pl

P = ParamSpec("P")
F = TypeVar("F", pl.DataFrame, pl.LazyFrame)


class Checking:
    """Whether frames are checked: tests switch it on, a museum's register does without."""

    on = False


def returns(schema: pl.Schema) -> Callable[[Callable[P, F]], Callable[P, F]]:
    """Mark a function with the schema of the frame it returns.

    While checks are on, a frame with other columns, another order or other types raises TypeError.
    """

    def mark(function: Callable[P, F]) -> Callable[P, F]:
        @wraps(function)
        def checked(*args: P.args, **named: P.kwargs) -> F:
            frame = function(*args, **named)
            if Checking.on:
                require(frame, schema, function.__qualname__)
            return frame

        return checked

    return mark


def require(frame: pl.DataFrame | pl.LazyFrame, schema: pl.Schema, name: str) -> None:
    """Raise TypeError naming what differs from the schema."""
    given = frame.collect_schema()
    if given != schema:
        lacking = {n: str(t) for n, t in schema.items() if given.get(n) != t}
        extra = [n for n in given if n not in schema]
        raise TypeError(f"{name} returned another schema: lacking or of another type {lacking}, too many {extra}")
