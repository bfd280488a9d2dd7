"""Properties of the terms behind each row of the rates: what a rule asks of a hazard."""

from collections.abc import Mapping
from functools import lru_cache

import polars as pl

from collection.frames import returns
from collection.risk.rates import RatesTable
from schemas.terms import TermDefinition
from schemas.vocabularies import vocabulary

OF_KIND = (
    "secure", "secure_always", "isolate", "spreads", "unstable_glass", "chloride", "lifts", "snags", "bares_metal",
    "bars_travel", "moves_badly", "beneath",
)  # fmt: skip
OF_ACTIVITY = ("moving", "suspected", "one_sighting", "not_assessed", "not_compared", "needs_climate_held", "at_rest")
OF_USE = ("bears", "over_surface", "only_colour", "moves_badly")
OF_STABILITY = ("no_longer_works", "lets_go", "does_harm", "ages", "not_assessed", "at_rest")
FLAGS = tuple(dict.fromkeys((*OF_KIND, *OF_ACTIVITY, *OF_USE, *OF_STABILITY)))
WORDS = ("term_words", "state_words", "material_words")
TRAITS = pl.Schema(
    {"rate_row": pl.Int32}
    | dict.fromkeys(WORDS, pl.String)
    | {"stage": pl.Int64, "fast": pl.Boolean, "row_sheds": pl.Boolean}
    | dict.fromkeys(FLAGS, pl.Boolean)
)


@lru_cache(maxsize=4)  # of a table of rates they are asked for by every set of facts
@returns(TRAITS)
def traits(rates: RatesTable) -> pl.DataFrame:
    """One row a row of the rates, schema TRAITS; `fast`: change in this kind, once it moves, is a matter of few years.

    A kind that has no row for what moves cannot be fast.
    """
    damage = _traits(rates.damage, ("damage", OF_KIND), ("activity", OF_ACTIVITY))
    repair = _traits(rates.repair, ("repair_function", OF_USE), ("stability", OF_STABILITY))
    both = pl.concat([damage, repair], how="diagonal")
    fast = (pl.col("moving_years") <= rates.lines.fast_kind_years).fill_null(False)
    return both.with_columns(fast=fast).select(
        pl.col(n).fill_null(False) if t == pl.Boolean else n for n, t in TRAITS.items()
    )


def first_words(label: str) -> str:
    """A label as it stands within a sentence: up to its first comma, its first letter small, names as they are."""
    head = label.split(",")[0]
    return head[:1].lower() + head[1:]


def _traits(
    rows: pl.DataFrame, of_term: tuple[str, tuple[str, ...]], of_state: tuple[str, tuple[str, ...]]
) -> pl.DataFrame:
    term, state = (vocabulary(name).term for name, _ in (of_term, of_state))
    flags = [_flag(term, "term", name) for name in of_term[1]] + [_flag(state, "state", name) for name in of_state[1]]
    return rows.select(
        "rate_row",
        "stage",
        "moving_years",
        pl.col("sheds").alias("row_sheds"),
        *flags,
        term_words=_words(term, "term"),
        state_words=_words(state, "state"),
        material_words=_words(vocabulary("repair_material").term, "material"),
    )


def _flag(terms: Mapping[str, TermDefinition], column: str, name: str) -> pl.Expr:
    return pl.col(column).is_in([term for term, its in terms.items() if getattr(its, name)]).alias(name)


def _words(terms: Mapping[str, TermDefinition], column: str) -> pl.Expr:
    words = {term: first_words(its.label) for term, its in terms.items()}
    return pl.col(column).replace_strict(words, default="")
