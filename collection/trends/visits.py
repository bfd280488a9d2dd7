"""Visits: every check of an object in person, in order, with what it said and whether a treatment came before it."""

import polars as pl

from collection.frames import returns
from collection.learning.inspected_lines import day_number, treatments
from collection.risk.inspections import in_person
from collection.risk.parameters import DAYS_A_YEAR
from collection.snapshot import Collection
from schemas.vocabularies import vocabulary

VISITS = pl.Schema(
    dict.fromkeys(("object_id", "check_id", "look", "definitions_version", "examiner"), pl.String)
    | {"seen_on": pl.Date, "grade": pl.Int64, "treated": pl.Int64, "thorough": pl.Boolean}
)
PAIRS = pl.Schema(
    dict.fromkeys(("object_id", "check_id", "end_check_id", "examiner", "end_examiner"), pl.String)
    | {"starts_on": pl.Date, "ends_on": pl.Date, "years": pl.Float64, "grade": pl.Int64, "end_grade": pl.Int64}
    | {"apart": pl.String}
)
TREATED, CLOSER, LESS_CLOSELY, DEFINITIONS = "treated", "looked closer", "looked less closely", "other definitions"
NEXT = ("check_id", "seen_on", "grade", "examiner", "look", "definitions_version", "treated", "depth")
c = pl.col


@returns(VISITS)
def visits(collection: Collection, checks: pl.DataFrame) -> pl.DataFrame:
    """Checks in person of a collection cut to a day, in the order of their days, schema VISITS.

    checks : schema CHECKS, of `collection.risk.inspections.inspections`; what was superseded or withdrawn is not there.
    grade : 0 is the best, null where nobody graded. treated : treatments before it. thorough : an inspection or an
    examination; a sweep is none. A check without a day is not there.
    """
    record = collection["condition_check"].select("check_id", "examiner", "definitions_version")
    dated = checks.filter(in_person() & c("seen_on").is_not_null()).join(record, on="check_id", how="left")
    places = {term: place for place, term in enumerate(vocabulary("grade").term)}
    thorough = vocabulary("look").terms_where("each_damage")
    numbered = dated.with_columns(
        grade=c("grade").replace_strict(places, default=None, return_dtype=pl.Int64),
        thorough=c("look").is_in(thorough).fill_null(value=False),
        day=day_number("seen_on"),
    ).sort("day", "place_in_order")
    with_treatments = numbered.lazy().join_asof(
        treatments(collection), left_on="day", right_on="begun", by="object_id", check_sortedness=False
    )
    rows = with_treatments.with_columns(treated=c("nth").fill_null(0)).collect(engine="in-memory")
    return rows.sort("object_id", "day", "place_in_order").select(*VISITS)


@returns(PAIRS)
def pairs(rows: pl.DataFrame) -> pl.DataFrame:
    """Successive thorough visits of one object that may be compared, and those set apart with why, schema PAIRS.

    rows : schema VISITS. apart : null for a pair; else `treated` between, `looked closer`, `looked less closely`,
    `other definitions`. A sweep starts and ends no pair: between two visits where one is a sweep it is only told that
    one looked closer. Two visits of one day are no pair.
    """
    depth = {look: place for place, look in enumerate(vocabulary("look").term)}
    known = rows.with_columns(depth=c("look").replace_strict(depth, default=None, return_dtype=pl.Int64))
    thorough = _successive(known.filter("thorough"))
    with_sweeps = _successive(known).filter(~(c("thorough") & c("end_thorough")))
    both = pl.concat([thorough, with_sweeps]).filter(c("end_seen_on") > c("seen_on"))
    years = (c("end_seen_on") - c("seen_on")).dt.total_days() / DAYS_A_YEAR
    named = both.with_columns(apart=_apart(), years=years, starts_on="seen_on", ends_on="end_seen_on")
    return named.select(*PAIRS).sort("object_id", "starts_on", "check_id")


def _successive(rows: pl.DataFrame) -> pl.DataFrame:
    """Each visit with the next of its object."""
    ends = {f"end_{n}": c(n).shift(-1).over("object_id") for n in (*NEXT, "thorough")}
    return rows.with_columns(**ends).filter(c("end_check_id").is_not_null())


def _apart() -> pl.Expr:
    """Why a pair is no pair; a treatment goes before all else."""
    treated = c("end_treated") > c("treated")
    other = ~c("definitions_version").eq_missing(c("end_definitions_version"))
    return (
        pl.when(treated).then(pl.lit(TREATED))
        .when(c("end_depth") > c("depth")).then(pl.lit(CLOSER))
        .when(c("end_depth") < c("depth")).then(pl.lit(LESS_CLOSELY))
        .when(other).then(pl.lit(DEFINITIONS))
    )  # fmt: skip
