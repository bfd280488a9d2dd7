"""Groups of objects: conditions on technique, metal, where it comes from, culture, years; the first row that fits."""

from collections.abc import Sequence

import polars as pl

from collection.risk.parameters import Group
from schemas.vocabularies import vocabulary

BETWEEN = ";"


def with_technique_key(objects: pl.DataFrame) -> pl.DataFrame:
    """Adds technique_key, the object's techniques as one text (empty where none is known)."""
    return objects.with_columns(technique_key=pl.col("technique").list.join(BETWEEN).fill_null(""))


def first_that_fits(rows: Sequence[Group], objects: pl.DataFrame) -> pl.Expr:
    """Number of the first row whose conditions an object meets; `objects` has technique_key; null where none fits."""
    keys = objects["technique_key"].unique().to_list()
    return pl.coalesce(
        *(pl.when(fits(row, keys)).then(pl.lit(number)) for number, row in enumerate(rows)), pl.lit(None, pl.Int32)
    )


def fits(row: Group, keys: Sequence[str]) -> pl.Expr:
    """True where an object meets every condition of the row; `keys` are the technique_key values there are."""
    tests = [pl.col(name).is_in(terms) for name, terms in _plain(row).items() if terms]
    if row.technique:
        tests.append(pl.col("technique_key").is_in([key for key in keys if broader_techniques(key) & {*row.technique}]))
    if row.not_technique:
        others = [key for key in keys if not broader_techniques(key) & {*row.not_technique}]
        tests.append(pl.col("technique_key").is_in(others))
    if row.culture_words:
        tests.append(pl.col("culture").str.to_lowercase().str.contains_any(list(row.culture_words)))
    if row.latest_year_at_most is not None:
        tests.append(pl.col("latest_year") <= row.latest_year_at_most)
    if row.earliest_year_at_most is not None:
        tests.append(pl.col("earliest_year") <= row.earliest_year_at_most)
    return pl.all_horizontal(pl.lit(True), *(test.fill_null(False) for test in tests))


def _plain(row: Group) -> dict[str, tuple[str, ...]]:
    return {name: getattr(row, name) for name in ("base_metal", "provenance_class", "glass_stability", "visit")}


def broader_techniques(key: str) -> set[str]:
    """The techniques of a key and all that are broader; a metal or term of another list is left alone."""
    terms = vocabulary("technique").term
    several: set[str] = set()
    ahead = [term for term in key.split(BETWEEN) if term]
    while ahead:
        term = ahead.pop()
        several.add(term)
        above = terms[term].broader if term in terms else None
        ahead += [above] if above else []
    return several
