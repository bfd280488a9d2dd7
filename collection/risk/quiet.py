"""Quiet years speak: a hazard that was seen again and again, unchanged, is slower than its row of the rates says."""

import numpy as np
import polars as pl

from collection.frames import returns
from collection.risk.hazards import QUIET, hazard_id
from collection.risk.parameters import DAYS_A_YEAR
from collection.risk.rate_distribution import quiet_factor
from collection.risk.rate_rows import DAMAGE, REPAIR, YEARS
from collection.risk.rates import RatesTable
from collection.snapshot import Collection
from schemas.vocabularies import vocabulary

c = pl.col


@returns(QUIET)
def quiet(collection: Collection, checks: pl.DataFrame, rates: RatesTable) -> pl.DataFrame:
    """Hazards seen more than once in one state without growth, schema QUIET; `checks`: schema CHECKS.

    quiet_years [year] run from the first to the last inspection of the run, which any treatment of the object breaks.
    quiet_factor is what they leave of the rate at rest; where the museum chose its learned rate, which has seen those
    years, only the spread between objects speaks (risk model, sections 2 and 6).
    """
    inspections = checks.lazy().filter(inspected()).select("check_id", "object_id", "seen_on", "place_in_order")
    both = pl.concat([_of_damage(collection, rates), _of_repairs(collection, rates)])
    lines = both.join(inspections, on="check_id").filter(c("seen_on").is_not_null())
    runs = _runs(lines, _treated(collection)).collect(engine="in-memory")
    return _with_factor(runs, rates).select(QUIET.names())


def inspected() -> pl.Expr:
    """True for a check that had a line for each damage it saw."""
    looks, visits = vocabulary("look").terms_where("each_damage"), vocabulary("visit").terms_where("reached")
    return c("look").is_in(looks) & c("visit").is_in(visits).fill_null(True)


def _of_damage(collection: Collection, rates: RatesTable) -> pl.LazyFrame:
    """hazard_id, check_id, state, grown, rate_row of every line of an open damage that says something."""
    silent, grown = vocabulary("change").terms_where("says_nothing"), vocabulary("change").terms_where("grown")
    staged = list(vocabulary("damage").properties("rows_by_stage"))
    damage = collection["damage"].lazy().filter(c("closed_on").is_null()).select("damage_id", term="kind")
    lines = collection["observation"].lazy().filter(~c("change").is_in(silent).fill_null(False))
    named = lines.join(damage, on="damage_id").with_columns(
        state="activity", stage=pl.when(c("term").is_in(staged)).then(c("stage").fill_null(0)).otherwise(0)
    )
    rows = rates.damage.lazy().select("term", "stage", "state", "rate_row")
    return named.join(rows, on=["term", "stage", "state"]).select(
        "check_id", "state", "rate_row", hazard_id=hazard_id(DAMAGE, "damage_id"),
        grown=c("change").is_in(grown).fill_null(False),
    )  # fmt: skip


def _of_repairs(collection: Collection, rates: RatesTable) -> pl.LazyFrame:
    """The same of every state of a repair that was not removed."""
    repairs = collection["repair"].lazy().filter(c("closed_on").is_null())
    lines = collection["repair_state"].lazy().select("check_id", "repair_id", state="stability")
    named = lines.join(repairs.select("repair_id", "material", term="function"), on="repair_id")
    rows = rates.repair.lazy().select("term", "material", "state", "rate_row")
    return named.join(rows, on=["term", "material", "state"]).select(
        "check_id", "state", "rate_row", hazard_id=hazard_id(REPAIR, "repair_id"), grown=pl.lit(value=False)
    )


def _treated(collection: Collection) -> pl.LazyFrame:
    """object_id and treated_on: the last day of each treatment."""
    day = pl.coalesce("finished_on", "started_on")
    return collection["treatment"].lazy().select("object_id", treated_on=day).drop_nulls().sort("treated_on")


def _runs(lines: pl.LazyFrame, treated: pl.LazyFrame) -> pl.LazyFrame:
    """hazard_id, rate_row, quiet_years of each hazard whose last run has two inspections at least.

    Rows are put in order once and held against the row before, which takes a tenth of the time of windows by hazard.
    """
    placed = lines.sort("hazard_id", "place_in_order").with_columns(
        nth=_differs("hazard_id", "place_in_order").cum_sum()
    )
    ordered = _with_treated(placed, treated).sort("hazard_id", "rate_row", "nth")
    # A run ends where another state stands between, where it grew, and where the object was treated.
    breaks = (
        _differs("hazard_id", "rate_row")
        | (c("nth") != c("nth").shift(1) + 1)
        | c("grown")
        | (c("treated_on") > c("seen_on").shift(1)).fill_null(False)
    )
    runs = (
        ordered.with_columns(run=breaks.fill_null(True).cum_sum())
        .group_by("run", maintain_order=True)
        .agg(c("hazard_id", "rate_row").first(), c("nth").max(), first=c("seen_on").min(), last=c("seen_on").max())
    )
    newest = runs.group_by("hazard_id").agg(newest=c("nth").max())
    last = runs.join(newest, on="hazard_id").filter(c("nth") == c("newest"), c("last") > c("first"))
    return last.select("hazard_id", "rate_row", quiet_years=(c("last") - c("first")).dt.total_days() / DAYS_A_YEAR)


def _differs(*names: str) -> pl.Expr:
    """True where a row is not of the same as the row before."""
    return pl.any_horizontal(c(name).ne_missing(c(name).shift(1)) for name in names)


def _with_treated(lines: pl.LazyFrame, treated: pl.LazyFrame) -> pl.LazyFrame:
    """Adds treated_on, the last treatment of the object up to the check; most objects never had any."""
    some = lines.join(treated, on="object_id", how="semi").sort("seen_on")
    dated = some.join_asof(treated, left_on="seen_on", right_on="treated_on", by="object_id", check_sortedness=False)
    never = lines.join(treated, on="object_id", how="anti").with_columns(treated_on=pl.lit(None, pl.Date))
    return pl.concat([dated, never.select(pl.all())], how="diagonal")


def _with_factor(runs: pl.DataFrame, rates: RatesTable) -> pl.DataFrame:
    """Adds quiet_factor; it is worked out once for each row of the rates and length."""
    figures = rates.rows.select("rate_row", *YEARS, "mean_rate", "learned", "spread")
    different = runs.select("rate_row", "quiet_years").unique().join(figures, on="rate_row")
    parts = [_factors(rows) for rows in different.partition_by(*YEARS, "learned", "spread")]
    if not parts:
        return runs.with_columns(quiet_factor=pl.lit(1.0))
    return runs.join(pl.concat(parts), on=["rate_row", "quiet_years"])


def _factors(rows: pl.DataFrame) -> pl.DataFrame:
    """rate_row, quiet_years, quiet_factor of rows with the same three points."""
    first, quiet_years = rows.row(0, named=True), rows["quiet_years"].to_numpy()
    if first["learned"]:
        factor = 1 / (1 + first["spread"] * first["mean_rate"] * quiet_years)
    else:
        factor = quiet_factor([first[name] for name in YEARS], np.asarray(quiet_years))
    return rows.select("rate_row", "quiet_years").with_columns(quiet_factor=pl.Series(factor))
