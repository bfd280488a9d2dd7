"""Rows of the rates: every kind, stage and state of a damage, every use, material and state of a repair."""

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from itertools import product
from typing import Any

import polars as pl

from collection.risk.parameters import PERCENT, Positive, Row, StatesRow, YearsRow, read
from collection.risk.years import mean_rate
from schemas.errors import VocabularyError
from schemas.terms import Activity, Damage, Stability
from schemas.vocabularies import terms, vocabulary

FLAGS = ("enamel_gone", "sheds", "at_rest", "beneath", "coating", "nests", "harmed", "learned")
RATES = pl.Schema(
    {"rate_row": pl.Int32, "cell": pl.String, "source": pl.String, "term": pl.String, "stage": pl.Int64}
    | dict.fromkeys(("material", "state", "basis", "at_risk", "climate_group"), pl.String)
    | dict.fromkeys(("stood_in", *FLAGS), pl.Boolean)
    | dict.fromkeys(("years_short", "years_likely", "years_long", "mean_rate", "loss_depth"), pl.Float64)
    | dict.fromkeys(("moving_years", "chance_per_move", "typical_mm2", "spread"), pl.Float64)
    | dict.fromkeys(("else_low", "else_likely", "else_high"), pl.Float64)
    | dict.fromkeys(("harmed_low", "harmed_likely", "harmed_high"), pl.Float64)
)
DAMAGE, REPAIR, MATERIAL = "damage", "repair", "repair_material"  # tables of rates
FRAGMENT = "fragment"  # a record that makes hazards, too; its kinds have rows of damage
UNDER_COATINGS = ("glass", "interface")  # layers of an object that lie under a coating
OVER_UNSTABLE_GLASS = 1  # stage of a repair's row where its glass is unstable; elsewhere 0
UNSTABLE = "_over_unstable_glass"  # ending of a state's row where it differs over unstable glass
YEARS = ("years_short", "years_likely", "years_long")
Own = Mapping[tuple[str, str, str], Mapping[str, Any]]
Cell = tuple[str, str, str]
FILE = "rates"


@dataclass(frozen=True, eq=False)
class RateFile:
    """The tables of rates.toml, read and checked once; compared by identity."""

    damage: Mapping[str, Row]
    repair: Mapping[str, Row]
    material: Mapping[str, StatesRow]
    per_move: Mapping[str, float | Mapping[str, float]]
    words: str

    @classmethod
    def load(cls) -> "RateFile":
        """The same object while the file says the same. Raises VocabularyError for a wrong figure, with its key."""
        return _read_once(json.dumps(read(dict[str, Any], FILE)))

    def chance_per_move(self, group: str, handling_row: str) -> float:
        """Chance of a loss each time a thing is lifted and put down."""
        chances = self.per_move[group]
        return chances[handling_row] if isinstance(chances, Mapping) else chances

    def handling_groups(self) -> Mapping[str, str]:
        """Group of handling by source and row of the rates, `damage/lifting`, `repair/holds`."""
        tables = ((DAMAGE, self.damage), (REPAIR, self.repair))
        return {f"{source}/{name}": row.handling for source, table in tables for name, row in table.items()}


@lru_cache(maxsize=2)
def _read_once(_text: str) -> RateFile:
    return RateFile(
        read(dict[str, Row], FILE, "rate"),
        read(dict[str, Row], FILE, "repair"),
        read(dict[str, StatesRow], FILE, MATERIAL),
        read(dict[str, Positive | dict[str, Positive]], FILE, "per_move"),
        read(str, FILE, "words"),
    )


def damage_rows(own: Own, file: RateFile) -> Iterator[dict[str, object]]:
    """Rows of RATES for damage: each kind by stage (0 is *not said*) and activity."""
    for (kind, its, stage, name), (state, entry) in product(_stages(), terms("activity", Activity).items()):
        row = _of(file.damage, "rate", name)
        stand_in = _stand_in(name, row, state)
        moving = next(s for s, its in terms("activity", Activity).items() if its.moving)
        group = row.handling_active if entry.moving and row.handling_active else row.handling
        yield {
            **_fixed(row),
            **_figures(own, file, (DAMAGE, name, stand_in), row.states[stand_in]),
            "source": DAMAGE,
            "term": kind,
            "stage": stage,
            "material": "",
            "state": state,
            "stood_in": stand_in != state,
            "at_rest": entry.at_rest,
            "beneath": its.beneath,
            "nests": row.layer in UNDER_COATINGS,
            "chance_per_move": file.chance_per_move(group, entry.handling_row),
            "moving_years": _moving_years(own, file, name, row, moving),
        }


def _moving_years(own: Own, file: RateFile, name: str, row: Row, moving: str) -> float | None:
    """Likely years of the kind while it moves; None where the kind is not known to move."""
    if moving not in row.states:
        return None
    return float(_figures(own, file, (DAMAGE, name, moving), row.states[moving])["years_likely"])


