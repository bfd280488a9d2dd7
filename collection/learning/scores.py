"""How good forecasts were: Brier's score and skill, the best skill possible, calibration with exact limits."""

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import polars as pl

from collection.frames import returns
from collection.learning.limits import share_limits
from collection.learning.parameters import Learning

Array = npt.NDArray[np.float64]
CALIBRATION = pl.Schema(
    {"group": pl.Int64, "forecasts": pl.Int64, "events": pl.Int64}
    | dict.fromkeys(("expected", "mean_chance", "share", "share_low", "share_high"), pl.Float64)
)


@dataclass(frozen=True)
class Score:
    """`expected` and `events` among so many `forecasts`; the rest is None where too few are expected to judge.

    brier, reference: mean square of chance less outcome, of the forecasts and of the base rate. skill = 1 - brier /
    reference, with the limits of resampled objects; best_skill is the most that forecasts of this spread can have.
    """

    forecasts: int
    objects: int
    expected: float
    events: int
    brier: float | None = None
    reference: float | None = None
    skill: float | None = None
    skill_low: float | None = None
    skill_high: float | None = None
    best_skill: float | None = None

    @property
    def judged(self) -> bool:
        """Whether enough events were expected."""
        return self.brier is not None


def brier(chance: Array, outcome: Array) -> float:
    """Mean square of chance less outcome (Brier 1950)."""
    return float(np.mean((chance - outcome) ** 2))


def best_skill(chance: Array) -> float:
    """Skill of forecasts that are right, against their own mean: Var(p) / (mean p x (1 - mean p))."""
    mean = float(chance.mean())
    return float(chance.var() / (mean * (1 - mean))) if 0 < mean < 1 else 0.0


def skill(score: float, reference: float) -> float | None:
    """1 - score / reference; None where the reference is never wrong."""
    return 1 - score / reference if reference > 0 else None


def scored(
    objects: pl.Series, chance: Array, outcome: Array, reference: Array, figures: Learning, fewest: float
) -> Score:
    """The score of forecasts; `objects`: the object of each, `reference`: the chance that the base rate gives it."""
    plain = Score(chance.size, objects.n_unique(), float(chance.sum()), int(outcome.sum()))
    if plain.expected < fewest:
        return plain
    own, other = brier(chance, outcome), brier(reference, outcome)
    low, high = _skill_limits(objects, (chance - outcome) ** 2, (reference - outcome) ** 2, figures)
    most = best_skill(chance)
    counts = (plain.forecasts, plain.objects, plain.expected, plain.events)
    return Score(*counts, own, other, skill(own, other), low, high, most)


def _skill_limits(objects: pl.Series, own: Array, other: Array, figures: Learning) -> tuple[float | None, float | None]:
    """Limits of the skill over resamples of whole objects: forecasts of one object are not independent."""
    number = (objects.rank("dense") - 1).to_numpy().astype(int)
    size = int(number.max()) + 1
    sums = np.column_stack([np.bincount(number, weights=x, minlength=size) for x in (own, other)])
    chance = np.random.Generator(np.random.Philox(figures.seed))
    times = chance.multinomial(size, np.full(size, 1 / size), size=figures.resamples)
    drawn = times @ sums
    usable = drawn[drawn[:, 1] > 0]
    if not len(usable):
        return None, None
    low, high = np.quantile(1 - usable[:, 0] / usable[:, 1], [figures.low, 1 - figures.low])
    return float(low), float(high)


@returns(CALIBRATION)
def calibration(chance: Array, outcome: Array, figures: Learning) -> pl.DataFrame:
    """Forecasts in groups from the least likely up, each of so many expected events at least; schema CALIBRATION.

    share is the part of the group in which something happened, with Clopper and Pearson's exact limits.
    """
    order = np.lexsort((np.arange(chance.size), chance))
    group = _groups(chance[order], figures.events_a_group)
    rows = []
    for number in np.unique(group):
        p, y = chance[order][group == number], outcome[order][group == number]
        low, high = share_limits(int(y.sum()), y.size, figures.limits)
        counts = {"group": int(number) + 1, "forecasts": y.size, "events": int(y.sum())}
        shares = {"mean_chance": float(p.mean()), "share": float(y.mean()), "share_low": low, "share_high": high}
        rows.append(counts | {"expected": math.fsum(p)} | shares)
    return pl.DataFrame(rows, schema=CALIBRATION)


def _groups(chance: Array, least: float) -> npt.NDArray[np.int64]:
    """Number of the group of each, chances rising; what is left over joins the last."""
    number, total, groups = 0, 0.0, np.zeros(chance.size, dtype=np.int64)
    left = float(chance.sum())
    for place, each in enumerate(chance.tolist()):
        groups[place] = number
        total, left = total + each, left - each
        if total >= least <= left:
            number, total = number + 1, 0.0
    return groups
