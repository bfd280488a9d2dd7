"""What a declaration asks of a value, as expressions over whole columns."""

from collections.abc import Callable, Mapping
from typing import Any

import annotated_types as at
import polars as pl

from schemas.errors import VocabularyError
from schemas.tables import Column, OneOf

# What pydantic keeps in one object: name of the setting to what it asks of a value.
SETTINGS: Mapping[str, Callable[[pl.Expr, Any], pl.Expr]] = {
    "pattern": lambda value, wanted: value.str.contains(wanted),
    "allow_inf_nan": lambda value, wanted: pl.lit(value=True) if wanted else value.cast(pl.Float64).is_finite(),
    "max_digits": lambda value, _: value.is_not_null(),  # the type holds no more
    "decimal_places": lambda value, _: value.is_not_null(),  # the parser takes no more
}


def within(column: Column) -> pl.Expr:
    """The column's value where it keeps every constraint, else null."""
    value = pl.col(column.name)
    limits = [holds(constraint, value) for constraint in column.constraints]
    return pl.when(limits).then(value) if limits else value


def holds(constraint: object, value: pl.Expr) -> pl.Expr:
    """True where the value keeps the constraint. Raises VocabularyError for one that has no expression."""
    match constraint:
        case at.Ge(ge=limit):
            return value >= pl.lit(limit)
        case at.Gt(gt=limit):
            return value > pl.lit(limit)
        case at.Le(le=limit):
            return value <= pl.lit(limit)
        case at.Lt(lt=limit):
            return value < pl.lit(limit)
        case at.MinLen(min_length=least):
            return value.str.len_bytes() >= least if least <= 1 else value.str.len_chars() >= least
        case at.MaxLen(max_length=most):
            return (value.str.len_bytes() <= most) | (value.str.len_chars() <= most)
        case OneOf(words=words):
            return value.is_in(list(words))
        case _:
            return _settings(constraint, value)


def _settings(constraint: object, value: pl.Expr) -> pl.Expr:
    stated = {k: v for k, v in vars(constraint).items() if v is not None} if hasattr(constraint, "__dict__") else {}
    if not stated or set(stated) - set(SETTINGS):
        what = f"constraint {constraint!r} has no expression"
        raise VocabularyError("schemas.records", what, "", "Add it to collection/validation/constraints.py.")
    return pl.all_horizontal([SETTINGS[k](value, v) for k, v in stated.items()])
