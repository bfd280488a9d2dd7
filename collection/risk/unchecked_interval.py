"""Between what the expected loss of all that nobody has checked lies: the total drawn a thousand times."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import polars as pl

from collection.risk.expectation import Expectation
from collection.risk.tilt import BETAS, LEAST, Chosen, below_slope, chance_grid, normal_scores, phi, size_slope
from collection.risk.unchecked_parameters import Unchecked

Array = npt.NDArray[np.float64]
# An object nobody has checked, or a first check: kind (number of its row), room; of first checks loss and day number.
WAITING = pl.Schema(
    {"kind": pl.Int32, "room": pl.String, "weight": pl.Float64, "years": pl.Float64, "odds": pl.Float64}
)
CHECKED = pl.Schema({"kind": pl.Int32, "room": pl.String, "loss": pl.Float64, "order": pl.Float64})
QUANTILES = (0.05, 0.95)
c = pl.col


@dataclass(frozen=True)
class Interval:
    """Mean, 5th and 95th percentile [share of the collection's value a year]; mean chance of each object waiting to be
    above the limit.
    """

    mean: float
    low: float
    high: float
    chances: Array

    @property
    def objects_above(self) -> float:
        """How many objects are expected above the limit."""
        return float(self.chances.sum())


@dataclass(frozen=True)
class Evidence:
    """First checks learned from (schema CHECKED), gains by object (object_id, kind, gained, years), the limit, and the
    selection's tilt (None: a fair sample).
    """

    checked: pl.DataFrame
    gains: pl.DataFrame
    limit: float
    tilt: str | None


def total_interval(
    waiting: pl.DataFrame, evidence: Evidence, expected: Expectation, values: Unchecked, seed: int = 1
) -> Interval:
    """Sum of weight x loss over the objects waiting (schema WAITING), with 90 % limits.

    What is drawn: the museum's factor, each kind's chance and each room's factor, sizes above and below the limit, what
    is gained a year, and then each object: above the limit or not, and how far.
    """
    random = np.random.Generator(np.random.Philox(key=seed))
    kind = waiting["kind"].to_numpy().astype(int)
    chance, size, below = _figures(waiting, kind, evidence, expected, values, random)
    odds = waiting["odds"].to_numpy()[None, :]
    chance = odds * chance / (1 - chance + odds * chance)
    above = random.random(chance.shape) < chance
    loss = np.where(above, _sizes(random.random(chance.shape), size, evidence.limit, values.largest_loss), below)
    grown = loss + _gain(evidence.gains, kind, values, random) * waiting["years"].to_numpy()[None, :]
    totals = grown @ waiting["weight"].to_numpy()
    low, high = np.quantile(totals, QUANTILES)
    return Interval(float(totals.mean()), float(low), float(high), above.mean(axis=0))


def _figures(
    waiting: pl.DataFrame, kind: npt.NDArray[np.int64], evidence: Evidence, expected: Expectation, values: Unchecked,
    random: np.random.Generator,
) -> tuple[Array, Array, Array]:  # fmt: skip
    """Chance above the limit, exponent of the size above it, loss below it: arrays of draws x objects waiting."""
    rooms = _rooms(waiting, evidence.checked, expected, values, random)
    tilt = values.tilt.get(evidence.tilt or "")
    if tilt is None:
        chance, size, below = _fair(kind, evidence, expected, values, random)
    else:
        chance, size, below = _tilted(kind, evidence, expected, values, random)
    return np.minimum(values.chance_at_most, chance * rooms), size, below


def _fair(
    kind: npt.NDArray[np.int64], evidence: Evidence, expected: Expectation, values: Unchecked,
    random: np.random.Generator,
) -> tuple[Array, Array, Array]:  # fmt: skip
    start = np.array([its.chance_above_limit for its in values.kind])
    n, exceeding = expected.looked, expected.exceeding
    scale = values.museum_worth + (n * start).sum()
    museum = random.gamma(values.museum_worth + exceeding.sum(), 1, values.draws) / scale
    prior = np.minimum(values.chance_at_most, museum[:, None] * start[None, :])
    worth = values.kind_worth_objects
    chances = random.beta(worth * prior + exceeding, worth * (1 - prior) + n - exceeding)
    losses = evidence.checked["loss"].to_numpy()
    over = losses >= evidence.limit
    logs = np.log(np.minimum(losses[over], values.largest_loss) / evidence.limit)
    size = random.gamma(values.size_worth_objects + over.sum(), 1, values.draws) / (
        values.size_worth_objects + logs.sum()
    )
    below = expected.below * _spread_below(losses[~over], values, random)
    return chances[:, kind], size[:, None], below[:, None]


def _tilted(
    kind: npt.NDArray[np.int64], evidence: Evidence, expected: Expectation, values: Unchecked,
    random: np.random.Generator,
) -> tuple[Array, Array, Array]:  # fmt: skip
    tilt = values.tilt[evidence.tilt or ""]
    numbers = np.unique(np.concatenate([kind, evidence.checked["kind"].to_numpy()]))
    chosen = {int(k): _chosen(int(k), kind, evidence, expected, values) for k in numbers}
    grid = chance_grid(list(chosen.values()), tilt)
    slopes = random.choice(len(grid.c), values.draws, p=grid.weight)
    own, chance = np.empty((values.draws, kind.size)), np.empty((values.draws, kind.size))
    for nth, k in enumerate(chosen):
        mine = kind == k
        scores = np.broadcast_to(chosen[k].unchecked, (values.draws, chosen[k].unchecked.size))
        own[:, mine] = random.permuted(scores, axis=1)
        betas = _pick(random, grid.beta[slopes, nth])
        chance[:, mine] = phi(betas[:, None] + grid.c[slopes][:, None] * own[:, mine])
    size, below = _tilted_sizes(own, chosen, evidence, values, random)
    return chance, size, below


def _tilted_sizes(
    own: Array, chosen: dict[int, Chosen], evidence: Evidence, values: Unchecked, random: np.random.Generator
) -> tuple[Array, Array]:
    tilt = values.tilt[evidence.tilt or ""]
    every = [(evidence.checked.filter(c("kind") == k)["loss"].to_numpy(), its.scores) for k, its in chosen.items()]
    losses, scores = (np.concatenate([np.zeros(0), *[pair[n] for pair in every]]) for n in (0, 1))
    over = losses >= evidence.limit
    logs = np.log(np.minimum(losses[over], values.largest_loss) / evidence.limit)
    points, weights = size_slope(scores[over], logs, tilt.d, values.size_worth_objects)
    d = random.choice(points, values.draws, p=weights)[:, None]
    rate = values.size_worth_objects + (np.exp(-d * scores[over][None, :]) * logs[None, :]).sum(axis=1)
    index = random.gamma(values.size_worth_objects + over.sum(), 1, values.draws) / rate
    size = index[:, None] * np.exp(-d * own)
    points, weights = below_slope(
        scores[~over], losses[~over], tilt.h, values.below_the_limit_mean, values.below_worth_objects
    )
    h = random.choice(points, values.draws, p=weights)[:, None]
    worth = values.below_worth_objects
    total = worth * values.below_the_limit_mean + (np.exp(-h * scores[~over][None, :]) * losses[~over]).sum(axis=1)
    mean = total / (worth + (~over).sum()) * _spread_below(losses[~over], values, random)
    return size, np.minimum(mean[:, None] * np.exp(h * own), evidence.limit)


def _chosen(
    k: int, kind: npt.NDArray[np.int64], evidence: Evidence, expected: Expectation, values: Unchecked
) -> Chosen:
    mine = evidence.checked.filter(c("kind") == k)
    scores, unchecked = normal_scores(mine["order"].to_numpy(), int((kind == k).sum()))
    prior = min(values.chance_at_most, expected.museum * values.kind[k].chance_above_limit)
    above = (mine["loss"] >= evidence.limit).to_numpy()
    return Chosen(scores, above, unchecked, prior, values.tilt_worth_objects)


def _pick(random: np.random.Generator, weights: Array) -> Array:
    """One of BETAS for each row of weights."""
    ends = weights.cumsum(axis=1)
    at = (ends < random.random((len(ends), 1)) * ends[:, -1:]).sum(axis=1)
    return np.asarray(BETAS[np.minimum(at, BETAS.size - 1)])


def _rooms(
    waiting: pl.DataFrame, checked: pl.DataFrame, expected: Expectation, values: Unchecked, random: np.random.Generator
) -> Array:
    """Factor of each room in each draw: Gamma(worth + seen) over (worth + expected); 1 where nobody looked."""
    names, at = np.unique(waiting["room"].fill_null("").to_numpy(), return_inverse=True)
    worth = values.room_worth_objects
    drawn = np.ones((values.draws, names.size))
    for nth, name in enumerate(names):
        if name in expected.room_seen:
            seen, due = expected.room_seen[name]
            drawn[:, nth] = random.gamma(worth + seen, 1, values.draws) / (worth + due)
    return drawn[:, at]


def _sizes(u: Array, index: Array, limit: float, largest: float) -> Array:
    """Losses above the limit with density in proportion to y^(-index - 1), up to the largest, from numbers 0 to 1."""
    ratio = largest / limit
    return np.asarray(limit * (1 - u * (1 - ratio**-index)) ** (-1 / index))


def _spread_below(losses: Array, values: Unchecked, random: np.random.Generator) -> Array:
    """How far the mean below the limit may be off: most are 0 and a few large, so they count as few."""
    counted = losses.sum() ** 2 / max(float((losses**2).sum()), LEAST)
    shape = values.below_worth_objects + counted
    return np.asarray(random.gamma(shape, 1, values.draws) / shape)


def _gain(gains: pl.DataFrame, kind: npt.NDArray[np.int64], values: Unchecked, random: np.random.Generator) -> Array:
    """What is gained a year: objects with two inspections weigh by chance, the starting value by what it is worth."""
    start = np.array([its.gain_per_year for its in values.kind])
    summed = gains.group_by("object_id", "kind").agg(c("gained", "years").sum()).sort("object_id")
    of = np.zeros((summed.height, start.size))
    of[np.arange(summed.height), summed["kind"].to_numpy()] = 1
    weights = random.exponential(1, (values.draws, summed.height))
    gained, years = ((weights * summed[name].to_numpy()) @ of for name in ("gained", "years"))
    worth = (
        values.gain_worth_years * random.gamma(values.kind_worth_objects, 1, values.draws) / values.kind_worth_objects
    )
    mean = start[np.unique(kind)].mean() if kind.size else 0.0
    museum = (worth * mean + gained.sum(axis=1)) / (worth * mean + (years * start).sum(axis=1))
    each = (worth[:, None] * museum[:, None] * start + gained) / (worth[:, None] + years)
    return np.asarray(np.maximum(0.0, each)[:, kind])
