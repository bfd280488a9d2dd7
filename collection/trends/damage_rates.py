"""How often damage loses material, begins to move, or is new, per 100 years watched, by kind, technique, room and year.

Three counts, never mixed (`collection.learning.histories`). Loss and activation are counted over the years in which a
damage was watched, new damage over object-years. A span belongs to the year of the check that ends it, with all its
exposure and its events, else every year of a survey invents a story; a move parts its exposure between rooms, and what
happened counts in the room where the object was longest. An accident or a journey within a span is said (`handled`).
"""

from collections.abc import Sequence

import polars as pl

from collection.frames import returns
from collection.learning.histories import histories
from collection.learning.limits import count_limits
from collection.learning.new_damage import first_lines, object_intervals
from collection.risk.parameters import DAYS_A_YEAR
from collection.risk.placed import rooms
from collection.risk.rate_rows import DAMAGE
from collection.risk.rates import RatesTable
from collection.snapshot import Collection
from collection.trends.grades import HUNDRED
from collection.trends.parameters import Trends
from schemas.records.catalogue import WHOLE
from schemas.vocabularies import vocabulary

LOSS, ACTIVATION, NEW = "loss", "activation", "new damage"
COUNTS = (LOSS, ACTIVATION, NEW)
WATCHED = pl.Schema(
    dict.fromkeys(("count", "object_id", "kind", "technique", "room", "end_check_id"), pl.String)
    | {"starts_on": pl.Date, "ends_on": pl.Date, "year": pl.Int32, "events": pl.Int64, "years": pl.Float64}
    | {"handled": pl.Boolean}
)
DAMAGE_RATES = pl.Schema(
    {"count": pl.String, "group": pl.String, "events": pl.Int64, "years": pl.Float64, "objects": pl.Int64}
    | dict.fromkeys(("rate", "low", "high"), pl.Float64)
)
KIND, TECHNIQUE, ROOM, YEAR = "kind", "technique", "room", "year"
GROUPS = (KIND, TECHNIQUE, ROOM, YEAR)
SEVERAL = "several"  # techniques of one object
SPAN = ("object_id", "kind", "end_check_id", "starts_on", "ends_on", "handled", "count", "events")
STAYS = pl.Schema({"object_id": pl.String, "room": pl.String, "from_on": pl.Date, "until_on": pl.Date})
PIECES = pl.Schema({"span": pl.UInt32, "room": pl.String, "years": pl.Float64, "longest": pl.Boolean})
c = pl.col


@returns(WATCHED)
def watched(collection: Collection, checks: pl.DataFrame, rates: RatesTable) -> pl.DataFrame:
    """Every span between two inspections with its exposure and events, parted at moves, schema WATCHED.

    Parameters
    ----------
    collection : cut to a day. checks : its schema CHECKS. rates : which kinds of damage there are.

    Returns
    -------
    One row a count, span and room; years [year of a damage watched, of an object for new damage]. Of new damage a row
    without kind has the years, and a row with a kind has events alone, since any object may get any kind.
    technique : the broadest term, `several` where an object has more than one, null where none is recorded.
    """
    spans = pl.concat([_of_damage(collection, checks, rates), _new(collection, checks)]).with_row_index("span")
    pieces = by_room(spans, stays(collection))
    joined = spans.join(pieces, on="span").join(technique_groups(collection["object"]), on="object_id", how="left")
    only_events = (c("count") == NEW) & c("kind").is_not_null()
    rows = joined.filter(~only_events | (c("longest") & (c("events") > 0))).with_columns(
        year=c("ends_on").dt.year(),
        events=pl.when("longest").then("events").otherwise(0),
        years=pl.when(only_events).then(0.0).otherwise("years"),
    )
    return rows.select(*WATCHED).sort("count", "object_id", "end_check_id", "kind", "room")