def repair_rows(own: Own, file: RateFile) -> Iterator[dict[str, object]]:
    """Rows of RATES for repairs: each use by material and stability; while it works, the material sets the years."""
    uses, materials = vocabulary("repair_function"), vocabulary(MATERIAL).term
    coats = uses.terms_where("over_surface")
    for use, material, (state, entry) in product(uses.term, materials, terms("stability", Stability).items()):
        row = _of(file.repair, "repair", use)
        shared = {
            **_fixed(row),
            "source": REPAIR,
            "term": use,
            "material": material,
            "state": state,
            "stood_in": False,
            "at_rest": entry.at_rest,
            "coating": use in coats,
            "nests": use in coats,
            "harmed": row.harmed_percent is not None and entry.spoils,
            "chance_per_move": file.chance_per_move(row.handling, entry.handling_row),
            "moving_years": _figures(own, file, *_fastest(row, use))["years_likely"],
        }
        for stage, cell, figures in _repair_cells(file, use, material, state, entry):
            depth = row.loss_depth_else if figures.loss_depth is None else figures.loss_depth
            filled = figures.model_copy(update={"loss_depth": depth})
            yield shared | {"stage": stage} | _figures(own, file, cell, filled)


def _repair_cells(
    file: RateFile, use: str, material: str, state: str, entry: Stability
) -> Iterator[tuple[int, Cell, YearsRow]]:
    """The cell of a repair's state, and the one of the same state over unstable glass where the table has one."""
    if entry.years_by_material:
        ages = _of(file.material, MATERIAL, material).states
        yield 0, (MATERIAL, material, state), _of(ages, f"{MATERIAL}.{material}", state)
        return
    states = file.repair[use].states
    yield 0, (REPAIR, use, state), _of(states, f"repair.{use}", state)
    if (over := f"{state}{UNSTABLE}") in states:
        yield OVER_UNSTABLE_GLASS, (REPAIR, use, over), states[over]


def _fastest(row: Row, use: str) -> tuple[Cell, YearsRow]:
    (harm, *_) = vocabulary("stability").terms_where("does_harm")
    return (REPAIR, use, harm), row.states[harm]


def rated_kinds() -> Mapping[str, Damage]:
    """Kinds of damage that can make a hazard: flaws of firing, residues and a missing part cannot."""
    return {kind: its for kind, its in terms("damage", Damage).items() if not its.no_hazard}


def _stages() -> list[tuple[str, Damage, int, str]]:
    """Kind, stage and name of the row of rates; kinds without stages have stage 0 only, those without hazard none."""
    staged = []
    for kind, its in rated_kinds().items():
        names = its.rows_by_stage
        staged += [(kind, its, stage, name) for stage, name in enumerate(names, start=1)]
        staged.append((kind, its, 0, names[(its.stage_assumed or 1) - 1] if names else kind))
    return staged


def _of(table: Mapping[str, Any], dotted: str, name: str) -> Any:
    if name not in table:
        raise VocabularyError(
            f"rates.toml, {dotted}.{name}", "no rates", "a row of rates for each term", "Add the row."
        )
    return table[name]


def _stand_in(name: str, row: Row, state: str) -> str:
    """The state itself, or the first that the row has in its place."""
    activity = terms("activity", Activity)
    order = (state, *activity[state].instead, *activity)
    stand_in = next((s for s in order if s in row.states), None)
    if stand_in is None:
        raise VocabularyError(f"rates.toml, rate.{name}", "no activity has years", "at least one", "Add the years.")
    return stand_in


def _figures(own: Own, file: RateFile, cell: Cell, start: YearsRow) -> dict[str, Any]:
    """Years, mean rate and loss depth: the museum's own where it has chosen so, else the starting value."""
    mine = own.get(cell, {})
    given: dict[str, Any] = dict(zip(YEARS, start.years, strict=True)) | {"loss_depth": start.loss_depth}
    figures = given | {column: mine[column] for column in given if mine.get(column) is not None}
    learned = mine.get("chosen") == LEARNED
    return figures | {
        "cell": "/".join(cell),
        "basis": _basis(mine) if mine else file.words,
        "mean_rate": mean_rate(*(figures[name] for name in YEARS)),
        "learned": learned,
        "spread": (mine.get("spread") or 0.0) if learned else None,
    }


LEARNED = "learned"


def _basis(mine: Mapping[str, Any]) -> str:
    """Where the museum says its figures come from; else that they are its own or learned."""
    return mine.get("basis") or f"{mine['chosen']} value"


def _fixed(row: Row) -> dict[str, Any]:
    """What a row says whatever the state."""
    low, likely, high = (p / PERCENT for p in row.assumed_percent)
    harmed = [p / PERCENT for p in row.harmed_percent] if row.harmed_percent else [None] * len(row.assumed_percent)
    return {
        **dict.fromkeys(FLAGS, False),
        "at_risk": row.at_risk,
        "enamel_gone": row.enamel_gone,
        "sheds": row.sheds,
        "climate_group": row.climate,
        "else_low": low,
        "else_likely": likely,
        "else_high": high,
        "typical_mm2": row.typical_mm2,
        **dict(zip(("harmed_low", "harmed_likely", "harmed_high"), harmed, strict=True)),
    }
