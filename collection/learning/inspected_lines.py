"""Lines of inspections: what each check that looked at each damage wrote of it, in order, with what was measured."""

from datetime import date

import polars as pl

from collection.frames import returns
from collection.risk.hazards import hazard_id
from collection.risk.quiet import inspected
from collection.risk.rate_rows import DAMAGE, OVER_UNSTABLE_GLASS, REPAIR
from collection.risk.rates import RatesTable
from collection.snapshot import Collection
from schemas.vocabularies import vocabulary

LINES = pl.Schema(
    dict.fromkeys(("hazard_id", "object_id", "part", "source", "cell", "state", "check_id", "unit"), pl.String)
    | {"rate_row": pl.Int32, "seen_on": pl.Date, "place_in_order": pl.Int64, "position": pl.Float64}
    | {"look": pl.String, "definitions_version": pl.String, "grown": pl.Boolean, "superseded_on": pl.Date}
    | {"measured": pl.Float64, "error": pl.Float64, "count": pl.Int64, "band": pl.String}
)
LENGTH, AREA, HARMED = "length_mm", "area_mm2", "harmed_mm2"
c = pl.col


@returns(LINES)
def inspected_lines(collection: Collection, checks: pl.DataFrame, rates: RatesTable) -> pl.DataFrame:
    """One row a damage or repair and inspection that covered it, schema LINES; `checks`: schema CHECKS.

    A sweep, and a line *not examined* or *not found*, is no row; nor is *not comparable*, unless it is the first of its
    damage. measured [mm or mm², see unit]: length, else area; of a repair the area where harm shows. error: standard
    error as recorded. band: share of the part, of a repair the share where harm shows.
    position [day]: the day, in its second half where the check follows a treatment. superseded_on:
    the day it was closed by something that is no treatment.
    """
    extra = collection["condition_check"].lazy().select("check_id", "definitions_version")
    follows = c("occasion").is_in(vocabulary("occasion").terms_where("follows_treatment")).fill_null(value=False)
    dated = checks.lazy().filter(inspected(), c("seen_on").is_not_null()).join(extra, on="check_id", how="left")
    placed = dated.select(
        "check_id",
        "seen_on",
        "place_in_order",
        "look",
        "definitions_version",
        position=day_number("seen_on") + in_day(follows),
    )
    both = pl.concat([_of_damage(collection, rates), _of_repairs(collection, rates)])
    joined = both.join(placed, on="check_id").with_columns(
        first=c("place_in_order") == c("place_in_order").min().over("hazard_id")
    )
    covering = joined.filter(c("first") | ~c("nothing_earlier"))
    return covering.select(*LINES).sort("hazard_id", "place_in_order").collect(engine="in-memory")


def in_day(follows: pl.Expr) -> pl.Expr:
    """Where in its day a check stands: before a treatment of that day (at noon), or after it."""
    return pl.when(follows).then(1 - BEFORE_NOON).otherwise(BEFORE_NOON)


BEFORE_NOON = 1 / 2**2


def day_number(name: str) -> pl.Expr:
    """Days since the first day there is, so that half days can be told."""
    return (c(name) - pl.lit(date.min)).dt.total_days().cast(pl.Float64)


def treatments(collection: Collection) -> pl.LazyFrame:
    """object_id, begun, ended [day, noon], nth of each treatment, in order; ended is the latest end so far."""
    rows = (
        collection["treatment"]
        .lazy()
        .with_columns(
            started_on=pl.coalesce("started_on", "finished_on"), finished_on=pl.coalesce("finished_on", "started_on")
        )
    )
    days = rows.select(
        "object_id", begun=day_number("started_on") + 1 / 2, ended=day_number("finished_on") + 1 / 2
    ).drop_nulls()
    ordered = days.sort("begun")
    return ordered.with_columns(
        ended=c("ended").cum_max().over("object_id"), nth=c("begun").cum_count().over("object_id").cast(pl.Int64)
    )


