"""What the museum's own checks say of the rates: starting and learned years side by side, and which is in use."""

from collections.abc import Callable, Mapping
from datetime import date
from typing import Any

import polars as pl

from collection.frames import returns
from collection.learning.histories import histories
from collection.learning.learned import learned_losses, starting
from collection.questions.words import count, day_in_words, two_figures
from collection.risk.rate_rows import DAMAGE, MATERIAL, REPAIR, UNSTABLE, YEARS
from collection.risk.rates import RatesTable
from collection.snapshot import Collection
from schemas.terms import Damage, RepairFunction
from schemas.vocabularies import terms, vocabulary

STARTING_YEARS = tuple(f"starting_{name}" for name in YEARS)
RATE_ROWS = pl.Schema(
    {"cell": pl.String, "what": pl.String, "starting": pl.String, "learned": pl.String}
    | {"events": pl.Int64, "objects": pl.Int64, "exposure_years": pl.Float64, "chosen": pl.String}
    | dict.fromkeys((*STARTING_YEARS, *YEARS, "mean_rate", "chance_of_spread", "spread"), pl.Float64)
    | {"version": pl.Int64}
)
NOT_OURS = "Starting values are judgement, published by nobody"
CHOSEN = {"starting": "starting value, judgement", "own": "the museum's own", "learned": "learned from its checks"}
KEY = ("rate_table", "term", "state")
c = pl.col


@returns(RATE_ROWS)
def rate_rows(collection: Collection, checks: pl.DataFrame) -> pl.DataFrame:
    """Every row of the rates that checks say something of, or that the museum set; most events first.

    Parameters
    ----------
    collection : cut to a day. checks : its schema CHECKS.

    Returns
    -------
    Schema RATE_ROWS. Years to the next loss: starting and learned, in words and as figures; exposure_years: years
    watched, of so many objects. chosen: starting, own or learned. version: of the museum's own row, null where none is.
    """
    rates = starting(collection)
    learned = learned_losses(histories(collection, checks, rates), rates)
    rows = _joined(rates, learned, _own(collection))
    worded = rows.with_columns(
        what=_each(rows, cell_words, "cell"),
        starting=_each(rows, years_words, *STARTING_YEARS),
        learned=_each(rows, years_words, *YEARS),
    )
    return worded.select(*RATE_ROWS).sort("events", "exposure_years", "cell", descending=[True, True, False])


def _joined(rates: RatesTable, learned: pl.DataFrame, own: pl.DataFrame) -> pl.DataFrame:
    """Rows that checks or the museum say something of, with their starting years; no history is no event in no year."""
    named = (c(name).alias(as_) for name, as_ in zip(YEARS, STARTING_YEARS, strict=True))
    first = rates.rows.select("cell", *named).unique("cell", keep="first", maintain_order=True)
    known = pl.concat([learned.select("cell"), own.select("cell")]).unique()
    joined = known.join(first, on="cell").join(learned, on="cell", how="left").join(own, on="cell", how="left")
    return joined.with_columns(
        c("events", "objects").fill_null(0),
        c("exposure_years").fill_null(0.0),
        c("chosen").fill_null(next(iter(CHOSEN))),
    )


def _each(rows: pl.DataFrame, words: Callable[..., str], *columns: str) -> pl.Series:
    """Words of each of about a hundred rows."""
    return pl.Series([words(*values) for values in rows.select(columns).iter_rows()], dtype=pl.String)


def _own(collection: Collection) -> pl.DataFrame:
    return collection["own_rate"].select("chosen", version="row_version", cell=pl.concat_str(*KEY, separator="/"))


def years_words(short: float | None, likely: float | None, long: float | None) -> str:
    """*about 10 years (3 to 30)*; empty where nothing is known."""
    if short is None or likely is None or long is None:
        return ""
    middle = two_figures(likely)
    return f"about {middle} {'year' if middle == '1' else 'years'} ({two_figures(short)} to {two_figures(long)})"


def cell_words(cell: str) -> str:
    """*lifting, active*; *join, failing*; *wax, ageing*; *crizzling, stage 1 or 2, dormant*."""
    table, _, state = cell.split("/")
    over = ", over unstable glass" if state.endswith(UNSTABLE) else ""
    state = state.removesuffix(UNSTABLE)
    states = vocabulary("activity" if table == DAMAGE else "stability").labels()
    return f"{term_words(cell)}, {states[state].lower()}{over}"


def term_words(cell: str) -> str:
    """*lifting*; *join*; *repair of wax*: a row without its state."""
    table, term, _ = cell.split("/")
    return {DAMAGE: _damage, REPAIR: _repair, MATERIAL: _material}[table](term)


def rate_groups(cells: pl.Series) -> dict[str, list[str]]:
    """Rows of the rates that differ in their state alone, by what they are in words, in the order of the alphabet."""
    groups: dict[str, list[str]] = {}
    for cell in cells.drop_nulls().unique().sort():
        groups.setdefault(term_words(cell), []).append(cell)
    return dict(sorted(groups.items()))


def _damage(term: str) -> str:
    for its in terms("damage", Damage).values():
        stages = [str(n) for n, name in enumerate(its.rows_by_stage, start=1) if name == term]
        if stages:
            return f"{its.label.lower()}, stage {' or '.join(stages)}"
    return vocabulary("damage").labels()[term].lower()


def _repair(term: str) -> str:
    return terms("repair_function", RepairFunction)[term].noun


def _material(term: str) -> str:
    return f"repair of {vocabulary(MATERIAL).labels()[term].lower()}"


def sentence(rows: pl.DataFrame) -> str:
    """*The checks tell of 112 rows of the rates: 29 recorded losses in 1,540 years watched. Starting values are ...*"""
    if not rows["exposure_years"].sum():
        return f"{NOT_OURS}; no damage was checked twice yet, so the checks cannot say otherwise."
    events = count(int(rows["events"].sum()), "recorded loss", "recorded losses")
    years = f"{rows['exposure_years'].sum():,.0f} years watched"
    using = rows.filter(chosen="learned").height
    chosen = f"{count(using, 'row uses', 'rows use')} what was learned" if using else "none uses what was learned yet"
    return f"The checks bear on {count(rows.height, 'rate')}: {events} in {years}; {chosen}. {NOT_OURS}."


def basis_words(row: Mapping[str, Any], day: date) -> str:
    """Where a learned figure comes from: *3 recorded losses in 28 years watched, 8 objects, as of 1 May 2026*."""
    losses, years = (
        count(row["events"], "recorded loss", "recorded losses"),
        f"{row['exposure_years']:,.0f} years watched",
    )
    return f"{losses} in {years}, {count(row['objects'], 'object')}, as of {day_in_words(day)}"
