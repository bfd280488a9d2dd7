"""What is written once for every engine: frames of Polars or of Narwhals, and the functions that both have for columns.

A function that builds columns takes `xp`, the namespace of the frame they are for, as the array standard has it. Frames
of Polars are asked in Polars itself: to translate each expression costs as much again as the whole computation.
"""

from collections.abc import Callable, Iterable, Mapping
from typing import TYPE_CHECKING, Any, Protocol, cast

import polars as pl

if TYPE_CHECKING:
    from polars.expr.whenthen import When

Lazy = pl.LazyFrame  # or the lazy frame of Narwhals, which has the methods that are used here
LazyFrames = Mapping[str, Lazy]
Hold = Callable[[Lazy], Lazy]


class Namespace(Protocol):
    """The functions of `polars` that `narwhals` has as well, as far as they are used."""

    Int64: Any
    UInt32: Any

    def col(self, name: str, /) -> pl.Expr:
        """A column."""

    def lit(self, value: Any, /) -> pl.Expr:
        """A value."""

    def when(self, condition: str | pl.Expr, /) -> "When":
        """The beginning of a choice; without `otherwise` it ends in null."""

    def coalesce(self, *exprs: str | pl.Expr) -> pl.Expr:
        """The first that is not null."""

    def min_horizontal(self, *exprs: str | pl.Expr) -> pl.Expr:
        """The least of those that are not null."""

    def max_horizontal(self, *exprs: str | pl.Expr) -> pl.Expr:
        """The largest of those that are not null."""

    def concat_str(self, *exprs: str | pl.Expr, separator: str) -> pl.Expr:
        """Texts in a row."""

    def len(self) -> pl.Expr:
        """Number of rows."""

    def concat(self, frames: Iterable[Lazy]) -> Lazy:
        """Frames of the same columns, one under the other."""


POLARS = cast("Namespace", pl)


def namespace(frame: Lazy) -> Namespace:
    """The functions that build columns for this frame: those of Polars, else those of Narwhals."""
    if isinstance(frame, pl.LazyFrame):
        return POLARS
    import narwhals

    return cast("Namespace", narwhals)


def empty(xp: Namespace, kind: type[pl.DataType]) -> pl.Expr:
    """Nulls of a type."""
    return xp.lit(None).cast(getattr(xp, kind.__name__))


def as_it_is(frame: Lazy) -> Lazy:
    """A frame that is read several times, worked out each time."""
    return frame


def in_memory(frame: Lazy) -> Lazy:
    """A Polars frame that is read several times, worked out once."""
    return frame.collect(engine="in-memory").lazy()
