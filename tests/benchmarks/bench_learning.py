"""Whether learned rates and the back-test's limits are right, over simulated collections; run by hand, it prints.

    python tests/benchmarks/bench_learning.py [RUNS]

Each collection has objects with one damage each, whose areas are measured with error at every check; a loss adds to the
area. Rates are drawn from the starting range, so that limits of 90 % ought to hold the true rate in 90 of 100.
"""

import sys
import time
from collections.abc import Iterator
from datetime import date, timedelta

import numpy as np
import polars as pl

from collection.as_of import as_known
from collection.learning.back_test import AT_RISK
from collection.learning.expected_losses import expected_losses
from collection.learning.histories import INTERVALS, histories
from collection.learning.learned import learned_losses, learned_rate, starting
from collection.learning.parameters import learning, lines
from collection.learning.posterior import Evidence
from collection.risk.inspections import inspections
from collection.risk.rate_distribution import rates_of
from collection.risk.rates import RatesTable
from collection.risk.years import mean_rate
from collection.snapshot import Collection

RUNS, FIRST, SIZE, ERROR, MORE = 400, date(2000, 1, 1), 100.0, 5.0, 60.0
ROWS = {3.0: ("lifting", "suspected"), 10.0: ("crack", "active"), 30.0: ("lifting", "stable")}


def simulated(rate: np.ndarray, every: float, years: float, kind: str, state: str, chance: np.random.Generator):
    """A register of len(rate) objects with a damage each, checked every so many years."""
    objects, checks = rate.size, int(years / every) + 1
    events = chance.poisson(rate[:, None] * every, (objects, checks - 1)).cumsum(axis=1)
    area = (
        SIZE
        + MORE * np.concatenate([np.zeros((objects, 1)), events], axis=1)
        + chance.normal(0, ERROR, (objects, checks))
    )
    o, k = (x.ravel() for x in np.meshgrid(np.arange(objects), np.arange(checks), indexing="ij"))
    days = [FIRST + timedelta(days=round(365.25 * every * n)) for n in range(checks)]
    frame = pl.DataFrame({"o": o, "k": k, "area_mm2": area.ravel()}).with_columns(
        check_id=pl.format("C{}.{}", "o", "k"), object_id=pl.format("O{}", "o"), damage_id=pl.format("D{}", "o"),
        day=pl.Series(days).gather(k),
    )  # fmt: skip
    return Collection.of(
        {
            "object": frame.select("object_id").unique(),
            "damage": frame.select("damage_id", "object_id", part=pl.lit("whole"), kind=pl.lit(kind)).unique(),
            "condition_check": frame.select(
                "check_id", "object_id", checked_on=pl.col("day").cast(pl.String), checked_on_earliest="day",
                checked_on_latest="day", look=pl.lit("inspection"),
            ),
            "observation": frame.select(
                "check_id", "damage_id", "area_mm2", measurement_error=pl.lit(ERROR), activity=pl.lit(state)
            ),
        }
    )  # fmt: skip


def through_the_register(runs: int, likely: float, every: float) -> tuple[float, float, float]:
    """Coverage of the 90 % limits, mean of learned over true rate, mean of naive over true rate: 60 damages, 10 years."""
    kind, state = ROWS[likely]
    rates = RatesTable.of(Collection.of({}))
    row = rates.damage.filter(term=kind, stage=0, state=state).row(0, named=True)
    years = tuple(row[n] for n in ("years_short", "years_likely", "years_long"))
    assert years[1] == likely, (kind, state, years)
    held, ratio, naive = [], [], []
    for run in range(runs):
        chance = np.random.Generator(np.random.Philox([run, int(likely), int(every)]))
        true = float(rates_of(chance.standard_normal(1), years)[0])
        known = as_known(simulated(np.full(60, true), every, 10, kind, state, chance), date(2030, 1, 1))
        intervals = histories(known, inspections(known), starting(known))
        got = learned_losses(intervals, rates).row(0, named=True)
        held.append(1 / got["years_long"] <= true <= 1 / got["years_short"])
        ratio.append(got["mean_rate"] / true)
        naive.append(got["events"] / got["exposure_years"] / true)
    return float(np.mean(held)), float(np.median(ratio)), float(np.mean(naive))


