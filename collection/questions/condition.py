"""What condition the collection is in, of what has been looked at: grades, and damage by what it is seen on."""

import polars as pl

from collection.frames import returns
from collection.questions.triage import Triage
from collection.questions.where_lost import UNPLACED, branches
from collection.questions.words import count
from collection.risk.rate_rows import REPAIR
from schemas.tables import RECORDS
from schemas.terms import RepairFunction
from schemas.vocabularies import terms, vocabulary

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
PERIOD = GROUPS[2]
FEW = 10  # checked objects; of fewer a share says little and no bar is drawn
CENTURY = 100  # years
DAMAGED = RECORDS["damage"].name  # the source of a hazard that comes from damage


@returns(GRADES)
def grades(triage: Triage, chosen: pl.DataFrame) -> pl.DataFrame:
    """Objects by their grade at the last check that gave one, in the order of the grades; schema GRADES."""
    checks = triage.risk.checks.filter(pl.col("grade").is_not_null()).sort("place_in_order")
    last = checks.group_by("object_id").agg(pl.col("grade").last())
    counted = chosen.join(last, on="object_id").group_by("grade").agg(objects=pl.len())
    labels = vocabulary("grade").labels()
    order = pl.DataFrame({"grade": list(labels), "label": list(labels.values())})
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
    """Share of the objects checked that show damage, by technique (its broadest term), base metal, period or place.

    Schema BY_GROUP; periods in the order of time, others by how many were checked.
    """
    seen = chosen.filter(pl.col("last_checked_on").is_not_null()).select("object_id")
    open_damage = triage.risk.hazards.filter(pl.col("source") == DAMAGED)
    hurt = open_damage.select("object_id").unique().with_columns(hurt=pl.lit(value=True))
    named = seen.join(_named(triage, group), on="object_id").join(hurt, on="object_id", how="left")
    counted = named.group_by("group").agg(seen=pl.len(), damaged=pl.col("hurt").fill_null(value=False).sum())
    worded = counted.with_columns(share_damaged=pl.col("damaged") / pl.col("seen"))
    rows = worded.select(pl.col(n).cast(t) for n, t in BY_GROUP.items())
    if group == PERIOD:
        return rows.sort(pl.col("group").str.extract(r"^(-?\d+)").cast(pl.Int64), "group", nulls_last=True)
    return rows.sort("seen", "group", descending=[True, False])


def sentence(triage: Triage, chosen: pl.DataFrame) -> str:
    """*283 of the 400 objects checked show damage, most of it old and still; in 22 something moves, 10 joins and 10
    coatings are letting go or have let go.*
    """
    seen = chosen.filter(pl.col("last_checked_on").is_not_null())
    if seen.is_empty():
        return "Nobody has checked any object here yet, so nothing can be said of its condition."
    rows = triage.risk.hazards.filter(pl.col("source") == DAMAGED).join(seen, on="object_id", how="semi")
    moving = rows.filter(pl.col("state").is_in(list(vocabulary("activity").terms_where("moving"))))
    hurt, active = rows["object_id"].n_unique(), moving["object_id"].n_unique()
    moves = f"in {active} something moves" if active else "in none does anything move"
    words = f"{hurt:,} of the {seen.height:,} objects checked show damage, most of it old and still; {moves}"
    gone = _letting_go(triage, seen)
    return f"{words}; {gone}." if gone else f"{words}."


def _letting_go(triage: Triage, seen: pl.DataFrame) -> str:
    """*10 joins and 3 coatings are letting go or have let go*; empty where none is."""
    bad = [s for s, its in vocabulary("stability").term.items() if its.get("spoils")]
    rows = triage.risk.hazards.filter(pl.col("source") == REPAIR, pl.col("state").is_in(bad))
    counts = rows.join(seen, on="object_id", how="semi").unique("hazard_id")["term"].value_counts(sort=True)
    uses = terms("repair_function", RepairFunction)
    ordered = counts.sort("count", "term", descending=[True, False])
    each = [count(number, uses[use].noun, uses[use].plural or "") for use, number in ordered.iter_rows()]
    many = sum(counts["count"]) > 1
    return f"{_listed(each)} {'are' if many else 'is'} letting go or {'have' if many else 'has'} let go" if each else ""


def _listed(words: list[str]) -> str:
    """*a, b and c*."""
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"


def _named(triage: Triage, group: str) -> pl.DataFrame:
    """object_id and group, as labelled; an object of two techniques counts under each."""
    objects = triage.collection["object"]
    unknown, unplaced = pl.lit("not recorded"), pl.lit(UNPLACED)
    if group == GROUPS[0]:
        techniques = vocabulary("technique")
        roots = {term: techniques.term[techniques.root_term(term)].label for term in techniques.term}
        each = objects.select("object_id", pl.col("technique").fill_null([""])).explode("technique", empty_as_null=True)
        broadest = pl.col("technique").replace_strict(roots, default=unknown, return_dtype=pl.String)
        return each.select("object_id", group=broadest).unique()
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


KINDS_BY_TECHNIQUE = pl.Schema(
    {
        "label": pl.String(),
        "technique": pl.String(),
        "objects": pl.UInt32(),
        "checked": pl.UInt32(),
        "share": pl.Float64(),
    }
)


@returns(KINDS_BY_TECHNIQUE)
def kinds_by_technique(triage: Triage, chosen: pl.DataFrame) -> pl.DataFrame:
    """Objects with each kind of damage by technique, schema KINDS_BY_TECHNIQUE; share [1] of those checked.

    An object of two techniques counts under each; techniques of which fewer than ten were checked are left out.
    """
    seen = chosen.filter(pl.col("last_checked_on").is_not_null()).select("object_id")
    named = seen.join(_named(triage, GROUPS[0]), on="object_id").rename({"group": "technique"})
    sizes = named.group_by("technique").agg(checked=pl.len()).filter(pl.col("checked") >= FEW)
    damage_rows = triage.risk.hazards.filter(pl.col("source") == DAMAGED).select("object_id", "term").unique()
    counted = damage_rows.join(named, on="object_id").group_by("term", "technique").agg(objects=pl.len())
    labels = vocabulary("damage").labels()
    joined = counted.join(sizes, on="technique").with_columns(
        label=pl.col("term").replace_strict(labels, default=pl.col("term"), return_dtype=pl.String),
        share=pl.col("objects") / pl.col("checked"),
    )
    total = joined.with_columns(all=pl.col("objects").sum().over("label"))
    ordered = total.sort("all", "label", "checked", "technique", descending=[True, False, True, False])
    return ordered.select(pl.col(n).cast(t) for n, t in KINDS_BY_TECHNIQUE.items())
