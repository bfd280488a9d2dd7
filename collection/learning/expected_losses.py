"""What was expected to be lost over the years in between, with limits from draws of rates and of events."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import polars as pl

from collection.learning.parameters import Learning
from collection.risk.rate_rows import YEARS
from collection.risk.years import LIMIT_90

Array = npt.NDArray[np.float64]
AT_RISK = pl.Schema(
    {"object_id": pl.String, "part": pl.String, "cell": pl.String, "hazard_id": pl.String}
    | dict.fromkeys(("years", "value_share", "part_share", "reach", "loss_depth", *YEARS), pl.Float64)
    | dict.fromkeys(("factor", "handling_rate"), pl.Float64)
)
CELLS_AT_ONCE = 2_000_000  # hazards x draws worked out together: bounds memory


@dataclass(frozen=True)
class Expected:
    """Share of the collection's value expected to be lost, and the limits of what would then be seen."""

    loss: float
    low: float
    high: float


def expected_losses(rows: pl.DataFrame, figures: Learning, common_share: float, range_per_move: float) -> Expected:
    """Expected loss of all hazards over their own years, schema AT_RISK.

    Rates are drawn on two levels, one draw for all hazards of a cell and one of their own (risk model, section 5);
    events are Poisson, each taking loss_depth of what is left of the reach. factor: on the rate at rest. Places in a
    part fall independently, those on one spot too.
    """
    if rows.is_empty():
        return Expected(0.0, 0.0, 0.0)
    hazards = _Hazards.of(rows.sort("object_id", "part", "hazard_id"))
    chance = np.random.Generator(np.random.Philox(figures.seed))
    block = max(1, min(figures.draws, CELLS_AT_ONCE // rows.height))
    means, totals = [], []
    for start in range(0, figures.draws, block):
        rate = hazards.rates(chance, min(block, figures.draws - start), common_share, range_per_move)
        means.append(hazards.lost(1 - np.exp(-rate * hazards.depth * hazards.years)))
        events = chance.poisson(rate * hazards.years)
        totals.append(hazards.lost(1 - (1 - hazards.depth) ** events))
    low, high = np.quantile(np.concatenate(totals), [figures.low, 1 - figures.low])
    return Expected(float(np.concatenate(means).mean()), float(low), float(high))


@dataclass(frozen=True)
class _Hazards:
    """Arrays by hazard, in order of their parts; `starts`: where each part begins, `worth`: its share of the whole."""

    cell: npt.NDArray[np.int64]
    years: Array
    depth: Array
    reach: Array
    likely: Array
    low: Array
    high: Array
    factor: Array
    handling: Array
    starts: npt.NDArray[np.int64]
    worth: Array

    @classmethod
    def of(cls, rows: pl.DataFrame) -> "_Hazards":
        likely = pl.col("years_likely")
        low, high = (likely / pl.col("years_short")).log() / LIMIT_90, (pl.col("years_long") / likely).log() / LIMIT_90
        figures = rows.select(
            "years", "reach", depth="loss_depth", likely="years_likely",
            low=pl.when(low > 0).then(low).otherwise(high), high=pl.when(high > 0).then(high).otherwise(low),
            factor="factor", handling="handling_rate",
        )  # fmt: skip
        part = pl.struct("object_id", "part").rle_id()
        starts = rows.select(row=pl.int_range(pl.len()), part=part).unique("part", keep="first").sort("part")["row"]
        worth = rows[starts].select(pl.col("value_share") * pl.col("part_share")).to_series().to_numpy()
        cell = (rows["cell"].rank("dense") - 1).to_numpy().astype(np.int64)
        arrays = {name: figures[name].to_numpy() for name in figures.columns}
        return cls(cell=cell, starts=starts.to_numpy(), worth=worth, **arrays)

    def rates(self, chance: np.random.Generator, draws: int, common_share: float, range_per_move: float) -> Array:
        """Rates [1/year], shape (draws, hazards)."""
        of_cell = chance.standard_normal((draws, int(self.cell.max()) + 1))[:, self.cell]
        own = chance.standard_normal((draws, self.cell.size))
        z = np.sqrt(common_share) * of_cell + np.sqrt(1 - common_share) * own
        at_rest = self.factor / self.likely * np.exp(-np.where(z < 0, self.low, self.high) * z)
        moved = range_per_move ** (chance.standard_normal((draws, 1)) / LIMIT_90)
        return np.asarray(at_rest + self.handling * moved)

    def lost(self, share: Array) -> Array:
        """Share of the collection's value gone in each draw, where `share` of each reach is gone."""
        remaining = np.log1p(-np.minimum(self.reach * share, 1 - np.finfo(float).eps))
        parts = 1 - np.exp(np.add.reduceat(remaining, self.starts, axis=1))
        return np.asarray(parts @ self.worth)
