"""The rates every hazard is looked up in: the museum's own figures over the starting values, multiplied out."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import product
from typing import Any

import polars as pl

from collection.risk.parameters import (
    Assumed,
    AtRiskFigures,
    Lines,
    Positive,
    Product,
    Response,
    Row,
    Scale,
    YearsRow,
    read,
)
from collection.snapshot import Collection
from schemas.errors import VocabularyError
from schemas.terms import Activity, Damage, Stability
from schemas.vocabularies import load_parameters, terms, vocabulary

RATES = pl.Schema(
    {
        "rate_row": pl.Int32,
        "source": pl.String,
        "term": pl.String,
        "stage": pl.Int64,
        "material": pl.String,
        "state": pl.String,
    }
    | dict.fromkeys(("years_short", "years_likely", "years_long", "loss_depth"), pl.Float64)
    | {"basis": pl.String, "stood_in": pl.Boolean, "moving_years": pl.Float64, "at_risk": pl.String}
    | {"enamel_gone": pl.Boolean, "sheds": pl.Boolean, "climate_group": pl.String}
    | dict.fromkeys(("chance_per_move", "else_low", "else_likely", "else_high", "typical_mm2"), pl.Float64)
)

DAMAGE, REPAIR = "damage", "repair"  # records a hazard comes from
Own = Mapping[tuple[str, str, str], Mapping[str, Any]]
Chances = Mapping[str, float | Mapping[str, float]]


def damage_rows(own: Own) -> Iterator[dict[str, object]]:
    """Rows of RATES for damage: each kind by stage (0 is *not said*) and activity."""
    table, activity = read(dict[str, Row], "rates", "rate"), terms("activity", Activity)
    (moving, *_) = vocabulary("activity").terms_where("moving")
    for kind, stage, name in _stages():
        row = _of(table, "rate", name)
        for state, entry in activity.items():
            stand_in = _stand_in(name, row, state, activity)
            fastest = _figures(own, DAMAGE, name, _stand_in(name, row, moving, activity), row.states)
            figures = _figures(own, DAMAGE, name, stand_in, row.states)
            keys = {
                "source": DAMAGE,
                "term": kind,
                "stage": stage,
                "material": "",
                "state": state,
                "stood_in": stand_in != state,
            }
            yield keys | figures | _fixed(row, entry.handling_row) | {"moving_years": fastest["years_likely"]}


def repair_rows(own: Own) -> Iterator[dict[str, object]]:
    """Rows of RATES for repairs: each use by material and stability; while it works, the material sets the years."""
    table, stability = read(dict[str, Row], "rates", "repair"), vocabulary("stability")
    ages = read(dict[str, dict[str, YearsRow]], "rates", "repair_material")
    (harm, *_) = stability.terms_where("does_harm")
    by_material = stability.terms_where("years_by_material")
    for does, material, state in product(
        vocabulary("repair_function").term, vocabulary("repair_material").term, stability.term
    ):
        row = _of(table, "repair", does)
        of_material = ("repair_material", material, state, _of(ages, "repair_material", material))
        figures = _figures(own, *(of_material if state in by_material else (REPAIR, does, state, row.states)))
        figures["loss_depth"] = row.loss_depth_else if figures["loss_depth"] is None else figures["loss_depth"]
        fastest = _figures(own, REPAIR, does, harm, row.states)
        keys = {"source": REPAIR, "term": does, "stage": 0, "material": material, "state": state, "stood_in": False}
        handling = terms("stability", Stability)[state].handling_row
        yield keys | figures | _fixed(row, handling) | {"moving_years": fastest["years_likely"]}


def _stages() -> Iterator[tuple[str, int, str]]:
    """Kind, stage and name of the row of rates; kinds without stages have stage 0 only."""
    for kind, entry in terms("damage", Damage).items():
        staged = entry.rows_by_stage
        for stage, name in enumerate(staged, start=1):
            yield kind, stage, name
        yield kind, 0, staged[(entry.stage_assumed or 1) - 1] if staged else kind


def _of(table: Mapping[str, Any], dotted: str, name: str) -> Any:
    if name not in table:
        raise VocabularyError(
            f"rates.toml, {dotted}.{name}", "no rates", "a row of rates for each term", "Add the row."
        )
    return table[name]


def _stand_in(name: str, row: Row, state: str, activity: Mapping[str, Activity]) -> str:
    """The state itself, or the first that the row has in its place."""
    order = (state, *activity[state].instead, *activity)
    found: str | None = next((s for s in order if s in row.states), None)
    if found is None:
        raise VocabularyError(f"rates.toml, rate.{name}", "no activity has years", "at least one", "Add the years.")
    return found


def _figures(own: Own, table: str, name: str, state: str, states: Mapping[str, YearsRow]) -> dict[str, Any]:
    """Years and loss depth: the museum's own where it has chosen so, else the starting value."""
    if state not in states:
        raise VocabularyError(f"rates.toml, {table}.{name}.{state}", "no years", "a row of years", "Add the years.")
    start, mine = states[state], own.get((table, name, state), {})
    given: dict[str, Any] = dict(zip(("years_short", "years_likely", "years_long"), start.years, strict=True))
    basis = f"{mine['chosen']} value" if mine else load_parameters("rates")["words"]
    given = given | {"loss_depth": start.loss_depth, "basis": basis}
    return given | {column: mine[column] for column in given if mine.get(column) is not None}


def _fixed(row: Row, handling_row: str) -> dict[str, Any]:
    """What a row says whatever the state."""
    percent = read(Scale, "lines", "scale").percent
    low, likely, high = (p / percent for p in row.assumed_percent)
    chances = read(dict[str, Positive | dict[str, Positive]], "rates", "per_move")[row.handling]
    return {
        "at_risk": row.at_risk,
        "enamel_gone": row.enamel_gone,
        "sheds": row.sheds,
        "climate_group": row.climate,
        "chance_per_move": chances[handling_row] if isinstance(chances, Mapping) else chances,
        "else_low": low,
        "else_likely": likely,
        "else_high": high,
        "typical_mm2": row.typical_mm2,
    }


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
