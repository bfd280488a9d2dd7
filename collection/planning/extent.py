"""How far a hazard reaches on the average over the range of its extent, not at its likely one."""

import numpy as np
import numpy.typing as npt
import polars as pl

from collection.plan.hazard_table import quadrature
from collection.risk.reach import BAND
from collection.risk.years import LIMIT_90

LEAST = 1e-12  # no share of a part is smaller: keeps a quotient finite
COLUMNS = ("affected_low", "affected_share", "affected_high", "left_share", "visibility")


def mean_reach(rows: pl.DataFrame) -> npt.NDArray[np.float64]:
    """Mean share of the part that each hazard reaches, its affected share a two-piece lognormal through low, likely and
    high; a band is cut at its ends, all at what is left. `rows` : COLUMNS and extent_basis.

    Low .01, likely .03, high .09, in plain view and not a band: .03 exp(s²/2), s = ln 3 / 1.64485: 0.037498.
    """
    z, weights = quadrature()
    low, likely, high, left, seen = (rows[name].to_numpy().astype(np.float64)[:, None] for name in COLUMNS)
    wide = np.where(z < 0, likely / np.maximum(low, LEAST), high / np.maximum(likely, LEAST))
    drawn = likely * np.maximum(wide, 1.0) ** (z / LIMIT_90)
    banded = (rows["extent_basis"] == BAND).to_numpy()[:, None]
    share = np.minimum(np.where(banded, np.clip(drawn, low, high), drawn), left)
    return np.asarray((1 - (1 - share) ** seen) @ weights)
