"""What would make an object fit, and the hours and money for it where an option or the museum's own checks say so."""

import polars as pl

from collection.facts.facts import Facts
from collection.frames import returns
from collection.loans.object_rules import NOT_FIT
from collection.loans.parameters import travel_words
from schemas.vocabularies import vocabulary

EFFORT = pl.Schema(
    [("object_id", pl.String()), ("fit_when", pl.List(pl.String)), ("options", pl.List(pl.String))]
    + [(n, pl.Float64()) for n in ("hours_low", "hours_likely", "hours_high", "waiting_days", "cost")]
    + [("currency", pl.String()), ("no_estimate", pl.UInt32())]
)
OPTION, INSPECTION = "option", "inspection"
HOURS = ("hours_low", "hours_likely", "hours_high")
MINUTES_AN_HOUR = 60
c = pl.col


@returns(EFFORT)
def effort(reasons: pl.LazyFrame, facts: Facts) -> pl.DataFrame:
    """One row an object that is not fit, schema EFFORT.

    Parameters
    ----------
    reasons : schema TRAVEL, of a person's question (`facts.worded`).

    Returns
    -------
    fit_when: what must happen, each once. hours [h], cost and waiting_days [d]: of the cheapest waiting options that
    meet the hazards, and of one inspection; null where nobody estimated any. no_estimate: hazards no option meets.
    """
    asked = _asked(reasons).collect(engine="in-memory")
    per_hazard = asked.filter(c("hours_of") == OPTION).select("object_id", "hazard_id").unique()
    chosen = per_hazard.join(_cheapest(facts), on="hazard_id", how="left")
    once = chosen.drop_nulls("option_id").unique(["object_id", "option_id"])
    sums = once.group_by("object_id").agg(
        *(c(n).sum() for n in HOURS), c("waiting_days").max(), cost=c("cost").sum(),
        currency=c("currency").drop_nulls().first(), options=c("option_id").sort(),
    )  # fmt: skip
    missing = chosen.filter(c("option_id").is_null()).group_by("object_id").agg(no_estimate=pl.len())
    words = asked.group_by("object_id", maintain_order=True).agg(c("fit_when").unique(maintain_order=True))
    joined = words.join(sums, on="object_id", how="left").join(missing, on="object_id", how="left")
    looked = joined.join(_inspections(asked, facts), on="object_id", how="left")
    added = {n: _sum_of(c(n), c("inspection_hours")) for n in HOURS}
    filled = looked.with_columns(c("options").fill_null([]), c("no_estimate").fill_null(0), **added)
    return filled.select(c(n).cast(t) for n, t in EFFORT.items()).sort("object_id")


def _asked(reasons: pl.LazyFrame) -> pl.LazyFrame:
    """Reasons against, with what each asks for."""
    rules = travel_words().rule
    table = pl.LazyFrame(
        {
            "rule": list(rules),
            "fit_when": [its.fit_when for its in rules.values()],
            "hours_of": [its.hours_of for its in rules.values()],
        }
    )
    return reasons.filter(c("verdict") == NOT_FIT).join(table, on="rule", how="left", maintain_order="left")


def _cheapest(facts: Facts) -> pl.DataFrame:
    """For each hazard the waiting option with fewest likely hours that meets it."""
    waiting = vocabulary("option_status").terms_where("backlog")
    options = facts.of("option").filter(c("status").is_in(waiting), c("hours_likely").is_not_null())
    rows = options.join(facts.collection["option_effect"].lazy(), on="option_id").select(
        "hazard_id", "option_id", *(c(n).fill_null(c("hours_likely")) for n in HOURS), "waiting_days",
        cost=c("materials_cost").cast(pl.Float64), currency="currency",
    )  # fmt: skip
    first = rows.sort("hours_likely", "option_id").unique("hazard_id", keep="first", maintain_order=True)
    return first.collect(engine="in-memory")


def _inspections(asked: pl.DataFrame, facts: Facts) -> pl.DataFrame:
    """Objects that need an inspection, with the hours one takes here: the median of the museum's own."""
    looks = vocabulary("look").terms_where("each_damage")
    minutes = facts.collection["condition_check"].filter(c("look").is_in(looks))["minutes"].median()
    hours = minutes / MINUTES_AN_HOUR if isinstance(minutes, float) else None
    mine = asked.filter(c("hours_of") == INSPECTION).select("object_id").unique()
    return mine.with_columns(inspection_hours=pl.lit(hours, pl.Float64))


def _sum_of(*hours: pl.Expr) -> pl.Expr:
    """The sum of those that are known; null where none is."""
    known = pl.any_horizontal(*(one.is_not_null() for one in hours))
    return pl.when(known).then(pl.sum_horizontal(*hours))
