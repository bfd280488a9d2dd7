"""What the borrower agreed to beside what the object needs, quantity by quantity, and where the two do not fit."""

from collections.abc import Mapping
from typing import Any

import polars as pl

from collection.frames import returns
from collection.loans.parameters import travel_words
from collection.risk.climate import applying_targets
from collection.snapshot import Collection

LIMITS = pl.Schema(
    dict.fromkeys(("object_id", "loan_id", "quantity", "unit"), pl.String)
    | dict.fromkeys(("agreed_low", "agreed_high", "needs_low", "needs_high"), pl.Float64)
    | {"reason": pl.String, "set_by": pl.String, "set_on": pl.Date, "conflict": pl.Boolean, "bridged": pl.Boolean}
)
# quantity: (unit, column of its lower end, of its upper end)
OF_CLIMATE = {
    "humidity": ("%", "rh_low", "rh_high"),
    "humidity_change": ("%", None, "rh_change_24h"),
    "temperature": ("°C", "temperature_low", "temperature_high"),
    "temperature_change": ("°C", None, "temperature_change_24h"),
}
OF_LIGHT = {
    "light": ("lx", None, "lux_most"),
    "ultraviolet": ("µW/lm", None, "uv_most"),
    "light_total": ("lx h", None, "light_hours"),
}
LOWS = [low for _, low, _ in OF_CLIMATE.values() if low]
HIGHS = [high for _, _, high in (*OF_CLIMATE.values(), *OF_LIGHT.values())]
ENDS = ("low", "high")
FIGURES = 4  # as many as anybody agrees on
c = pl.col


@returns(LIMITS)
def limits(collection: Collection) -> pl.LazyFrame:
    """One row a lent object, loan and quantity, schema LIMITS; null where nobody agreed or set a figure.

    What an object needs are the targets that apply to it, the narrowest where there are several, and its requirement
    for light. conflict: what was agreed reaches beyond what it needs. bridged: a case is agreed that holds it.
    """
    asked = collection["loan_object"].lazy().unique(["loan_id", "object_id"], keep="first", maintain_order=True)
    needs = _climate_needs(collection).join(_light_needs(collection), on="object_id", how="full", coalesce=True)
    joined = asked.join(needs, on="object_id", how="left", suffix="_needed")
    every = {**OF_CLIMATE, **OF_LIGHT}
    rows = pl.concat([_quantity(joined, name, *its, light=name in OF_LIGHT) for name, its in every.items()])
    return rows.sort("loan_id", "object_id", maintain_order=True)


def conflicts(collection: Collection) -> pl.LazyFrame:
    """Rows of `limits` in which what was agreed does not fit what the object needs."""
    return limits(collection).filter("conflict")


def fit_words(row: Mapping[str, Any]) -> str:
    """Whether what was agreed fits what the object needs, in words; `row` of schema LIMITS."""
    words = travel_words().fits
    if row["conflict"]:
        return words["bridged" if row["bridged"] else "conflict"]
    both = all(any(row[f"{side}_{end}"] is not None for end in ENDS) for side in ("agreed", "needs"))
    return words["fits" if both else "not_comparable"]


def span(side: str) -> pl.Expr:
    """*38 to 50 %*, *at most 200 lx* of one side, `agreed` or `needs`, of schema LIMITS; null where no figure is."""
    low, high = (c(f"{side}_{end}").round_sig_figs(FIGURES).cast(pl.String).str.strip_suffix(".0") for end in ENDS)
    both = pl.format("{} to {} {}", low, high, "unit")
    most, least = pl.format("at most {} {}", high, "unit"), pl.format("at least {} {}", low, "unit")
    return pl.coalesce(both, most, least)


def _quantity(rows: pl.LazyFrame, name: str, unit: str, low: str | None, high: str, *, light: bool) -> pl.LazyFrame:
    nothing = pl.lit(None, pl.Float64)
    agreed_low, needs_low = (c(low), c(f"{low}_needed")) if low else (nothing, nothing)
    agreed_high, needs_high = c(high), c(f"{high}_needed")
    beyond = (agreed_low < needs_low).fill_null(value=False) | (agreed_high > needs_high).fill_null(value=False)
    kind = "light" if light else "climate"
    known = needs_low.is_not_null() | needs_high.is_not_null()
    why = {n: pl.when(known).then(c(f"{kind}_{n}")) for n in ("reason", "set_by", "set_on")}
    return rows.select(
        "object_id", "loan_id", quantity=pl.lit(name), unit=pl.lit(unit),
        agreed_low=agreed_low, agreed_high=agreed_high, needs_low=needs_low, needs_high=needs_high, **why,
        conflict=beyond, bridged=beyond & c("case_need").is_not_null() & pl.lit(not light),
    )  # fmt: skip


def _climate_needs(collection: Collection) -> pl.LazyFrame:
    """The narrowest of the targets that apply to each object; why, by whom and when of the one set last."""
    of_target = collection["target"].lazy().select("target_id", "set_by", "set_on")
    rows = applying_targets(collection).lazy().unique(["object_id", "target_id"]).join(of_target, on="target_id")
    ends = [*(c(n).max().alias(f"{n}_needed") for n in LOWS),
            *(c(n).min().alias(f"{n}_needed") for _, _, n in OF_CLIMATE.values())]  # fmt: skip
    last = [c(n).sort_by("set_on", "target_id").last().alias(f"climate_{n}") for n in ("reason", "set_by", "set_on")]
    return rows.group_by("object_id").agg(*ends, *last)


def _light_needs(collection: Collection) -> pl.LazyFrame:
    named = {f"{n}_needed": n for _, _, n in OF_LIGHT.values()} | {
        f"light_{n}": n for n in ("reason", "set_by", "set_on")
    }
    return collection["requirement"].lazy().select("object_id", **named)