def with_spread(runs: int, objects: int, kappa: float) -> tuple[float, float]:
    """Coverage where objects differ, with kappa learned and without: T 10, checks every 3 years for 12."""
    figures, years = learning(), (3.0, 10.0, 30.0)
    alike = figures.model_copy(update={"no_spread_chance": 1.0})
    held = []
    for run in range(runs):
        chance = np.random.Generator(np.random.Philox([run, objects]))
        true = float(rates_of(chance.standard_normal(1), years)[0])
        own = true * (chance.gamma(1 / kappa, kappa, objects) if kappa else np.ones(objects))
        seen = chance.random((objects, 4)) < 1 - np.exp(-own[:, None] * 3)
        evidence = Evidence(
            3.0 * (~seen).sum(axis=1), (~seen).sum(axis=1).astype(float),
            np.concatenate([-np.sort(-3.0 * seen, axis=1), np.zeros((objects, 2))], axis=1), seen.sum(axis=1),
        )  # fmt: skip
        both = [learned_rate(years, evidence, lines().false_event_chance, f) for f in (figures, alike)]
        held.append([1 / each.long <= true <= 1 / each.short for each in both])
    learned, plain = np.mean(held, axis=0)
    return float(learned), float(plain)


def expected_beside_seen(runs: int) -> tuple[float, float]:
    """Coverage of the 90 % limits of what would be found, and mean of found over expected."""
    figures, held, ratio = learning(), [], []
    for run in range(runs):
        chance = np.random.Generator(np.random.Philox([run, 7]))
        rows = at_risk(chance)
        got = expected_losses(rows, figures, 0.5, 3.0)
        low, high = np.log(3) / 1.64485, np.log(3) / 1.64485
        cell = rows["cell"].cast(pl.Int64).to_numpy()
        z = np.sqrt(0.5) * chance.standard_normal(20)[cell] + np.sqrt(0.5) * chance.standard_normal(rows.height)
        rate = np.exp(-np.where(z < 0, low, high) * z) / rows["years_likely"].to_numpy()
        events = chance.poisson(rate * 5)
        gone = rows["reach"].to_numpy() * (1 - (1 - rows["loss_depth"].to_numpy()) ** events)
        found = float(np.sum(rows["value_share"].to_numpy() * gone))
        held.append(got.low <= found <= got.high)
        ratio.append((found, got.loss))
    seen, expected = np.sum(ratio, axis=0)
    return float(np.mean(held)), float(seen / expected)


def skill_of_best(runs: int, objects: int = 60) -> tuple[float, float, float]:
    """Mean skill of learned rates, of starting rates, and the best there is: forecasts of five years after ten of checks.

    Each collection mixes damage of all three rows; forecasts are judged against the true chances' own spread.
    """
    rates, figures = RatesTable.of(Collection.of({})), learning()
    sums = np.zeros((3, 2))
    for run in range(runs):
        chance = np.random.Generator(np.random.Philox([run, 11]))
        columns = []
        for kind, state in ROWS.values():
            row = rates.damage.filter(term=kind, stage=0, state=state).row(0, named=True)
            years = tuple(row[n] for n in ("years_short", "years_likely", "years_long"))
            true = float(rates_of(chance.standard_normal(1), years)[0])
            seen = chance.random((objects, 4)) < 1 - np.exp(-true * 2.5)
            evidence = Evidence(
                2.5 * (~seen).sum(axis=1), (~seen).sum(axis=1).astype(float),
                np.concatenate([-np.sort(-2.5 * seen, axis=1), np.zeros((objects, 2))], axis=1), seen.sum(axis=1),
            )  # fmt: skip
            got = learned_rate(years, evidence, lines().false_event_chance, figures)
            happened = chance.random(objects) < 1 - np.exp(-true * 5)
            columns.append(
                [np.broadcast_to(1 - np.exp(-rate * 5), objects) for rate in (got.mean_rate, mean_rate(*years), true)]
                + [happened]
            )
        learned, start, true_chance, outcome = (np.concatenate(each) for each in zip(*columns, strict=True))
        reference = np.mean((outcome.mean() - outcome) ** 2)
        for place, forecast in enumerate((learned, start, true_chance)):
            sums[place] += np.mean((forecast - outcome) ** 2), reference
    skills = 1 - sums[:, 0] / sums[:, 1]
    return tuple(float(each) for each in skills)  # type: ignore[return-value]


