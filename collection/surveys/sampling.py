"""Drawing a sample: how many objects a survey looks at, how they are shared out among strata, and which, at random.

Units stand in the order of a hash of seed and number, so that what comes in later moves nobody.
"""

from collections.abc import Sequence
from hashlib import sha256
from statistics import NormalDist

import numpy as np
import numpy.typing as npt
import polars as pl

from collection.frames import returns

ORDER = "order"
MARGINS = pl.Schema({"size": pl.Int64, "margin": pl.Float64})
LEAST_IN_A_STRATUM = 2  # one alone tells nothing of how its stratum varies
HALF = 0.5


def in_lot_order(units: pl.DataFrame, seed: int) -> pl.DataFrame:
    """The units, column unit_id, in the order in which they are drawn, numbered from 1 in `order`.

    The first n are a simple random sample; a unit is placed by SHA-256 of the seed and its own number alone.
    """
    places = [sha256(f"{seed}\x1f{unit}".encode()).digest() for unit in units["unit_id"]]
    hashed = units.with_columns(_place=pl.Series(places, dtype=pl.Binary)).sort("_place", "unit_id").drop("_place")
    return hashed.with_columns(pl.int_range(1, pl.len() + 1, dtype=pl.Int64).alias(ORDER))


def draw(units: pl.DataFrame, number: int, seed: int) -> pl.DataFrame:
    """`number` of the units at random, with `chance` of being drawn."""
    drawn = in_lot_order(units, seed).head(number)
    return drawn.with_columns(chance=pl.lit(min(1.0, number / max(units.height, 1))))


def draw_strata(units: pl.DataFrame, numbers: dict[str, int], seed: int) -> pl.DataFrame:
    """As many of each stratum (column `stratum`) as `numbers` says, each with its chance."""
    parts = [draw(units.filter(pl.col("stratum") == name), number, seed) for name, number in sorted(numbers.items())]
    return pl.concat(parts) if parts else draw(units.clear(), 0, seed)


def sample_size(population: int, share: float, margin: float, confidence: float) -> int:
    """Objects to look at for a share known within `margin` either way; rounded up (Cochran, Sampling Techniques, 4).

    n0 = z^2 p (1 - p)/d^2, of a finite population n0/(1 + (n0 - 1)/N): 640 objects, .5, .05 at .95: 241.
    """
    return min(population, int(np.ceil(_exact_size(population, share, margin, confidence))))


def _exact_size(population: int, share: float, margin: float, confidence: float) -> float:
    endless = endless_size(share, margin, confidence)
    return endless / (1 + (endless - 1) / population)


def endless_size(share: float, margin: float, confidence: float) -> float:
    """The same of a population without end; .5, .05 at .95: 384.1459."""
    return quantile(confidence) ** 2 * share * (1 - share) / margin**2


def quantile(confidence: float) -> float:
    """Of the normal distribution, so that this chance lies within it either way."""
    return NormalDist().inv_cdf((1 + confidence) / 2)


@returns(MARGINS)
def margins(population: int, share: float, confidence: float, sizes: Sequence[int]) -> pl.DataFrame:
    """Half the width of the limits that each size gives, schema MARGINS; 0 where all are looked at."""
    n = np.asarray(sizes, dtype=np.float64)
    left = np.clip((population - n) / max(population - 1, 1), 0, None)
    width = quantile(confidence) * np.sqrt(share * (1 - share) / n * left)
    return pl.DataFrame({"size": list(sizes), "margin": width}, schema=MARGINS)


def allocate(total: int, sizes: npt.ArrayLike, spreads: npt.ArrayLike, costs: npt.ArrayLike | None = None) -> list[int]:
    """Objects of each stratum, in proportion to N S/sqrt(cost), by largest remainder, so that they add up to `total`.

    At least two of each stratum, and never more than it has. Raises ValueError where that cannot be.
    """
    held, spread = np.asarray(sizes, dtype=np.int64), np.asarray(spreads, dtype=np.float64)
    cost = np.ones(held.size) if costs is None else np.asarray(costs, dtype=np.float64)
    least = np.minimum(LEAST_IN_A_STRATUM, held)
    if not least.sum() <= total <= held.sum():
        raise ValueError(f"{total} objects cannot be shared out: at least {least.sum()}, at most {held.sum()}")
    weight = held * spread / np.sqrt(cost)
    given = least.copy()
    while (left := total - given.sum()) > 0:
        open_ = given < held
        wanted = np.where(open_, weight if weight[open_].sum() else held, 0.0)
        target = np.maximum(wanted / wanted.sum() * total, given)
        given = _nearest(np.minimum(target, held), given, held, left)
    return [int(n) for n in given]


def _nearest(
    target: npt.NDArray[np.float64], given: npt.NDArray[np.int64], held: npt.NDArray[np.int64], left: int
) -> npt.NDArray[np.int64]:
    """Gives what is left to the strata that are furthest below their target, one each time."""
    now = given.copy()
    for _ in range(left):
        lacking = np.where(now < held, target - now, -np.inf)
        now[int(lacking.argmax())] += 1
    return now
