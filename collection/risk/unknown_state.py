"""What nobody assessed is active with some chance, else quiet: the mixture behind the state *not assessed*."""

import polars as pl

from collection.risk.rates import RatesTable
from schemas.vocabularies import vocabulary

NOT_MIXED = -1.0
c = pl.col


def with_mixture(hazards: pl.DataFrame, rates: RatesTable) -> pl.DataFrame:
    """Adds chance_moving, years_moving, years_quiet [year] to hazards that nobody assessed; others have -1.

    The chance that gives the row's own rate, (1/T_unknown - 1/T_quiet)/(1/T_moving - 1/T_quiet), is a Beta prior worth
    `unassessed_worth_objects`; the museum's own examined damages of the kind join it. Quiet years multiply its odds by
    exp(-t/T_moving)/exp(-t/T_quiet) (risk model, section 5).
    """
    table = _table(rates).join(_examined(hazards), on=["term", "stage"], how="left")
    worth = rates.lines.unassessed_worth_objects
    chance = (worth * c("start") + c("seen_moving").fill_null(0)) / (worth + c("assessed").fill_null(0))
    learned = table.select("rate_row", "years_moving", "years_quiet", chance=chance)
    joined = hazards.join(learned, on="rate_row", how="left", maintain_order="left")
    odds = c("chance") / (1 - c("chance")) * (c("quiet_years") * (1 / c("years_quiet") - 1 / c("years_moving"))).exp()
    mixed = pl.when(c("chance") > 0, c("chance") < 1).then(odds / (1 + odds))
    return joined.with_columns(
        chance_moving=mixed.otherwise(NOT_MIXED), years_moving=c("years_moving").fill_null(1.0),
        years_quiet=c("years_quiet").fill_null(1.0),
    ).drop("chance")  # fmt: skip


def _table(rates: RatesTable) -> pl.DataFrame:
    """rate_row of the state *not assessed* of each kind that has years for moving and for quiet, with the start."""
    activity = vocabulary("activity")
    (unsaid, *_), (moving, *_), (quiet, *_) = (
        activity.terms_where(name) for name in ("not_assessed", "moving", "not_compared")
    )
    own = rates.damage.filter(~c("stood_in"))
    keys = ["term", "stage"]
    base = own.filter(c("state") == unsaid).select(*keys, "rate_row", years="years_likely")
    faster = own.filter(c("state") == moving).select(*keys, years_moving="years_likely")
    slower = own.filter(c("state") == quiet).select(*keys, years_quiet="years_likely")
    rate, fast, slow = (1 / c(name) for name in ("years", "years_moving", "years_quiet"))
    start = ((rate - slow) / (fast - slow)).clip(0, 1)
    return base.join(faster, on=keys).join(slower, on=keys).with_columns(start=start)


def _examined(hazards: pl.DataFrame) -> pl.DataFrame:
    """term, stage: examined damages of the kind, and how many of them moved."""
    moving = vocabulary("activity").terms_where("moving")
    known = hazards.filter(~c("state_assumed")).unique("hazard_id")
    assessed = known.filter(~c("state").is_in(vocabulary("activity").terms_where("not_assessed")))
    return assessed.group_by("term", "stage").agg(assessed=pl.len(), seen_moving=c("state").is_in(moving).sum())
