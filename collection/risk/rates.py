"""The rates every hazard is looked up in: the museum's own figures over the starting values, multiplied out."""

from collections.abc import Mapping
from dataclasses import dataclass

import polars as pl

from collection.risk.figures import Assumed, AtRiskFigures, Lines, Product, Response, Scale, read
from collection.risk.multiplied import RATES, Own, damage_rows, repair_rows
from collection.snapshot import Collection
from schemas.vocabularies import vocabulary

EXTENT = pl.Schema({"extent_band": pl.String} | dict.fromkeys(("band_low", "band_likely", "band_high"), pl.Float64))


@dataclass(frozen=True)
class RatesTable:
    """Every join finds exactly one row.

    damage : schema RATES, one row a (term, stage, state); stage 0 is *not said*.
    repair : schema RATES, one row a (term, material, state); the term is what the repair does.
    extent : schema EXTENT, shares of the part, of each band.
    """

    damage: pl.DataFrame
    repair: pl.DataFrame
    extent: pl.DataFrame
    at_risk: AtRiskFigures
    shape: Mapping[str, tuple[Product, ...]]
    shape_else: str
    response: Mapping[str, Response]
    lines: Lines
    scale: Scale
    assumed: Assumed
    value_basis: str | None

    @classmethod
    def of(cls, collection: Collection) -> "RatesTable":
        """The table for this collection: `own_rate` rows over the starting values, `setting` rows over the lines."""
        own = _own(collection["own_rate"])
        settings = dict(collection["setting"].select("name", "value").iter_rows())
        damage = pl.DataFrame(list(damage_rows(own)), schema=RATES).with_columns(rate_row=_numbered(0))
        shapes = dict(read(dict[str, str | tuple[Product, ...]], "lines", "shape"))
        return cls(
            damage=damage,
            repair=pl.DataFrame(list(repair_rows(own)), schema=RATES).with_columns(rate_row=_numbered(damage.height)),
            extent=_extent(),
            at_risk=read(AtRiskFigures, "rates", "at_risk"),
            shape_else=str(shapes.pop("otherwise")),
            shape={name: products for name, products in shapes.items() if not isinstance(products, str)},
            response=read(dict[str, Response], "climate_response", "climate_response"),
            lines=_lines(settings),
            scale=read(Scale, "lines", "scale"),
            assumed=read(Assumed, "lines", "assumed"),
            value_basis=settings.get("value_basis"),
        )

    @property
    def rows(self) -> pl.DataFrame:
        """Both tables, one under the other, in the order of `rate_row`."""
        return pl.concat([self.damage, self.repair])

    def tables(self) -> Mapping[str, pl.DataFrame]:
        """What an engine must hold for `hazards()`."""
        damage = self.damage.select("term", "stage", "state", "stood_in", "rate_row")
        repair = self.repair.select("term", "material", "state", "stood_in", "rate_row")
        return {"rate_damage": damage, "rate_repair": repair, "rate": self.rows, "rate_extent": self.extent}


def _numbered(first: int) -> pl.Expr:
    return pl.int_range(first, pl.len() + first, dtype=pl.Int32)


def _lines(settings: Mapping[str, str]) -> Lines:
    lines = read(Lines, "lines", "lines")
    given = {name: settings[name] for name in Lines.model_fields if name in settings}
    return Lines.model_validate(lines.model_dump() | given)


def _own(rows: pl.DataFrame) -> Own:
    chosen = rows.filter(pl.col("chosen") != "starting")
    return {(r["rate_table"], r["term"], r["state"]): r for r in chosen.iter_rows(named=True)}


def _extent() -> pl.DataFrame:
    percent = read(Scale, "lines", "scale").percent
    rows = [
        (term, *(p / percent for p in three)) for term, three in vocabulary("extent_band").properties("percent").items()
    ]
    return pl.DataFrame(rows, schema=EXTENT, orient="row")
