"""A survey before anybody looks: how many objects of each group or place are drawn, and which."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import polars as pl

from collection.frames import returns
from collection.surveys.sampling import HALF, allocate, draw, draw_strata, in_lot_order, sample_size
from schemas.vocabularies import vocabulary

# Those that could be drawn. stratum: its group; cluster: its place, with which it may be drawn.
FRAME = pl.Schema({"unit_id": pl.String, "stratum": pl.String, "cluster": pl.String})
# Those drawn. chance: of being drawn; cluster_chance: of its place of being drawn, null where none is.
DRAWN = pl.Schema(
    {"unit_id": pl.String, "stratum": pl.String, "cluster": pl.String}
    | {"chance": pl.Float64, "cluster_chance": pl.Float64, "draw_order": pl.Int64}
)
# A group of the frame: how many there are, how much they differ (sd of yes and no), what one costs, how many are drawn.
GROUPS = pl.Schema(
    {"stratum": pl.String, "held": pl.Int64, "spread": pl.Float64, "cost": pl.Float64, "drawn": pl.Int64}
)
c = pl.col


@dataclass(frozen=True)
class Design:
    """What is asked of a sample: its sampling (a term), share that is expected, margin either way, confidence.

    size : in place of that which follows from the margin. in_a_cluster : objects drawn from each place of two stages.
    """

    sampling: str
    margin: float
    confidence: float
    share: float = HALF
    size: int | None = None
    in_a_cluster: int | None = None


def wanted(design: Design, held: int) -> int:
    """Objects to look at of so many there are, as drawn at random from all; the size that was asked for goes before."""
    if not held or _is(design, "takes_all"):
        return held
    size = design.size or sample_size(held, design.share, design.margin, design.confidence)
    return min(held, max(1, size))


@returns(GROUPS)
def groups(frame: pl.DataFrame, shares: Mapping[str, float], costs: Mapping[str, float], size: int) -> pl.DataFrame:
    """How a sample of `size` is shared out among the groups of the frame (schema FRAME), schema GROUPS.

    shares : share of yes that is expected of a group, a half where nothing is known; costs : of one check, alike where
    nothing is known. Most are drawn where there are many, they differ, and a check costs little (Neyman; Scheaffer 5).
    """
    counted = frame.group_by("stratum").agg(held=pl.len().cast(pl.Int64)).sort("stratum")
    expected = np.array([shares.get(name, HALF) for name in counted["stratum"]])
    spread = np.sqrt(expected * (1 - expected))
    cost = np.array([costs.get(name, 1.0) for name in counted["stratum"]])
    drawn = allocate(size, counted["held"].to_numpy(), spread, cost) if counted.height else []
    added = counted.with_columns(spread=pl.Series(spread), cost=pl.Series(cost), drawn=pl.Series(drawn, dtype=pl.Int64))
    return added.select(c(n).cast(t) for n, t in GROUPS.items())


@returns(DRAWN)
def drawn(frame: pl.DataFrame, design: Design, seed: int, shared: pl.DataFrame | None = None) -> pl.DataFrame:
    """The objects of the frame (schema FRAME) that are drawn, in the order of the draw, schema DRAWN.

    shared : schema GROUPS, for a design by groups. A place without a number is none: what lies there is not drawn with
    whole places.
    """
    size = wanted(design, frame.height)
    if _is(design, "by_cluster"):
        rows = _by_cluster(frame, design, size, seed)
    elif _is(design, "by_stratum") and shared is not None:
        rows = draw_strata(frame, dict(shared.select("stratum", "drawn").iter_rows()), seed)
        rows = in_lot_order(rows.drop("order"), seed)
    else:
        rows = draw(frame, size, seed)
    given = rows if "cluster_chance" in rows.columns else rows.with_columns(cluster_chance=None)
    return given.rename({"order": "draw_order"}).select(c(n).cast(t) for n, t in DRAWN.items())


def _by_cluster(frame: pl.DataFrame, design: Design, size: int, seed: int) -> pl.DataFrame:
    """Places drawn at random until their objects are as many as are wanted; of each all, or so many at random."""
    placed = frame.drop_nulls("cluster")
    counts = placed.group_by("cluster").agg(held=pl.len())
    lots = in_lot_order(counts.select("held", unit_id="cluster"), seed)
    most = design.in_a_cluster if _is(design, "in_part") and design.in_a_cluster else None
    looked = lots.with_columns(looked=c("held") if most is None else c("held").clip(upper_bound=most))
    before = c("looked").cum_sum() - c("looked")
    picked = looked.filter((before < size) | (c("order") <= 2))  # one place alone tells nothing of how places differ
    share = picked.height / max(lots.height, 1)
    wanted_of = picked.select("looked", cluster="unit_id", chance=c("looked") / c("held") * share)
    ordered = in_lot_order(placed.join(wanted_of, on="cluster"), seed).drop("order")
    rows = ordered.filter(pl.int_range(pl.len()).over("cluster") < c("looked")).drop("looked")
    return in_lot_order(rows, seed).with_columns(cluster_chance=pl.lit(share))


def _is(design: Design, flag: str) -> bool:
    return design.sampling in vocabulary("sampling").terms_where(flag)
