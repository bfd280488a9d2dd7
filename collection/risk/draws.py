"""How sure a loss and an order are: every starting value drawn within its range, on two levels (risk model, section 5).

z = sqrt(c) z_row + sqrt(1 - c) z_hazard: one draw for all hazards of a row of the rates, one for each hazard. Draws are
keyed by names and seed alone, so that order of rows, blocks and engine change none of them.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from hashlib import blake2b

import numpy as np
import numpy.typing as npt
import polars as pl

from collection.frames import returns
from collection.risk.rates import RatesTable
from collection.risk.reach import BAND
from collection.risk.unknown_state import with_mixture
from collection.risk.years import LIMIT_90, sigmas

DRAWN = pl.Schema(
    {"object_id": pl.String} | dict.fromkeys(("loss_low", "loss_middle", "loss_high", "mean", "in_first"), pl.Float64)
)
DRAWS = 1000  # enough for two figures of a loss and a chance in hundredths
BLOCK = 1000  # objects worked on together; it changes no figure
QUANTILES = (0.05, 0.5, 0.95)
NEARLY_ALL = np.float32(1 - 1e-7)  # the largest single below 1, nearly: its logarithm stays finite
LEAST = np.float32(1e-12)  # no share of a part is smaller
KEY_BYTES = 16  # of a key of Philox
MOVES = "per_move"
Floats = npt.NDArray[np.float32]
c = pl.col


@dataclass(frozen=True)
class Drawing:
    """`first`: of how many objects the chance to be among them is counted; number of draws, and their seed."""

    first: int
    draws: int = DRAWS
    seed: int = 1

    def normals(self, name: str, *shape: int) -> Floats:
        """Standard normals keyed by seed and name."""
        return self._generator(name).standard_normal((*shape, self.draws), dtype=np.float32)

    def uniforms(self, name: str, *shape: int) -> Floats:
        """Numbers between 0 and 1 keyed by seed and name."""
        return self._generator(name).random((*shape, self.draws), dtype=np.float32)

    def _generator(self, name: str) -> np.random.Generator:
        digest = blake2b(f"{self.seed}/{name}".encode(), digest_size=KEY_BYTES).digest()
        return np.random.Generator(np.random.Philox(key=int.from_bytes(digest, "little")))


@returns(DRAWN)
def draw(hazards: pl.DataFrame, objects: pl.DataFrame, rates: RatesTable, drawing: Drawing) -> pl.DataFrame:
    """Loss of each object with hazards over the ranges of what it rests on, schema DRAWN.

    Parameters
    ----------
    hazards : schema HAZARDS.
    objects : object_id and weight, what an object's loss is multiplied by for the order: 1, or its share of the
        collection's value.

    Returns
    -------
    loss_low, loss_middle, loss_high [share of the object's value a year] : 5th, 50th and 95th percentile; mean;
    in_first : in how many of the draws, as a share, fewer than `drawing.first` objects lose more.
    """
    ordered = _prepared(hazards, rates).sort("object_id", "part", "hazard_id")
    weights = dict(objects.select("object_id", "weight").iter_rows())
    rows = {name: drawing.normals(f"row {name}") for name in ordered["cell"].unique()}
    moves = drawing.normals(f"row {MOVES}") / np.float32(LIMIT_90)
    first = _First(drawing)
    parts = []
    for block in _blocks(ordered):
        losses = _losses(block, rows, moves, rates, drawing)
        ids = block["object_id"].unique(maintain_order=True)
        parts.append(_summary(ids, losses))
        first.take(ids, losses * np.array([weights.get(i, 0.0) for i in ids], dtype=np.float32)[:, None])
    if not parts:
        return pl.DataFrame(schema=DRAWN)
    summed = pl.concat(parts).join(first.chances(), on="object_id", how="left")
    return summed.with_columns(c("in_first").fill_null(0.0)).select(*DRAWN)


def _prepared(hazards: pl.DataFrame, rates: RatesTable) -> pl.DataFrame:
    """Hazards with the spreads of their years and extents; rows that cost nothing are left out."""
    cells = rates.rows.select("rate_row", "cell", "stage")
    known = with_mixture(hazards.join(cells, on="rate_row", how="left"), rates)
    points = known.select("years_short", "years_likely", "years_long").unique()
    both = [sigmas(*row) for row in points.iter_rows()]
    low, high = (pl.Series([pair[n] for pair in both], dtype=pl.Float64) for n in (0, 1))
    spread = points.with_columns(sigma_low=low, sigma_high=high)
    return known.join(spread, on=points.columns, how="left").filter(c("affected_share") > 0)


def _blocks(ordered: pl.DataFrame) -> Iterator[pl.DataFrame]:
    """Runs of whole objects."""
    numbered = ordered.with_columns(block=c("object_id").rle_id() // BLOCK)
    yield from numbered.partition_by("block", maintain_order=True)


def _losses(block: pl.DataFrame, rows: dict[str, Floats], moves: Floats, rates: RatesTable, drawing: Drawing) -> Floats:
    """Loss of each object of a block in each draw: an array of objects x draws."""
    z, x = _normals(block, drawing)
    common = np.float32(rates.lines.common_share)
    z = np.sqrt(common) * np.stack([rows[name] for name in block["cell"]]) + np.sqrt(1 - common) * z
    rate = _rate(block, z, drawing) + _column(block, "handling_rate") * np.float32(rates.range_per_move) ** moves
    extent = _extent(block, x)
    reach = 1 - (1 - extent) ** _column(block, "visibility")
    gone = -np.expm1(-rate * _column(block, "loss_depth"))
    log = np.log1p(-np.minimum(reach * gone, NEARLY_ALL))
    log = _on_one_spot(block, log, reach, gone)
    starts, shares, objects = _parts(block)
    of_part = shares[:, None] * -np.expm1(np.add.reduceat(log, starts, axis=0))
    return np.add.reduceat(of_part, objects, axis=0)


def _normals(block: pl.DataFrame, drawing: Drawing) -> tuple[Floats, Floats]:
    """z_hazard and the draw of the extent of each row, keyed by object."""
    each = [drawing.normals(f"object {number}", 2, rows) for number, rows in _runs(block)]
    return np.concatenate([a[0] for a in each]), np.concatenate([a[1] for a in each])


def _rate(block: pl.DataFrame, z: Floats, drawing: Drawing) -> Floats:
    """Rate at rest [1/year]: 1/T at z, the state drawn first where nobody assessed it."""
    sigma = np.where(z < 0, _column(block, "sigma_low"), _column(block, "sigma_high"))
    own = np.exp(-sigma * z) / _column(block, "years_likely") * _column(block, "quiet_factor")
    mixed = np.flatnonzero(block["chance_moving"].to_numpy() >= 0)
    if mixed.size:
        chance, moving, quiet = (_column(block[mixed], n) for n in ("chance_moving", "years_moving", "years_quiet"))
        years = np.where(_states(block, drawing)[mixed] < chance, moving, quiet)
        own[mixed] = np.exp(-sigma[mixed] * z[mixed]) / years
    return np.asarray(own * _column(block, "modifier"), dtype=np.float32)


def _states(block: pl.DataFrame, drawing: Drawing) -> Floats:
    """A number between 0 and 1 for each row of the objects that have a state nobody assessed; 1 for those of others."""
    drawn = np.ones((block.height, drawing.draws), dtype=np.float32)
    of_object = block.with_row_index("at").group_by("object_id", maintain_order=True)
    each = of_object.agg(c("at").first(), rows=pl.len(), mixed=(c("chance_moving") >= 0).any())
    for number, at, rows in each.filter("mixed").select("object_id", "at", "rows").iter_rows():
        drawn[at : at + rows] = drawing.uniforms(f"state {number}", rows)
    return drawn


def _runs(block: pl.DataFrame) -> Iterator[tuple[str, int]]:
    """Each object and how many rows it has."""
    yield from block.group_by("object_id", maintain_order=True).len().iter_rows()


def _extent(block: pl.DataFrame, x: Floats) -> Floats:
    """Affected share: lognormal within its limits; a band is cut at its ends, all at what is left."""
    low, likely, high, left = (
        _column(block, n) for n in ("affected_low", "affected_share", "affected_high", "left_share")
    )
    wide = np.where(x < 0, likely / np.maximum(low, LEAST), high / likely)
    drawn = likely * np.maximum(wide, 1) ** (x / np.float32(LIMIT_90))
    banded = (block["extent_basis"] == BAND).to_numpy()[:, None]
    cut = np.where(banded, np.clip(drawn, low, high), drawn)
    return np.asarray(np.minimum(cut, left), dtype=np.float32)


def _on_one_spot(block: pl.DataFrame, log: Floats, reach: Floats, gone: Floats) -> Floats:
    """Rows that lie with a coating on one spot share what the nested union leaves (see `collection.risk.reach`)."""
    nested = block.with_row_index("at").filter("nested").group_by("object_id", "part", maintain_order=True)
    for rows in nested.agg(c("at"))["at"].to_list():
        at = np.array(rows)
        order = np.argsort(-reach[at], axis=0, kind="stable")
        areas = np.take_along_axis(reach[at], order, axis=0)
        whole = np.cumprod(1 - np.take_along_axis(gone[at], order, axis=0), axis=0)
        rings = areas - np.concatenate([areas[1:], np.zeros_like(areas[:1])])
        together = np.log1p(-np.minimum((rings * (1 - whole)).sum(axis=0), NEARLY_ALL))
        alone = log[at].sum(axis=0)
        log[at] *= np.where(alone < 0, together / np.where(alone < 0, alone, 1), 1)
    return log


def _parts(block: pl.DataFrame) -> tuple[npt.NDArray[np.int64], Floats, npt.NDArray[np.int64]]:
    """Where each part begins among the rows, its share, and where each object begins among the parts."""
    parts = block.with_row_index("at").group_by("object_id", "part", maintain_order=True)
    first = parts.agg(c("at").first(), c("part_share").max())
    objects = first.with_row_index("nth").group_by("object_id", maintain_order=True).agg(c("nth").first())
    shares = first["part_share"].to_numpy().astype(np.float32)
    return first["at"].to_numpy().astype(np.int64), shares, objects["nth"].to_numpy().astype(np.int64)


def _column(block: pl.DataFrame, name: str) -> Floats:
    return block[name].to_numpy().astype(np.float32)[:, None]


def _summary(ids: pl.Series, losses: Floats) -> pl.DataFrame:
    low, middle, high = np.quantile(losses, QUANTILES, axis=1)
    figures = {"loss_low": low, "loss_middle": middle, "loss_high": high, "mean": losses.mean(axis=1)}
    return pl.DataFrame({"object_id": ids} | {n: a.astype(np.float64) for n, a in figures.items()})


class _First:
    """The objects with the largest losses of each draw, as blocks come in."""

    def __init__(self, drawing: Drawing) -> None:
        self._most = drawing.first
        self._losses = np.zeros((0, drawing.draws), dtype=np.float32)
        self._ids = np.zeros((0, drawing.draws), dtype=np.int64)
        self._names: list[str] = []
        self._draws = drawing.draws

    def take(self, ids: Sequence[str] | pl.Series, losses: Floats) -> None:
        """Keep the largest of those there were and of these."""
        numbers = np.arange(len(self._names), len(self._names) + len(ids))
        self._names += list(ids)
        both = np.concatenate([self._losses, losses])
        named = np.concatenate([self._ids, np.repeat(numbers[:, None], self._draws, axis=1)])
        if len(both) > self._most:
            largest = np.argpartition(-both, self._most - 1, axis=0)[: self._most]
            both, named = (np.take_along_axis(a, largest, axis=0) for a in (both, named))
        self._losses, self._ids = both, named

    def chances(self) -> pl.DataFrame:
        """object_id, in_first: share of the draws."""
        number, counts = np.unique(self._ids[self._losses > 0], return_counts=True)
        names = [self._names[n] for n in number]
        return pl.DataFrame(
            {"object_id": names, "in_first": counts / self._draws}, schema_overrides={"object_id": pl.String}
        )