def _of_damage(collection: Collection, rates: RatesTable) -> pl.LazyFrame:
    """Lines of damage that is no flaw of manufacture."""
    flaws, change = vocabulary("origin").terms_where("flaw"), vocabulary("change")
    (unsaid, *_) = vocabulary("activity").terms_where("not_assessed")
    staged = list(vocabulary("damage").properties("rows_by_stage"))
    things = _closed(collection, "damage", "closed_by").filter(~c("origin").is_in(flaws).fill_null(value=False))
    lines = collection["observation"].lazy().filter(~_is(change.terms_where("says_nothing")))
    named = lines.join(things.select("damage_id", "object_id", "part", "superseded_on", term="kind"), on="damage_id")
    ready = named.with_columns(
        state=c("activity").fill_null(unsaid),
        stage=pl.when(c("term").is_in(staged)).then(c("stage").fill_null(0)).otherwise(0),
        measured=pl.coalesce(LENGTH, AREA),
        unit=pl.when(c(LENGTH).is_not_null()).then(pl.lit(LENGTH)).when(c(AREA).is_not_null()).then(pl.lit(AREA)),
        grown=_is(change.terms_where("grown")),
        nothing_earlier=_is(change.terms_where("nothing_earlier")),
        error="measurement_error",
        band="extent_band",
        source=pl.lit(DAMAGE),
        hazard_id=hazard_id(DAMAGE, "damage_id"),
    )
    rows = rates.damage.lazy().select("term", "stage", "state", "rate_row", "cell")
    return ready.join(rows, on=["term", "stage", "state"]).select(*COLUMNS)


COLUMNS = (
    "hazard_id", "object_id", "part", "source", "cell", "state", "check_id", "unit", "rate_row", "grown",
    "superseded_on", "measured", "error", "count", "band", "nothing_earlier",
)  # fmt: skip


def _of_repairs(collection: Collection, rates: RatesTable) -> pl.LazyFrame:
    """Lines of repairs; what is measured is the area where harm shows."""
    objects = collection["object"].lazy().select("object_id", "glass_stability")
    things = _closed(collection, "repair", "removed_by").join(objects, on="object_id", how="left")
    lines = (
        collection["repair_state"].lazy().select("check_id", "repair_id", HARMED, state="stability", band="harmed_band")
    )
    named = lines.join(things.rename({"function": "term"}), on="repair_id")
    ready = named.with_columns(
        stage=pl.when(_over_unstable(rates)).then(OVER_UNSTABLE_GLASS).otherwise(0).cast(pl.Int64),
        measured=HARMED,
        unit=pl.when(c(HARMED).is_not_null()).then(pl.lit(HARMED)),
        error=pl.lit(None, pl.Float64),
        count=pl.lit(None, pl.Int64),
        grown=pl.lit(value=False),
        nothing_earlier=pl.lit(value=False),
        source=pl.lit(REPAIR),
        hazard_id=hazard_id(REPAIR, "repair_id"),
    )
    rows = rates.repair.lazy().select("term", "material", "state", "stage", "rate_row", "cell")
    return ready.join(rows, on=["term", "material", "state", "stage"]).select(*COLUMNS)


def _over_unstable(rates: RatesTable) -> pl.Expr:
    pairs = pl.concat_str(c("term"), c("state"), separator="/")
    differs = ["/".join(pair) for pair in rates.differs_over_unstable_glass]
    unstable = vocabulary("glass_stability").terms_where("unstable")
    return (pairs.is_in(differs) & c("glass_stability").is_in(unstable)).fill_null(value=False)


def _closed(collection: Collection, record: str, by: str) -> pl.LazyFrame:
    """Rows of a record with superseded_on: the day one was closed by something that is no treatment."""
    treatment = collection["treatment"].lazy().select(treatment="treatment_id").unique()
    joined = collection[record].lazy().join(treatment, left_on=by, right_on="treatment", how="left", coalesce=False)
    return joined.with_columns(superseded_on=pl.when(c("treatment").is_null()).then("closed_on"))


def _is(these: tuple[str, ...]) -> pl.Expr:
    return c("change").is_in(these).fill_null(value=False)
