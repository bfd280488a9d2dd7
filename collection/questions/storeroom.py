"""Where the risk lies: objects' worth lost a year by room, unit or shelf, what was found apart from what nobody has seen."""

import polars as pl

from collection.questions.triage import Triage
from schemas.vocabularies import vocabulary

BY_LOCATION = pl.Schema(
    {
        "location_id": pl.String(),
        "name": pl.String(),
        "objects": pl.UInt32(),
        "need_attention": pl.UInt32(),
        "objects_worth_a_year": pl.Float64(),
        "unseen_worth_a_year": pl.Float64(),
    }
)
UNPLACED = "no place recorded"


def by_location(found: Triage, chosen: pl.DataFrame, within: str = "") -> pl.DataFrame:
    """Risk of the places that lie directly in `within` (empty: the topmost rooms), each with all that lies below it.

    Parameters
    ----------
    chosen : rows of `Triage.objects` that were asked for.

    Returns
    -------
    Schema BY_LOCATION, largest first. objects_worth_a_year [objects/year]: expected loss in objects of mean value, the
    sum of annual_loss x value_share x number of objects in the collection; unseen_worth_a_year likewise of unseen_loss.
    """
    branch = _branches(found.collection["location"], within)
    placed = chosen.join(branch, on="location_id", how="left", maintain_order="left")
    kept = placed.filter(pl.col("branch").is_not_null()) if within else placed
    worth = found.objects.height * pl.col("value_share")
    counted = kept.group_by("branch").agg(
        objects=pl.len(),
        need_attention=pl.col("attention").is_in(found.now).sum(),
        objects_worth_a_year=(worth * pl.col("annual_loss")).sum(),
        unseen_worth_a_year=(worth * pl.col("unseen_loss")).sum(),
    )
    names = found.collection["location"].select(branch="location_id", name="name")
    told = counted.join(names, on="branch", how="left").with_columns(
        location_id=pl.col("branch").fill_null(""), name=pl.coalesce("name", "branch", pl.lit(UNPLACED))
    )
    return told.select(pl.col(n).cast(t) for n, t in BY_LOCATION.items()).sort(
        pl.col("objects_worth_a_year") + pl.col("unseen_worth_a_year"), "location_id", descending=[True, False]
    )


def steps_down(locations: pl.DataFrame, within: str) -> pl.DataFrame:
    """location_id and name of the places directly in `within`; of the topmost places below the buildings where empty."""
    if within:
        return locations.filter(pl.col("within") == within).select("location_id", "name").sort("location_id")
    top = locations.filter(pl.col("within").is_null())["location_id"]
    while top.len() == 1 or _hold_only_places(locations, top):
        inside = locations.filter(pl.col("within").is_in(top.implode()))["location_id"]
        if inside.is_empty():
            break
        top = inside
    return (
        locations.filter(pl.col("location_id").is_in(top.implode())).select("location_id", "name").sort("location_id")
    )


def _hold_only_places(locations: pl.DataFrame, top: pl.Series) -> bool:
    """Buildings and sites: everything in them lies in a room."""
    kinds = locations.filter(pl.col("location_id").is_in(top.implode()))["kind"]
    return bool(kinds.len()) and kinds.is_in(list(vocabulary("location_kind").having("holds_rooms"))).all()


def _branches(locations: pl.DataFrame, within: str) -> pl.DataFrame:
    """location_id to the place on the asked level that it lies in."""
    level = steps_down(locations, within).select("location_id", branch="location_id")
    found = level
    while True:
        inside = locations.select("location_id", "within").join(found, left_on="within", right_on="location_id")
        fresh = inside.join(found, on="location_id", how="anti").select("location_id", "branch")
        if fresh.is_empty():
            return found
        found = pl.concat([found, fresh])
