"""What options leave behind that can fail, as hazards of a plan: sound for some years, then ageing."""

import narwhals as nw
import polars as pl

from collection.frames import returns
from collection.plan.situation import ADDED
from collection.planning.extent import COLUMNS as EXTENT
from collection.planning.extent import mean_reach
from collection.questions.triage import Triage
from collection.risk.findings import FINDING, TYPES
from collection.risk.handling import moves
from collection.risk.hazards import reached
from collection.risk.rate_rows import REPAIR, RateFile
from collection.risk.rates import RatesTable
from collection.snapshot import Collection
from schemas.vocabularies import vocabulary

PARTS_OF = ("object", "part", "damage", "repair", "fragment")  # records that say which parts there are
YEARS = ("years_short", "years_likely", "years_long")
PLACED = pl.Schema(
    {"option_id": pl.String, "object_id": pl.String, "part": pl.String, "finding_id": pl.String}
    | dict.fromkeys(("part_share", "loss_depth", *YEARS, "chance_per_move", *EXTENT), pl.Float64)
    | {"extent_basis": pl.String, "climate_group": pl.String, "term": pl.String}
)
c = pl.col


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
    placed: pl.LazyFrame = reached(nw.from_native(_findings(rated, state).lazy()), f, rates).to_native()
    named = placed.collect(engine="in-memory").join(rows.select("finding_id", "option_id"), on="finding_id")
    return named.sort("finding_id", "part").select(c(n).cast(t) for n, t in PLACED.items())


def _findings(rated: pl.DataFrame, state: str) -> pl.DataFrame:
    """The rows as findings: seen from everywhere, of the area that the option says, else of what the table assumes."""
    given = rated.select(
        "finding_id", "object_id", "part", "rate_row", "area_mm2",
        finding_source=pl.lit(REPAIR), state_assumed=pl.lit(value=False), visibility=pl.lit(1.0),
        recorded_state=pl.lit(state),
    )  # fmt: skip
    types = {nw.Float64: pl.Float64, nw.Int64: pl.Int64, nw.String: pl.String, nw.Date: pl.Date}
    lacking = [pl.lit(None, types[TYPES[n]]).alias(n) for n in FINDING if n not in given.columns]
    return given.with_columns(lacking).select(*FINDING)


def _frames(known: Collection, rates: RatesTable) -> dict[str, nw.LazyFrame[pl.LazyFrame]]:
    frames = {name: known[name] for name in PARTS_OF} | dict(rates.tables())
    return {name: nw.from_native(frame.lazy()) for name, frame in frames.items()}


def _moves(known: Collection) -> pl.DataFrame:
    """object_id, moves_a_year: own moves, journeys apart."""
    return moves(known).select("object_id", moves_a_year=c("moves_at_rest") - c("planned_at_rest"))
