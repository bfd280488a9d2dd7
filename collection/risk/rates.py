"""The rates every hazard is looked up in: the museum's own figures over the starting values, multiplied out."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import Any

import polars as pl

from collection.risk.parameters import (
    PERCENT,
    AreaRange,
    Assumed,
    AtRiskFigures,
    Lines,
    Positive,
    Product,
    Response,
    read,
)
from collection.risk.rate_rows import OVER_UNSTABLE_GLASS, RATES, Own, RateFile, damage_rows, repair_rows
from collection.risk.years import mean_of_range
from collection.settings import Settings
from collection.snapshot import Collection
from schemas.vocabularies import vocabulary

EXTENT = pl.Schema({"extent_band": pl.String} | dict.fromkeys(("band_low", "band_likely", "band_high"), pl.Float64))


@dataclass(frozen=True, eq=False)
class RatesTable:
    """Every join finds exactly one row. A table is equal to itself alone, so that what follows from it can be kept.

    damage : schema RATES, one row a (term, stage, state); stage 0 is *not said*.
    repair : schema RATES, one row a (term, material, state, stage); the term is what the repair does; stage 1 is
        for the few rows that differ over unstable glass.
    extent : schema EXTENT, shares of the part, of each band.
    """

    damage: pl.DataFrame
    repair: pl.DataFrame
    extent: pl.DataFrame
    at_risk: AtRiskFigures
    shape: Mapping[str, tuple[Product, ...]]
    shape_else: str
    area_mm2: Mapping[str, float]
    fewest_of_type: int
    area_range: AreaRange
    response: Mapping[str, Response]
    lines: Lines
    assumed: Assumed
    value_basis: str
    range_per_move: float

    @classmethod
    def of(cls, collection: Collection) -> "RatesTable":
        """The table for this collection: `own_rate` rows over the starting values, `setting` rows over the lines."""
        settings = Settings.of(collection)
        damage, repair = _tables(_own(collection["own_rate"]), RateFile.load())
        areas = dict(read(dict[str, float], "lines", "area_mm2"))
        shapes = dict(read(dict[str, str | tuple[Product, ...]], "lines", "shape"))
        return cls(
            damage=damage,
            repair=repair,
            extent=_extent(),
            at_risk=read(AtRiskFigures, "rates", "at_risk"),
            shape_else=str(shapes.pop("otherwise")),
            shape={name: products for name, products in shapes.items() if not isinstance(products, str)},
            fewest_of_type=int(areas.pop("fewest")),
            area_mm2=areas,
            area_range=read(AreaRange, "lines", "area_range"),
            response=read(dict[str, Response], "climate_response", "climate_response"),
            lines=_lines(settings),
            assumed=read(Assumed, "lines", "assumed"),
            value_basis=settings.value_basis,
            range_per_move=float(read(Positive, "rates", "per_move", "range")),
        )

    @cached_property
    def rows(self) -> pl.DataFrame:
        """Both tables, one under the other, in the order of `rate_row`."""
        return pl.concat([self.damage, self.repair])

    def tables(self) -> Mapping[str, pl.DataFrame]:
        """What an engine must hold for `hazards()`."""
        damage = self.damage.select("term", "stage", "state", "stood_in", "rate_row")
        repair = self.repair.select("term", "material", "state", "stage", "stood_in", "rate_row")
        return {"rate_damage": damage, "rate_repair": repair, "rate": self.rows, "rate_extent": self.extent}

    @property
    def mean_of_range(self) -> float:
        """Mean of a chance per move over the likely one."""
        return mean_of_range(self.range_per_move)

    @cached_property
    def differs_over_unstable_glass(self) -> list[tuple[str, str]]:
        """term and state of the repairs whose row differs over unstable glass."""
        rows = self.repair.filter(pl.col("stage") == OVER_UNSTABLE_GLASS)
        return sorted(rows.select("term", "state").unique().iter_rows())


def _numbered(first: int) -> pl.Expr:
    return pl.int_range(first, pl.len() + first, dtype=pl.Int32)


def _lines(settings: Settings) -> Lines:
    lines = read(Lines, "lines", "lines")
    own = {name: value for name, value in settings if name in Lines.model_fields and value is not None}
    return lines.model_copy(update=own)


OwnRows = tuple[tuple[tuple[str, Any], ...], ...]


def _own(rows: pl.DataFrame) -> OwnRows:
    """Rows that the museum chose over the starting ones: of each, its columns and values."""
    chosen = rows.filter(pl.col("chosen") != "starting").select(pl.exclude(pl.List))
    return tuple(tuple(row.items()) for row in chosen.iter_rows(named=True))


@lru_cache(maxsize=2)
def _tables(own_rows: OwnRows, file: RateFile) -> tuple[pl.DataFrame, pl.DataFrame]:
    """Rates of damage and of repairs, multiplied out once for the same figures."""
    own: Own = {(row["rate_table"], row["term"], row["state"]): row for row in map(dict, own_rows)}
    damage = pl.DataFrame(list(damage_rows(own, file)), schema=RATES).with_columns(rate_row=_numbered(0))
    repair = pl.DataFrame(list(repair_rows(own, file)), schema=RATES)
    return damage, repair.with_columns(rate_row=_numbered(damage.height))


def _extent() -> pl.DataFrame:
    percent = PERCENT
    rows = [
        (term, *(p / percent for p in three)) for term, three in vocabulary("extent_band").properties("percent").items()
    ]
    return pl.DataFrame(rows, schema=EXTENT, orient="row")
