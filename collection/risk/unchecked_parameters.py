"""Shapes of the starting values for what nobody has checked (unchecked.toml)."""

from collections.abc import Mapping
from typing import Annotated

from pydantic import Field

from collection.risk.parameters import Fraction, Group, Positive, Strict


class UncheckedKind(Group):
    """What to expect of an object of a kind nobody has checked: chance of a loss at or above the limit, gain a year."""

    name: str
    label: str = ""
    chance_above_limit: Annotated[float, Field(gt=0, lt=1)]
    gain_per_year: Fraction


class Tilt(Strict):
    """How far people check first what looks worst, [mean, sd]: of the chance (c), of the size (d), of the rest (h)."""

    c: tuple[float, Positive]
    d: tuple[float, Positive]
    h: tuple[float, Positive]


class Unchecked(Strict):
    """How much the starting values weigh, in objects or years; figures of what is expected there."""

    kind_worth_objects: Positive
    room_worth_objects: Positive
    below_the_limit_mean: Fraction
    below_worth_objects: Positive
    size_worth_objects: Positive
    gain_worth_years: Positive
    sweep_finds: Fraction
    fewest_first_checks: int
    museum_worth: Positive
    chance_at_most: Fraction
    largest_loss: Annotated[float, Field(gt=0, lt=1)]
    draws: int
    tilt_worth_objects: Positive
    tilt: Mapping[str, Tilt]
    kind: tuple[UncheckedKind, ...]


class RemarkOdds(Strict):
    """Factors on the odds where only a remark is known: by kind of damage it names, for repairs, for *good*."""

    repair: Positive
    good: Positive
    other: Positive
    damage: Mapping[str, Positive]
