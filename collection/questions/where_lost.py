"""Where value is expected to be lost: share of the collection's value a year, by what causes it and by place."""

import polars as pl

from collection.frames import returns
from collection.questions.triage import Triage
from collection.risk.rate_rows import REPAIR
from schemas.vocabularies import vocabulary

CAUSES = ("repairs", "damage", "journeys", "climate")
LOSSES = (*CAUSES, "not_checked")
BY_LOCATION = pl.Schema(
    {"location_id": pl.String(), "name": pl.String(), "objects": pl.UInt32(), "need_attention": pl.UInt32()}
    | dict.fromkeys((*LOSSES, "expected_loss"), pl.Float64())
)
UNPLACED = "no place recorded"
BY_CAUSE = pl.Schema({"object_id": pl.String()} | dict.fromkeys(CAUSES, pl.Float64()))
c = pl.col


@returns(BY_LOCATION)
def by_location(triage: Triage, chosen: pl.DataFrame, within: str = "") -> pl.DataFrame:
    """Expected loss of the places that lie directly in `within` (empty: the topmost rooms), each with all below it.

    Parameters
    ----------
    chosen : rows of `Triage.objects` that were asked for.

    Returns
    -------
    Schema BY_LOCATION, largest first. repairs, damage, journeys, climate [share of the collection's value a year]: the
    mean over the range of the rates, by cause; not_checked: what is expected of what nobody has checked; expected_loss
    is the sum of the first four.
    """
    counted = _by_branch(triage, chosen, within)
    names = triage.collection["location"].select(branch="location_id", name="name")
    worded = counted.join(names, on="branch", how="left").with_columns(
        location_id=pl.col("branch").fill_null(""),
        name=_distinct_names(triage.collection["location"], within),
        expected_loss=pl.sum_horizontal(CAUSES),
    )
    return worded.select(pl.col(n).cast(t) for n, t in BY_LOCATION.items()).sort(
        pl.col("expected_loss") + pl.col("not_checked"), "location_id", descending=[True, False]
    )


def _by_branch(triage: Triage, chosen: pl.DataFrame, within: str) -> pl.DataFrame:
    """Counts and losses of the chosen objects, one row a branch."""
    branch = branches(triage.collection["location"], within)
    causes = by_cause(triage.risk.hazards, triage.risk.objects)
    placed = chosen.join(branch, on="location_id", how="left", maintain_order="left").join(
        causes, on="object_id", how="left", maintain_order="left"
    )
    inside = placed.filter(pl.col("branch").is_not_null()) if within else placed
    return inside.group_by("branch").agg(
        pl.col(CAUSES).sum(),
        objects=pl.len(),
        need_attention=pl.col("attention").is_in(triage.now).sum(),
        not_checked=(pl.col("value_share") * pl.col("unchecked_loss").fill_null(0.0)).sum(),
    )


def steps_down(locations: pl.DataFrame, within: str) -> pl.DataFrame:
    """location_id and name of the places directly in `within`; where that is empty the rooms, whatever they lie in."""
    if within:
        return locations.filter(pl.col("within") == within).select("location_id", "name").sort("location_id")
    top = locations.filter(pl.col("within").is_null())["location_id"]
    while not (opened := _hold_rooms(locations, top)).is_empty():
        inside = locations.filter(pl.col("within").is_in(opened.implode()))["location_id"]
        top = pl.concat([top.filter(~top.is_in(opened.implode())), inside])
    return (
        locations.filter(pl.col("location_id").is_in(top.implode())).select("location_id", "name").sort("location_id")
    )


def _hold_rooms(locations: pl.DataFrame, top: pl.Series) -> pl.Series:
    """Those of the places that are sites or buildings with something in them."""
    kinds = list(vocabulary("location_kind").terms_where("holds_rooms"))
    holding = pl.col("location_id").is_in(locations["within"].drop_nulls().implode())
    return locations.filter(pl.col("location_id").is_in(top.implode()), pl.col("kind").is_in(kinds), holding)[
        "location_id"
    ]


def branches(locations: pl.DataFrame, within: str = "") -> pl.DataFrame:
    """location_id to the place on the asked level that it lies in; a place above that level stands for itself."""
    branch_of = steps_down(locations, within).select("location_id", branch="location_id")
    while True:
        inside = locations.select("location_id", "within").join(branch_of, left_on="within", right_on="location_id")
        fresh = inside.join(branch_of, on="location_id", how="anti").select("location_id", "branch")
        if fresh.is_empty():
            break
        branch_of = pl.concat([branch_of, fresh])
    above = locations.filter(pl.col("location_id") == within) if within else locations
    rest = above.join(branch_of, on="location_id", how="anti").select("location_id", branch="location_id")
    return pl.concat([branch_of, rest])


def _distinct_names(locations: pl.DataFrame, within: str) -> pl.Expr:
    """Names of places; what lies in a place but in none of those shown is said so, and no two bars share a name."""
    shown = steps_down(locations, within)["location_id"]
    name = pl.coalesce("name", "branch")
    loose = pl.col("branch").is_not_null() & ~pl.col("branch").is_in(shown.implode())
    twice = name.is_duplicated() & pl.col("branch").is_not_null()
    unlike = pl.when(twice).then(pl.format("{} ({})", name, "branch")).otherwise(name).fill_null(UNPLACED)
    return pl.when(loose).then(pl.format("{}, no closer place", name)).otherwise(unlike)


@returns(BY_CAUSE)
def by_cause(hazards: pl.DataFrame, objects: pl.DataFrame) -> pl.DataFrame:
    """Expected loss of each object by its cause, on mean rates, schema BY_CAUSE.

    In shares of the collection's value a year. `hazards`: schema HAZARDS; `objects`: schema RISK. A hazard's loss is
    split as its rate is: what planned journeys add, what a climate worse than at the last check adds, and the rest to
    the repair or damage it comes from.
    """
    at_rest = c("quiet_factor") / c("years_likely")
    worse = pl.when(c("modifier") > 1).then((c("modifier") - 1) * at_rest).otherwise(0.0)
    journeys, climate = (pl.when(c("loss_rate") > 0).then(x / c("loss_rate")).otherwise(0.0).clip(0, 1)
                         for x in (c("planned_rate"), worse))  # fmt: skip
    split = hazards.select("object_id", "source", loss=loss_of_hazard(), planned=journeys, fed=climate)
    rest = c("loss") * (1 - c("planned") - c("fed"))
    repair = c("source") == REPAIR
    summed = split.group_by("object_id").agg(
        repairs=rest.filter(repair).sum(),
        damage=rest.filter(~repair).sum(),
        journeys=(c("loss") * c("planned")).sum(),
        climate=(c("loss") * c("fed")).sum(),
    )
    worth = objects.select("object_id", "value_share")
    joined = worth.join(summed, on="object_id", how="left")
    return joined.select("object_id", *(c(n).fill_null(0.0) * c("value_share") for n in CAUSES))


def loss_of_hazard() -> pl.Expr:
    """What each row, schema HAZARDS, is expected to take [share of the object's value a year], on mean rates."""
    log = c("mean_log_kept").sum().over("object_id", "part")
    of_part = c("part_share") * (1 - log.exp())
    return pl.when(log < 0).then(of_part * c("mean_log_kept") / log).otherwise(0.0)
