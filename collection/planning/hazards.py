"""Hazards as a plan reads them: those on record, and those that options leave behind, which are sound for some years.

Years come with their quiet time and climate, ordinary moves stand apart from planned journeys, and how far a hazard
reaches is the average over the range of its extent.
"""

import numpy as np
import numpy.typing as npt
import polars as pl

from collection.frames import returns
from collection.plan.hazard_table import quadrature
from collection.plan.situation import ADDED, HAZARD, JOURNEY
from collection.questions.triage import Triage
from collection.risk.findings import FINDING, TYPES
from collection.risk.handling import journeys_by_year, moves
from collection.risk.hazards import reached
from collection.risk.namespace import LazyFrames
from collection.risk.rate_rows import REPAIR, RateFile
from collection.risk.rates import RatesTable
from collection.risk.reach import BAND
from collection.risk.years import LIMIT_90
from collection.snapshot import Collection
from schemas.vocabularies import vocabulary

LEAST = 1e-12  # no share of a part is smaller: keeps a quotient finite
EXTENT = ("affected_low", "affected_share", "affected_high", "left_share", "visibility")
PARTS_OF = ("object", "part", "damage", "repair", "fragment")  # records that say which parts there are
YEARS = ("years_short", "years_likely", "years_long")
PLACED = pl.Schema(
    {"option_id": pl.String, "object_id": pl.String, "part": pl.String, "finding_id": pl.String}
    | dict.fromkeys(("part_share", "loss_depth", *YEARS, "chance_per_move", *EXTENT), pl.Float64)
    | {"extent_basis": pl.String, "climate_group": pl.String, "term": pl.String}
)
c = pl.col


def mean_reach(rows: pl.DataFrame) -> npt.NDArray[np.float64]:
    """Mean share of the part that each hazard reaches, its affected share a two-piece lognormal through low, likely and
    high; a band is cut at its ends, all at what is left. `rows` : EXTENT and extent_basis.

    Low .01, likely .03, high .09, in plain view and not a band: .03 exp(s²/2), s = ln 3 / 1.64485: 0.037498.
    """
    z, weights = quadrature()
    low, likely, high, left, seen = (rows[name].to_numpy().astype(np.float64)[:, None] for name in EXTENT)
    wide = np.where(z < 0, likely / np.maximum(low, LEAST), high / np.maximum(likely, LEAST))
    drawn = likely * np.maximum(wide, 1.0) ** (z / LIMIT_90)
    banded = (rows["extent_basis"] == BAND).to_numpy()[:, None]
    share = np.minimum(np.where(banded, np.clip(drawn, low, high), drawn), left)
    return np.asarray((1 - (1 - share) ** seen) @ weights)


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


@returns(ADDED)
def plan_added(triage: Triage) -> pl.DataFrame:
    """Repairs that options bring, each on its part, schema ADDED: years, depth and what is at risk as the repair table
    says of its function and material; the climate changes nothing yet, since nobody checked it in another.
    """
    if triage.collection["option_adds"].is_empty():
        return pl.DataFrame(schema=ADDED)
    sound, ageing = (_in_state(triage, state) for state in _states())
    later = ageing.select(
        "finding_id", "part", ageing_depth="loss_depth",
        **{f"ageing_{y.removeprefix('years_')}": y for y in YEARS},
    )  # fmt: skip
    rows = sound.join(later, on=["finding_id", "part"], maintain_order="left").join(
        _moves(triage.collection), on="object_id", how="left", maintain_order="left"
    )
    left = triage.risk.hazards.group_by("object_id", "part").agg(left=c("left_share").min())
    joined = rows.join(left, on=["object_id", "part"], how="left", maintain_order="left").with_columns(
        left_share=pl.min_horizontal("left_share", "left")
    )
    row, groups = pl.format("{}/{}", pl.lit(REPAIR), "term"), RateFile.load().handling_groups()
    full = joined.with_columns(
        reach=pl.Series(mean_reach(joined), dtype=pl.Float64), modifier=pl.lit(1.0), climate="climate_group",
        moves_a_year=c("moves_a_year").fill_null(0.0), handling=row.replace_strict(groups, default=None),
    )  # fmt: skip
    return full.select(c(n).cast(t) for n, t in ADDED.items())


def _states() -> tuple[str, str]:
    """The state a new repair is in, and the one it comes to."""
    stability = vocabulary("stability")
    ageing = stability.terms_where("ages")
    (sound,) = (state for state in stability.terms_where("years_by_material") if state not in ageing)
    return sound, ageing[0]


@returns(PLACED)
def _in_state(triage: Triage, state: str) -> pl.DataFrame:
    """What each option adds if it were there in this state, on each part it is on."""
    known, rates = triage.collection, triage.rates
    options = known["option"].select("option_id", "object_id").drop_nulls()
    rows = known["option_adds"].join(options, on="option_id", maintain_order="left").with_columns(
        finding_id=pl.format("{}/{}/{}", "option_id", "part", "material")
    )  # fmt: skip
    of_state = rates.repair.filter(c("state") == state, c("stage") == 0)
    rated = rows.join(of_state, left_on=["function", "material"], right_on=["term", "material"], maintain_order="left")
    f = _frames(known, rates)
    placed = reached(_findings(rated, state).lazy(), f, rates)
    named = placed.collect(engine="in-memory").join(rows.select("finding_id", "option_id"), on="finding_id")
    return named.sort("finding_id", "part").select(c(n).cast(t) for n, t in PLACED.items())


def _findings(rated: pl.DataFrame, state: str) -> pl.DataFrame:
    """The rows as findings: seen from everywhere, of the area that the option says, else of what the table assumes."""
    given = rated.select(
        "finding_id", "object_id", "part", "rate_row", "area_mm2",
        finding_source=pl.lit(REPAIR), state_assumed=pl.lit(value=False), visibility=pl.lit(1.0),
        recorded_state=pl.lit(state),
    )  # fmt: skip
    lacking = [pl.lit(None, TYPES[n]).alias(n) for n in FINDING if n not in given.columns]
    return given.with_columns(lacking).select(*FINDING)


def _frames(known: Collection, rates: RatesTable) -> LazyFrames:
    frames = {name: known[name] for name in PARTS_OF} | dict(rates.tables())
    return {name: frame.lazy() for name, frame in frames.items()}


def _moves(known: Collection) -> pl.DataFrame:
    """object_id, moves_a_year: own moves, journeys apart."""
    return moves(known).select("object_id", moves_a_year=c("moves_at_rest") - c("planned_at_rest"))
