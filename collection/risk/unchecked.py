"""What nobody has looked at: the expected loss of the unseen, which stands beside the risk and never inside it."""

from collections.abc import Sequence
from datetime import date

import polars as pl

from collection.risk.parameters import DAYS_A_YEAR, Group, Remark, Unseen, read
from collection.risk.rates import RatesTable
from collection.snapshot import Collection
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


def with_unseen(
    objects: pl.LazyFrame,
    collection: Collection,
    checks: pl.DataFrame,
    hazards: pl.DataFrame,
    rates: RatesTable,
) -> pl.LazyFrame:
    """Adds unchecked_loss, the expected loss of what nobody has looked at [fraction of the object's value a year].

    `objects` has the columns of the record, `away`, `group` (see `unseen_group`), look and last_checked_on. Never
    checked: chance_active x loss_if_active of the object's group, the chance learned from the museum's own checked
    objects (Beta prior). Looked at t years ago: that x (1 - exp(-t x new_active / chance)); parts and sides that the
    last look did not see count as never seen for their share.
    """
    of_hazards = objects.join(_of_hazards(hazards), on="object_id", how="left")
    covered = of_hazards.join(_not_covered(collection, checks), on="object_id", how="left")
    known = covered.join(_group_frame(_rows()), on="group", how="left")
    chance = _with_remark(_learned(rates.assumed.unseen_prior_objects))
    loss = pl.col("chance_active") * pl.col("loss_if_active") * _left(collection.day, rates)
    return known.with_columns(chance_active=chance).with_columns(
        unchecked_loss=pl.when("away").then(0.0).otherwise(loss)
    )


def unseen_group(objects: pl.DataFrame) -> pl.Expr:
    """Number of the first row of unseen.toml that fits an object."""
    return first_that_fits(_rows(), objects)


def _rows() -> tuple[Unseen, ...]:
    return read(tuple[Unseen, ...], "unseen", "unseen")


def _group_frame(rows: tuple[Unseen, ...]) -> pl.LazyFrame:
    figures = [
        (n, r.name, r.chance_active, r.loss_if_active_per_year, r.new_active_per_year) for n, r in enumerate(rows)
    ]
    names = {
        "group": pl.Int32,
        "name": pl.String,
        "chance": pl.Float64,
        "loss_if_active": pl.Float64,
        "new": pl.Float64,
    }
    return pl.LazyFrame(figures, schema=names, orient="row")


def _of_hazards(hazards: pl.DataFrame) -> pl.LazyFrame:
    """Objects with any hazard, and whether one of them is moving."""
    moving = pl.col("state").is_in(vocabulary("activity").terms_where("moving"))
    return hazards.lazy().group_by("object_id").agg(any_moving=moving.any(), named=pl.lit(True))


def _learned(prior: float) -> pl.Expr:
    """Chance of being active in the group: the starting chance, worth `prior` objects, and the museum's own."""
    checked = pl.col("last_checked_on").is_not_null()
    active = (checked & pl.col("any_moving").fill_null(False)).sum().over("group")
    return (prior * pl.col("chance") + active) / (prior + checked.sum().over("group"))


def _with_remark(chance: pl.Expr) -> pl.Expr:
    """Odds raised where a remark names damage, lowered where one that was understood names none; checks change nothing.

    A remark is understood where it gave a grade; where it gave nothing, nothing is known of it.
    """
    remark = read(Remark, "unseen", "remark_odds")
    understood = pl.col("grade").is_not_null()
    factor = pl.when("named").then(remark.damage_named).when(understood).then(remark.nothing_named).otherwise(1.0)
    only_remark = pl.col("look").is_not_null() & pl.col("last_checked_on").is_null()
    odds = chance / (1 - chance) * factor
    return pl.when(only_remark & (chance < 1)).then(odds / (1 + odds)).otherwise(chance)


def _left(as_of: date, rates: RatesTable) -> pl.Expr:
    """Share of the chance that is not answered by the last look."""
    years = (pl.lit(as_of) - pl.col("last_checked_on")).dt.total_days().clip(0) / DAYS_A_YEAR
    some = pl.when(pl.col("chance_active") > 0).then(pl.col("chance_active"))
    since = (1 - (-(years * pl.col("new") / some)).exp()).fill_null(0.0)
    aside = pl.col("not_covered").fill_null(0.0)
    return pl.when(pl.col("last_checked_on").is_null()).then(1.0).otherwise(aside + (1 - aside) * since)


def _not_covered(collection: Collection, checks: pl.DataFrame) -> pl.LazyFrame:
    """Share of the object that the last check which says so did not cover: sides not seen, by their part's share."""
    looked = vocabulary("seen").terms_where("looked")
    says = checks.lazy().select("check_id", "object_id", "place_in_order")
    spoken = collection["coverage"].lazy().join(says, on="check_id")
    sides = spoken.filter(pl.col("place_in_order") == pl.col("place_in_order").max().over("object_id"))
    by_part = sides.group_by("object_id", "part").agg(blind=(~pl.col("seen").is_in(looked)).mean())
    parts = collection["part"].lazy().select("object_id", "part", "value_share")
    several = parts.with_columns(share=pl.col("value_share").fill_null(1 / pl.len().over("object_id")))
    weighed = by_part.join(several, on=["object_id", "part"], how="left")
    blind = (pl.col("blind") * pl.col("share").fill_null(1.0)).sum().clip(0, 1)
    return weighed.group_by("object_id").agg(not_covered=blind)
