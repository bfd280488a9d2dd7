"""What condition the collection is in, of what has been looked at: grades, and open damage by what it is found on."""

import polars as pl

from collection.frames import returns
from collection.questions.storeroom import UNPLACED, branches
from collection.questions.triage import Triage
from schemas.tables import RECORDS
from schemas.vocabularies import vocabulary

GRADES = pl.Schema({"grade": pl.String(), "label": pl.String(), "objects": pl.UInt32()})
DAMAGE = pl.Schema(
    {
        "kind": pl.String(),
        "label": pl.String(),
        "objects": pl.UInt32(),
        "active": pl.UInt32(),
        "share_of_seen": pl.Float64(),
    }
)
BY_GROUP = pl.Schema({"group": pl.String(), "seen": pl.UInt32(), "damaged": pl.UInt32(), "share_damaged": pl.Float64()})
GROUPS = ("technique", "base_metal", "period", "place")
CENTURY = 100  # years
DAMAGED = RECORDS["damage"].name  # the source of a hazard that comes from damage


@returns(GRADES)
def grades(triage: Triage, chosen: pl.DataFrame) -> pl.DataFrame:
    """Objects by their grade at the last look that gave one, in the order of the grades; schema GRADES."""
    checks = triage.risk.checks.filter(pl.col("grade").is_not_null()).sort("place_in_order")
    last = checks.group_by("object_id").agg(pl.col("grade").last())
    counted = chosen.join(last, on="object_id").group_by("grade").agg(objects=pl.len())
    terms = vocabulary("grade").labels()
    order = pl.DataFrame({"grade": list(terms), "label": list(terms.values())})
    joined = order.join(counted, on="grade", how="left", maintain_order="left").with_columns(
        pl.col("objects").fill_null(0)
    )
    return joined.select(pl.col(n).cast(t) for n, t in GRADES.items())


@returns(DAMAGE)
def damage(triage: Triage, chosen: pl.DataFrame) -> pl.DataFrame:
    """Objects with each kind of open damage, most frequent first; schema DAMAGE. share_of_seen [1]."""
    seen = chosen.filter(pl.col("last_checked_on").is_not_null())
    open_rows = triage.risk.hazards.filter(pl.col("source") == DAMAGED).join(seen, on="object_id", how="semi")
    moving = list(vocabulary("activity").terms_where("moving"))
    counted = open_rows.group_by("term").agg(
        objects=pl.col("object_id").n_unique(),
        active=pl.col("object_id").filter(pl.col("state").is_in(moving)).n_unique(),
    )
    labels = vocabulary("damage").labels()
    worded = counted.with_columns(
        kind=pl.col("term"),
        label=pl.col("term").replace_strict(labels, default=pl.col("term"), return_dtype=pl.String),
        share_of_seen=pl.col("objects") / max(seen.height, 1),
    )
    return worded.select(pl.col(n).cast(t) for n, t in DAMAGE.items()).sort(
        "objects", "label", descending=[True, False]
    )


@returns(BY_GROUP)
def by_group(triage: Triage, chosen: pl.DataFrame, group: str) -> pl.DataFrame:
    """Share of the objects seen that have open damage, by technique, base metal, period or place; schema BY_GROUP."""
    seen = chosen.filter(pl.col("last_checked_on").is_not_null()).select("object_id")
    open_damage = triage.risk.hazards.filter(pl.col("source") == DAMAGED)
    hurt = open_damage.select("object_id").unique().with_columns(hurt=pl.lit(value=True))
    named = seen.join(_named(triage, group), on="object_id").join(hurt, on="object_id", how="left")
    counted = named.group_by("group").agg(seen=pl.len(), damaged=pl.col("hurt").fill_null(value=False).sum())
    worded = counted.with_columns(share_damaged=pl.col("damaged") / pl.col("seen"))
    return worded.select(pl.col(n).cast(t) for n, t in BY_GROUP.items()).sort("seen", "group", descending=[True, False])


def sentence(triage: Triage, chosen: pl.DataFrame) -> str:
    """*261 of the 400 objects looked at have open damage; in 24 of them change is under way.*"""
    seen = chosen.filter(pl.col("last_checked_on").is_not_null())
    if seen.is_empty():
        return "Nobody has looked at any object here yet, so nothing can be said of its condition."
    rows = triage.risk.hazards.filter(pl.col("source") == DAMAGED).join(seen, on="object_id", how="semi")
    moving = rows.filter(pl.col("state").is_in(list(vocabulary("activity").terms_where("moving"))))
    hurt, active = rows["object_id"].n_unique(), moving["object_id"].n_unique()
    under_way = f"in {active} of them change is under way" if active else "in none of them is change under way"
    return f"{hurt:,} of the {seen.height:,} objects looked at have open damage; {under_way}."


def _named(triage: Triage, group: str) -> pl.DataFrame:
    """object_id and group, as labelled; an object of two techniques counts under each."""
    objects = triage.collection["object"]
    unknown, unplaced = pl.lit("not recorded"), pl.lit(UNPLACED)
    if group == GROUPS[0]:
        labels = vocabulary("technique").labels()
        each = objects.select("object_id", pl.col("technique").fill_null([""])).explode("technique", empty_as_null=True)
        return each.select(
            "object_id", group=pl.col("technique").replace_strict(labels, default=unknown, return_dtype=pl.String)
        )
    if group == GROUPS[1]:
        labels = vocabulary("metal").labels()
        return objects.select(
            "object_id", group=pl.col("base_metal").replace_strict(labels, default=unknown, return_dtype=pl.String)
        )
    if group == GROUPS[2]:
        since = (pl.col("latest_year") - 1) // CENTURY * CENTURY + 1
        return objects.select(
            "object_id", group=pl.coalesce(pl.format("{} to {}", since, since + CENTURY - 1), unknown)
        )
    return objects.select("object_id", group=_rooms(triage, unplaced))


def _rooms(triage: Triage, unplaced: pl.Expr) -> pl.Expr:
    """The room an object is in, by name."""
    rooms = branches(triage.collection["location"])
    named = rooms.join(triage.collection["location"].select(branch="location_id", name="name"), on="branch")
    names = named.select("location_id", pl.coalesce("name", "branch"))
    return pl.col("location_id").replace_strict(
        names["location_id"], names["name"], default=unplaced, return_dtype=pl.String
    )