def at_risk(chance: np.random.Generator) -> pl.DataFrame:
    """200 objects with a hazard each in 20 rows of the rates."""
    n = 200
    likely = chance.choice([3.0, 10.0, 30.0, 100.0], n)
    worth = chance.lognormal(0, 1, n)
    return pl.DataFrame(
        {
            "object_id": [f"O{i:03}" for i in range(n)], "part": ["whole"] * n, "hazard_id": [f"damage:{i:03}" for i in range(n)],
            "cell": [str(i) for i in chance.integers(0, 20, n)], "years": np.full(n, 5.0), "value_share": worth / worth.sum(),
            "part_share": np.ones(n), "reach": chance.uniform(0.01, 0.3, n), "loss_depth": chance.choice([0.1, 0.3, 1.0], n),
            "years_short": likely / 3, "years_likely": likely, "years_long": likely * 3, "factor": np.ones(n),
            "handling_rate": np.zeros(n),
        }, schema=AT_RISK,
    )  # fmt: skip


def large() -> pl.DataFrame:
    """Intervals of 20,000 objects with three damages each and four intervals a damage, checked about yearly."""
    chance = np.random.Generator(np.random.Philox(1))
    cells = RatesTable.of(Collection.of({})).rows["cell"].unique().sort()
    hazard = np.repeat(np.arange(60_000), 4)
    days = np.repeat(chance.integers(300, 1200, 20_000), 12)
    plain = {n: pl.lit("x") for n, kind in INTERVALS.items() if kind == pl.String}
    frame = pl.DataFrame({"hazard": hazard, "days": days}).with_columns(**plain)
    return frame.with_columns(
        object_id=(pl.col("hazard") // 3).cast(pl.String), rate_row=pl.lit(0, pl.Int32),
        cell=cells.gather(chance.integers(0, 60, 60_000)[hazard]), starts_on=pl.lit(FIRST), ends_on=pl.lit(FIRST),
        exposure_years=pl.col("days") / 365.25, loss_event=pl.Series(chance.random(hazard.size) < 0.05),
        activation_event=pl.lit(None, pl.Boolean), handled=pl.lit(value=False),
    ).select(*INTERVALS)  # fmt: skip


def report(runs: int) -> Iterator[str]:
    """Lines to print."""
    yield f"{runs} simulated collections each; limits of 90 %"
    yield "through the register (60 damages, 10 years): coverage, learned/true (median), naive/true (mean)"
    for likely in ROWS:
        for every in (1.0, 2.5, 5.0):
            held, ratio, naive = through_the_register(runs, likely, every)
            yield f"  T {likely:>3.0f}, checks every {every} years: {held:.3f}  {ratio:.3f}  {naive:.3f}"
    yield "objects that differ (T 10, checks every 3 years for 12): coverage with kappa learned, without"
    for kappa in (0.0, 1.0):
        for objects in (20, 60, 200):
            held, plain = with_spread(runs, objects, kappa)
            yield f"  kappa {kappa:.0f}, {objects:>3} objects: {held:.3f}  {plain:.3f}"
    held, ratio = expected_beside_seen(runs)
    yield f"expected beside found: coverage {held:.3f}, found/expected {ratio:.3f}"
    learned, start, best = skill_of_best(runs)
    yield f"skill: learned {learned:.3f}, starting {start:.3f}, best possible {best:.3f}; learned/best {learned / best:.3f}"
    yield f"mean rate of (3, 10, 30): {mean_rate(3, 10, 30):.6f}"
    frame, start = large(), time.perf_counter()
    learned_losses(frame, RatesTable.of(Collection.of({})))
    yield f"{frame.height:,} intervals of 60,000 damages on 20,000 objects learned in {time.perf_counter() - start:.1f} s"


if __name__ == "__main__":
    for text in report(int(sys.argv[1]) if len(sys.argv) > 1 else RUNS):
        print(text, flush=True)
