"""Drawing by lot: units in the order of a hash of seed and number, so that what comes in later moves nobody."""

from hashlib import sha256

import polars as pl

ORDER = "order"


def in_lot_order(units: pl.DataFrame, seed: int) -> pl.DataFrame:
    """The units, column unit_id, in the order in which they are drawn, numbered from 1 in `order`.

    The first n are a simple random sample; a unit is placed by SHA-256 of the seed and its own number alone.
    """
    places = [sha256(f"{seed}\x1f{unit}".encode()).digest() for unit in units["unit_id"]]
    hashed = units.with_columns(_place=pl.Series(places, dtype=pl.Binary)).sort("_place", "unit_id").drop("_place")
    return hashed.with_columns(pl.int_range(1, pl.len() + 1, dtype=pl.Int64).alias(ORDER))


def draw(units: pl.DataFrame, number: int, seed: int) -> pl.DataFrame:
    """`number` of the units by lot, with `chance` of being drawn."""
    drawn = in_lot_order(units, seed).head(number)
    return drawn.with_columns(chance=pl.lit(min(1.0, number / max(units.height, 1))))


def draw_strata(units: pl.DataFrame, numbers: dict[str, int], seed: int) -> pl.DataFrame:
    """As many of each stratum (column `stratum`) as `numbers` says, each with its chance."""
    parts = [draw(units.filter(pl.col("stratum") == name), number, seed) for name, number in sorted(numbers.items())]
    return pl.concat(parts) if parts else draw(units.clear(), 0, seed)
