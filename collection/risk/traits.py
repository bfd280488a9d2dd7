"""Properties of the terms behind each row of the rates, so that rules read properties and never terms."""

from collections.abc import Mapping

import polars as pl

from collection.risk.rates import RatesTable
from schemas.vocabularies import Entry, vocabulary

OF_KIND = ("secure", "secure_always", "isolate", "unstable_glass", "chloride", "lifts", "snags")
OF_ACTIVITY = ("moving", "one_sighting", "not_assessed", "not_compared", "needs_climate_held")
OF_USE = ("bears", "over_surface", "only_colour")
OF_STABILITY = ("no_longer_works", "lets_go", "does_harm", "ages")
TRAITS = pl.Schema(
    {"rate_row": pl.Int32, "what": pl.String, "fast": pl.Boolean}
    | dict.fromkeys((*OF_KIND, *OF_ACTIVITY, *OF_USE, *OF_STABILITY), pl.Boolean)
)


def traits(rates: RatesTable) -> pl.DataFrame:
    """One row a row of the rates, schema TRAITS; `what` is its name in words, `fast` a kind that moves fast."""
    damage = _traits(rates.damage, ("damage", OF_KIND), ("activity", OF_ACTIVITY))
    repair = _traits(rates.repair, ("repair_function", OF_USE), ("stability", (*OF_STABILITY, "not_assessed")))
    both = pl.concat(
        [damage.with_columns(what=_damage_words()), repair.with_columns(what=_repair_words())], how="diagonal"
    )
    fast = pl.col("moving_years") <= rates.lines.fast_kind_years
    return both.with_columns(fast=fast).select(
        pl.col(n).fill_null(False) if t == pl.Boolean else n for n, t in TRAITS.items()
    )


def first_words(label: str) -> str:
    """A label as it stands within a sentence: up to its first comma, small."""
    return label.split(",")[0].lower()


def _traits(
    rows: pl.DataFrame, of_term: tuple[str, tuple[str, ...]], of_state: tuple[str, tuple[str, ...]]
) -> pl.DataFrame:
    term, state = (vocabulary(name).term for name, _ in (of_term, of_state))
    flags = [_flag(term, "term", name) for name in of_term[1]] + [_flag(state, "state", name) for name in of_state[1]]
    return rows.select(
        "rate_row",
        "moving_years",
        *flags,
        term_words=_words(term, "term"),
        state_words=_words(state, "state"),
        material_words=_words(vocabulary("repair_material").term, "material"),
    )


def _flag(terms: Mapping[str, Entry], column: str, name: str) -> pl.Expr:
    return pl.col(column).is_in([term for term, its in terms.items() if its.get(name) is True]).alias(name)


def _words(terms: Mapping[str, Entry], column: str) -> pl.Expr:
    words = {term: first_words(its.label) for term, its in terms.items()}
    return pl.col(column).replace_strict(words, default="")


def _damage_words() -> pl.Expr:
    return pl.format("{} {}", "state_words", "term_words")


def _repair_words() -> pl.Expr:
    return pl.format("{} repair that {} ({})", "state_words", "term_words", "material_words")
