"""What an object nobody has checked is expected to lose: what the museum's own objects of its kind lost when first
checked, shrunk to a starting chance, and grown to today (risk model, section 2). Frames in, figures out.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import polars as pl

from collection.risk.unchecked_parameters import Unchecked

# A first inspection of one object: its kind (number of the row), room, loss [share of value a year].
LOOKED = pl.Schema({"object_id": pl.String, "kind": pl.Int32, "room": pl.String, "loss": pl.Float64})
# From one inspection to the next without treatment between: what was gained in loss, and years.
GAINS = pl.Schema({"kind": pl.Int32, "gained": pl.Float64, "years": pl.Float64})
Array = npt.NDArray[np.float64]
c = pl.col


@dataclass(frozen=True)
class Expectation:
    """Figures learned from first checks. Arrays are by kind; `room` gives the factor of each room, 1 where absent,
    `room_seen` what was above the limit there and what its kinds would give.

    chance : of a loss at or above the limit. size_index : exponent of sizes above it. above, below [share of value a
    year] : mean loss above and below the limit. gain [share of value a year, a year].
    """

    looked: Array
    exceeding: Array
    museum: float
    chance: Array
    room: Mapping[str, float]
    room_seen: Mapping[str, tuple[float, float]]
    size_index: float
    above: float
    below: float
    gain: Array

    def chance_above(self, kind: Array, room: Sequence[str | None], odds: Array, most: float) -> Array:
        """Chance that an object never checked has a loss at or above the limit."""
        factor = np.array([self.room.get(name or "", 1.0) for name in room])
        plain = np.minimum(most, self.chance[kind.astype(int)] * factor)
        return np.asarray(odds * plain / (1 - plain + odds * plain))

    def never(self, kind: Array, room: Sequence[str | None], years: Array, odds: Array, most: float) -> Array:
        """Expected loss [share of value a year] of objects never checked, `years` after the mean first check."""
        chance = self.chance_above(kind, room, odds, most)
        gained = self.gain[kind.astype(int)] * years
        return np.asarray(chance * self.above + (1 - chance) * self.below + gained)


def expect(
    looked: pl.DataFrame, gains: pl.DataFrame, starting: Unchecked, limit: float, kinds: Sequence[int]
) -> Expectation:
    """Learn from first checks (schema LOOKED) and pairs of inspections (schema GAINS).

    `limit` [share of value a year] is the museum's; `kinds` the numbers of the kinds that occur in the collection.
    """
    number, kind = len(starting.kind), looked["kind"].to_numpy()
    losses = looked["loss"].to_numpy()
    over = losses >= limit
    n = _counted(kind, np.ones(kind.size), number)
    exceeding = _counted(kind, over.astype(float), number)
    start = np.array([its.chance_above_limit for its in starting.kind])
    museum = (starting.museum_worth + exceeding.sum()) / (starting.museum_worth + (n * start).sum())
    chance = _shrunk(starting, museum, start, n, exceeding)
    ceiling = starting.largest_loss
    sizes = np.log(np.minimum(losses[over], ceiling) / limit)
    index = (starting.size_worth_objects + over.sum()) / (starting.size_worth_objects + sizes.sum())
    of_below = starting.below_worth_objects
    below = (of_below * starting.below_the_limit_mean + losses[~over].sum()) / (of_below + (~over).sum())
    seen = _rooms(looked, chance, over)
    worth = starting.room_worth_objects
    room = {name: (worth + above) / (worth + due) for name, (above, due) in seen.items()}
    above = mean_above(index, limit, ceiling)
    gain = _gain(gains, starting, kinds)
    return Expectation(n, exceeding, float(museum), chance, room, seen, float(index), above, float(below), gain)


def mean_above(index: float, limit: float, ceiling: float) -> float:
    """Mean of a size with density in proportion to y^(-index - 1) between the limit and the ceiling."""
    ratio = ceiling / limit
    if abs(index - 1) < SMALL:
        return limit * math.log(ratio) / (1 - 1 / ratio)
    return float(limit * index / (1 - index) * (ratio ** (1 - index) - 1) / (1 - ratio**-index))


SMALL = 1e-9


def _counted(kind: npt.NDArray[np.int32], weights: Array, number: int) -> Array:
    """Sum of the weights of each kind."""
    return np.bincount(kind, weights=weights, minlength=number).astype(np.float64)


def _shrunk(starting: Unchecked, museum: float, start: Array, n: Array, exceeding: Array) -> Array:
    worth = starting.kind_worth_objects
    prior = np.minimum(starting.chance_at_most, museum * start)
    return np.asarray((worth * prior + exceeding) / (worth + n))


def _rooms(looked: pl.DataFrame, chance: Array, over: npt.NDArray[np.bool_]) -> Mapping[str, tuple[float, float]]:
    """Of each room, how many were above the limit, and how many its kinds would give; both sums are the same."""
    expected = chance[looked["kind"].to_numpy()]
    scale = over.sum() / expected.sum() if expected.sum() else 1.0
    rows = pl.DataFrame({"room": looked["room"], "above": over, "due": expected * scale})
    summed = rows.group_by("room").agg(c("above").sum(), c("due").sum())
    return {room or "": (float(above), float(due)) for room, above, due in summed.iter_rows()}


def _gain(gains: pl.DataFrame, starting: Unchecked, kinds: Sequence[int]) -> Array:
    """Loss gained a year, by kind. The museum's factor is on the mean starting gain of the kinds there are."""
    worth = starting.gain_worth_years
    start = np.array([its.gain_per_year for its in starting.kind])
    kind, number = gains["kind"].to_numpy(), len(starting.kind)
    gained, years = (
        np.bincount(kind, weights=gains[name].to_numpy(), minlength=number) for name in ("gained", "years")
    )
    mean = float(start[list(kinds)].mean()) if len(kinds) else float(start.mean())
    museum = (worth * mean + gained.sum()) / (worth * mean + (years * start).sum())
    return np.asarray(np.maximum(0.0, (worth * museum * start + gained) / (worth + years)))


def since(loss: Array, gain: Array, years: Array) -> Array:
    """What may have come since an object was checked `years` ago: loss x (1 - exp(-years x gain / loss))."""
    some = np.where(loss > 0, loss, 1.0)
    return np.asarray(np.where(loss > 0, loss * -np.expm1(-years * gain / some), 0.0))
