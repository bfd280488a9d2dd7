"""Where each object was when: its stays in rooms from its moves, and spans of time parted at the moves between them."""

import polars as pl

from collection.frames import returns
from collection.risk.parameters import DAYS_A_YEAR
from collection.risk.placed import rooms
from collection.snapshot import Collection
from schemas.records.catalogue import WHOLE

STAYS = pl.Schema({"object_id": pl.String, "room": pl.String, "from_on": pl.Date, "until_on": pl.Date})
PIECES = pl.Schema({"span": pl.UInt32, "room": pl.String, "years": pl.Float64, "longest": pl.Boolean})
c = pl.col


@returns(STAYS)
def stays(collection: Collection) -> pl.DataFrame:
    """Each object's stays in rooms, schema STAYS: from the day it came (null: from the start) to the day it left.

    Moves of a single part are no stay. room is null in a place that lies in no room, or where nobody wrote it down.
    """
    moved = collection["move"].filter(c("part").is_null() | (c("part") == WHOLE))
    ordered = moved.sort("object_id", "moved_on", "entry_no").with_columns(
        until_on=c("moved_on").shift(-1).over("object_id"), first=c("moved_on").cum_count().over("object_id") == 1
    )
    after = ordered.select("object_id", place="moved_to", from_on="moved_on", until_on="until_on")
    before = ordered.filter("first").select(
        "object_id", place="moved_from", from_on=pl.lit(None, pl.Date), until_on="moved_on"
    )
    still = collection["object"].join(moved, on="object_id", how="anti").select(
        "object_id", place="location_id", from_on=pl.lit(None, pl.Date), until_on=pl.lit(None, pl.Date)
    )  # fmt: skip
    placed = pl.concat([before, after, still]).join(
        rooms(collection["location"]), left_on="place", right_on="location_id", how="left"
    )
    return placed.select(*STAYS).sort("object_id", "from_on")


@returns(PIECES)
def by_room(spans: pl.DataFrame, its_stays: pl.DataFrame) -> pl.DataFrame:
    """Years of each span in each room, schema PIECES.

    Parameters
    ----------
    spans : span (a number of its own), object_id, starts_on, ends_on. its_stays : schema STAYS.

    Returns
    -------
    longest : the room where the object was longest within the span; what happened in it is counted there, since
    nobody saw on which side of a move it did.
    """
    joined = spans.lazy().select("span", "object_id", "starts_on", "ends_on").join(
        its_stays.lazy(), on="object_id", how="left"
    )  # fmt: skip
    start = pl.max_horizontal("starts_on", "from_on")
    end = pl.min_horizontal("ends_on", "until_on")
    pieces = joined.with_columns(years=(end - start).dt.total_days() / DAYS_A_YEAR).filter(c("years") > 0)
    summed = pieces.group_by("span", "room").agg(c("years").sum()).sort(
        "span", "years", "room", descending=[False, True, False]
    )  # fmt: skip
    marked = summed.with_columns(longest=c("span").cum_count().over("span") == 1)
    return marked.select(*PIECES).collect(engine="in-memory")
