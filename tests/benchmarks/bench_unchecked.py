"""How often the 90 % limits of what nobody has checked hold, over simulated museums: printed, not asserted.

Run: python tests/benchmarks/bench_unchecked.py [RUNS]. Each museum draws its kinds' chances, sizes and rooms anew from
ranges about the starting values; 400 of 640 objects are checked, chosen at random or by eye (order of first look drawn
with c, d, h as in the design); the limits are held against what the other 240 truly lose.
"""

import sys

import numpy as np
import polars as pl

from collection.risk.expectation import GAINS, LOOKED, expect
from collection.risk.parameters import read
from collection.risk.unchecked_interval import CHECKED, WAITING, Evidence, total_interval
from collection.risk.unchecked_parameters import Unchecked

LIMIT, OBJECTS, LOOKED_AT, ROOMS = 0.001, 640, 400, 6
CHOICES = {  # name: c, d, h, which tilt is taken
    "random, taken as fair": (0.0, 0.0, 0.0, None),
    "random, taken as not known": (0.0, 0.0, 0.0, "unknown"),
    "mildly by eye, worst first": (0.5, 0.2, 0.5, "worst_first"),
    "mildly by eye, taken as not known": (0.5, 0.2, 0.5, "unknown"),
    "mildly by eye, taken as fair": (0.5, 0.2, 0.5, None),
    "strongly by eye, worst first": (1.5, 0.5, 1.5, "worst_first"),
}


def museum(random: np.random.Generator, values: Unchecked, choice: tuple[float, float, float]):
    """Frames of a museum: kind, room, loss, order of looking (small: early) and weight of each object."""
    slope, of_size, of_rest = choice
    start = np.array([its.chance_above_limit for its in values.kind])
    present = random.choice(start.size, 6, replace=False)
    kind = present[random.integers(0, present.size, OBJECTS)]
    room = random.integers(0, ROOMS, OBJECTS)
    museum_factor = np.exp(random.normal(0, 0.5))
    base = np.clip(start * museum_factor, 0.002, 0.6)
    chances = random.beta(10 * base, 10 * (1 - base))
    rooms = random.gamma(10, 1, ROOMS) / 10
    worth = random.choice([1.0, 3.0, 10.0, 30.0, 100.0], OBJECTS, p=[0.3, 0.4, 0.2, 0.07, 0.03])
    score = random.normal(size=OBJECTS)  # how bad it looks: high is looked at first
    chance = np.clip(chances[kind] * rooms[room], 1e-6, 0.9)
    from scipy.stats import norm

    beta = norm.ppf(chance) * np.sqrt(1 + slope**2)
    above = random.random(OBJECTS) < norm.cdf(beta + slope * score)
    index = 0.9 * np.exp(-of_size * score)
    u, ratio = random.random(OBJECTS), values.largest_loss / LIMIT
    size = LIMIT * (1 - u * (1 - ratio**-index)) ** (-1 / index)
    rest = np.minimum(random.exponential(3e-5, OBJECTS) * np.exp(of_rest * score - of_rest**2 / 2), LIMIT * 0.999)
    rest *= random.random(OBJECTS) < 0.5
    loss = np.where(above, size, rest)
    by_eye = slope > 0
    order = np.argsort(-score if by_eye else random.random(OBJECTS))
    return kind, room, loss, order, worth / worth.sum()


def holds(random: np.random.Generator, values: Unchecked, choice: tuple[float, float, float, str | None]):
    """Whether the limits held, and where the truth lay."""
    *slopes, tilt = choice
    kind, room, loss, order, weight = museum(random, values, tuple(slopes))
    first, rest = order[:LOOKED_AT], order[LOOKED_AT:]
    rooms = np.array([f"R{r}" for r in room])
    looked = pl.DataFrame(
        {"object_id": [str(i) for i in first], "kind": kind[first], "room": rooms[first], "loss": loss[first]},
        schema_overrides=LOOKED,
    )
    expected = expect(looked, pl.DataFrame(schema=GAINS), values, LIMIT, sorted(set(kind.tolist())))
    checked = looked.with_columns(order=pl.Series(np.arange(LOOKED_AT, dtype=float))).select(
        pl.col(n).cast(t) for n, t in CHECKED.items()
    )
    waiting = pl.DataFrame(
        {"kind": kind[rest], "room": rooms[rest], "weight": weight[rest], "years": 0.0, "odds": 1.0},
        schema_overrides=WAITING,
    )
    gains = pl.DataFrame(schema={"object_id": pl.String, **GAINS})
    seed = int(random.integers(1, 2**31))
    found = total_interval(waiting, Evidence(checked, gains, LIMIT, tilt), expected, values, seed)
    true = float((loss[rest] * weight[rest]).sum())
    return found.low <= true <= found.high, true < found.low, true > found.high


def main(runs: int = 400) -> None:
    """Print a line a way of choosing."""
    values = read(Unchecked, "unchecked", "unchecked")
    for name, choice in CHOICES.items():
        random = np.random.default_rng(20261126)
        each = np.array([holds(random, values, choice) for _ in range(runs)])
        inside, below, above = each.mean(axis=0)
        sys.stdout.write(f"{name}: {inside:.2f} of {runs} inside, truth below {below:.2f}, above {above:.2f}\n")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 400)
