"""Hazards as a plan reads them: years with their quiet time and climate, ordinary moves apart from planned journeys."""

import polars as pl

from collection.frames import returns
from collection.plan.situation import HAZARD, JOURNEY
from collection.planning.extent import mean_reach
from collection.questions.triage import Triage
from collection.risk.handling import journeys_by_year
from collection.risk.rate_rows import REPAIR, RateFile

c = pl.col


@returns(HAZARD)
def plan_hazards(triage: Triage) -> pl.DataFrame:
    """Every hazard of every object, schema HAZARD. modifier: of the climate as it is, times what quiet years say."""
    rows = _with_rates(triage)
    ends = {f"reach_{end}": 1 - (1 - c(f"affected_{end}").clip(0, 1)) ** c("visibility") for end in ("low", "high")}
    own = pl.when(c("chance_per_move") > 0).then((c("handling_rate") - c("planned_rate")) / c("chance_per_move"))
    full = rows.with_columns(
        modifier=c("modifier") * c("quiet_factor"),
        climate=c("climate_group"),
        rate_row=c("cell"),
        moves_a_year=own.fill_null(0.0).clip(lower_bound=0.0),
        reach_likely="reach",
        reach=pl.Series(mean_reach(rows), dtype=pl.Float64),
        **ends,
    )
    return full.select(c(n).cast(t) for n, t in HAZARD.items())


@returns(JOURNEY)
def plan_journeys(triage: Triage) -> pl.DataFrame:
    """Moves that promised journeys count for each hazard, by calendar year, schema JOURNEY."""
    years = journeys_by_year(triage.collection)
    resting = pl.when("at_rest").then("at_rest_moves").otherwise("moving_moves")
    rows = _with_rates(triage).select("object_id", "hazard_id", "at_rest").unique(["object_id", "hazard_id"])
    joined = rows.join(years, on="object_id").with_columns(moves=resting)
    return joined.select(c(n).cast(t) for n, t in JOURNEY.items())


def _with_rates(triage: Triage) -> pl.DataFrame:
    """Hazards with the cell, the chance per move and the group of handling of their row of the rates."""
    of_row = triage.rates.rows.select("rate_row", "cell", "chance_per_move", "at_rest", "source", "term")
    named = pl.when(c("source") == REPAIR).then("term").otherwise(c("cell").str.split("/").list.get(1))
    key = pl.format("{}/{}", "source", named)
    groups = key.replace_strict(RateFile.load().handling_groups(), default=None, return_dtype=pl.String)
    rows = of_row.with_columns(handling=groups).drop("source", "term")
    return triage.risk.hazards.join(rows, on="rate_row", how="left", maintain_order="left")
