"""Objects in the wrong place: outside their targets too long, where they would be better off, targets that conflict."""

import polars as pl

from collection.climate.sides import LIMITS
from collection.frames import returns
from collection.questions.air import Air, limit, limits_in_words
from collection.questions.words import count

WRONG_PLACE = pl.Schema(
    {"object_id": pl.String(), "title": pl.String(), "place": pl.String(), "reason": pl.String(), "needs": pl.String()}
    | {"inside": pl.Float64(), "days": pl.Float64(), "suits": pl.String(), "collection_loss": pl.Float64()}
)
CONFLICTS = pl.Schema({"object_id": pl.String(), "targets": pl.String(), "words": pl.String(), "set_by": pl.String()})
NOWHERE = "no place that is measured"
c = pl.col


@returns(WRONG_PLACE)
def wrong_place(air: Air, place: str = "") -> pl.DataFrame:
    """Objects that spent too much of the last twelve months outside a target of theirs, schema WRONG_PLACE.

    One row an object, with the target it was outside of longest; what the collection loses most in first. `suits`:
    places with readings that were inside all its targets for long enough.
    """
    shares = air.inside(place).join(air.at_targets, on=["air", "target_id"])
    measured = shares.filter(c("days") >= air.figures.days_fewest, c("inside") < air.figures.suits_from)
    worst = measured.sort("inside", "target_id").unique("object_id", keep="first", maintain_order=True)
    names = air.triage.collection["location"].select("location_id", place=pl.coalesce("name", "location_id"))
    titles = air.triage.collection["object"].select("object_id", "title")
    losses = air.triage.objects.select("object_id", "collection_loss")
    shown = worst.with_columns(needs=limits_in_words()).join(names, on="location_id", how="left")
    whole = shown.join(titles, on="object_id", how="left").join(losses, on="object_id", how="left")
    suits = whole.join(_suiting(air, worst["object_id"]), on="object_id", how="left")
    filled = suits.with_columns(c("suits").fill_null(NOWHERE))
    return filled.select(c(n).cast(t) for n, t in WRONG_PLACE.items()).sort(
        "collection_loss", "object_id", descending=[True, False], nulls_last=True
    )


def _suiting(air: Air, objects: pl.Series) -> pl.DataFrame:
    """object_id and suits: names of the airs that were inside all targets of the object, its own air apart."""
    mine = air.asked.filter(c("object_id").is_in(objects.implode()))
    each = mine.select("object_id", "target_id", at="air").unique().join(air.at_targets, on="target_id")
    enough = (c("days") >= air.figures.days_fewest) & (c("inside") >= air.figures.suits_from)
    whole = each.group_by("object_id", "air").agg(fits=enough.all(), at=(c("at") == c("air")).any())
    places = air.triage.collection["location"].select(air="location_id", name=pl.coalesce("name", "location_id"))
    fitting = whole.filter("fits", ~c("at").fill_null(value=False)).join(places, on="air").sort("object_id", "air")
    return fitting.group_by("object_id", maintain_order=True).agg(suits=c("name").str.join("; "))


def wrong_place_sentence(rows: pl.DataFrame) -> str:
    """*41 objects spent more than a tenth of the last twelve months outside what they need; 12 have a better place.*"""
    if rows.is_empty():
        return "No object with a reasoned target was outside it for long in the last twelve months."
    better = rows.filter(c("suits") != NOWHERE).height
    have = "has" if better == 1 else "have"
    who = count(rows.height, "object was", "objects were")
    return (
        f"{who} too long outside what is needed in the last twelve months; {better:,} {have} a better place measured."
    )


@returns(CONFLICTS)
def conflicts(air: Air) -> pl.DataFrame:
    """Two targets of one object that no air can keep at once, for a person to settle; schema CONFLICTS."""
    setters = air.triage.collection["target"].select("target_id", "set_by")
    mine = air.asked.join(setters, on="target_id", how="left").select(
        "object_id", "target_id", "location_id", "set_by", *LIMITS
    )
    pairs = mine.join(mine, on=["object_id", "location_id"], suffix="_other").filter(
        c("target_id") < c("target_id_other")
    )
    against = [
        pl.when(c(f"{q}_low{a}") > c(f"{q}_high{b}")).then(
            pl.format(f"{{}} from {{}} {unit} up, {{}} up to {{}} {unit}", f"target_id{a}", limit(f"{q}_low{a}"),
                      f"target_id{b}", limit(f"{q}_high{b}")))
        for q, unit in (("rh", "%"), ("temperature", "°C")) for a, b in (("", "_other"), ("_other", ""))
    ]  # fmt: skip
    rows = pairs.with_columns(words=pl.coalesce(against)).drop_nulls("words")
    who = pl.concat_str(pl.concat_list("set_by", "set_by_other").list.drop_nulls().list.unique().list.join(", "))
    worded = rows.with_columns(targets=pl.format("{}, {}", "target_id", "target_id_other"), set_by=who)
    return worded.select(CONFLICTS.names()).unique(maintain_order=True).sort("object_id", "targets")