def _of_damage(collection: Collection, checks: pl.DataFrame, rates: RatesTable) -> pl.DataFrame:
    """Spans of loss and activation, where each is known."""
    kinds = rates.damage.select("rate_row", kind="term").unique("rate_row")
    spans = histories(collection, checks, rates).filter(c("source") == DAMAGE)
    named = spans.join(kinds, on="rate_row", how="left")
    each = {LOSS: "loss_event", ACTIVATION: "activation_event"}
    counted = [
        named.filter(c(event).is_not_null()).with_columns(count=pl.lit(name), events=c(event).cast(pl.Int64))
        for name, event in each.items()
    ]
    return pl.concat([rows.select(SPAN) for rows in counted])


def _new(collection: Collection, checks: pl.DataFrame) -> pl.DataFrame:
    """Spans of objects with no kind, and again for each kind that was new at their end, with how many were."""
    spans = object_intervals(collection, checks)
    fresh = first_lines(collection, checks).group_by("check_id", "kind").agg(events=pl.len().cast(pl.Int64))
    with_events = spans.join(fresh, left_on="end_check_id", right_on="check_id")
    years = spans.with_columns(kind=pl.lit(None, pl.String), events=pl.lit(0, pl.Int64))
    return pl.concat([rows.with_columns(count=pl.lit(NEW)).select(SPAN) for rows in (years, with_events)])


def technique_groups(objects: pl.DataFrame) -> pl.DataFrame:
    """object_id and technique: the broadest term, `several` where there are more, null where none is recorded."""
    terms = vocabulary("technique")
    roots = {term: terms.root_term(term) for term in terms.term}
    each = objects.select("object_id", technique="technique").explode("technique", empty_as_null=True)
    rooted = each.with_columns(c("technique").replace_strict(roots, default=None, return_dtype=pl.String))
    of_object = rooted.drop_nulls().group_by("object_id").agg(c("technique").unique())
    one = pl.when(c("technique").list.len() > 1).then(pl.lit(SEVERAL)).otherwise(c("technique").list.first())
    return of_object.select("object_id", technique=one)


@returns(DAMAGE_RATES)
def damage_rates(rows: pl.DataFrame, by: str, figures: Trends) -> pl.DataFrame:
    """Events per 100 years with exact limits (Garwood 1936), by count and kind, technique, room or year.

    Parameters
    ----------
    rows : schema WATCHED. by : one of GROUPS.

    Returns
    -------
    Schema DAMAGE_RATES, most events first, years in order; groups without a year watched are not there.
    """
    group = c(by).cast(pl.String)
    summed = rows.group_by("count", group=group).agg(
        events=c("events").sum(), years=c("years").sum(), objects=c("object_id").n_unique().cast(pl.Int64)
    )
    if by == KIND:  # any object may get any kind of new damage
        every = float(rows.filter(c("count") == NEW)["years"].sum())
        new = c("count") == NEW
        summed = summed.filter(~new | c("group").is_not_null()).with_columns(
            years=pl.when(new).then(pl.lit(every)).otherwise("years")
        )
    order = ["count", "group"] if by == YEAR else ["count", "events", "years", "group"]
    with_limits = limits_of(summed.filter(c("years") > 0), figures.limits)
    return with_limits.sort(order, descending=[name in ("events", "years") for name in order]).select(*DAMAGE_RATES)


def limits_of(rows: pl.DataFrame, chance: float) -> pl.DataFrame:
    """Adds rate, low and high per 100 years to rows with `events` and `years`."""
    limits = {n: count_limits(n, chance) for n in rows["events"].unique()}
    ends: Sequence[pl.Series] = [
        pl.Series([limits[n][end] for n in rows["events"]], dtype=pl.Float64) for end in (0, 1)
    ]
    counted = rows.with_columns(rate=c("events").cast(pl.Float64), low=ends[0], high=ends[1])
    return counted.with_columns(c("rate", "low", "high") * HUNDRED / c("years"))


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
