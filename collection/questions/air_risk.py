"""What readings do to the risk: loss expected in the air since the last checks, beside that in the air before them."""

import polars as pl

from collection.frames import returns
from collection.questions.places import below
from collection.questions.triage import Triage
from collection.questions.where_lost import loss_of_hazard
from collection.questions.words import count, percent

AIR_RISK = pl.Schema(
    {"object_id": pl.String(), "title": pl.String(), "place": pl.String(), "last_checked_on": pl.Date()}
    | dict.fromkeys(("collection_loss", "loss_in_former_air", "times_faster"), pl.Float64())
)
NO_CHANGE = "The air since the last checks changes no rate here"
c = pl.col


@returns(AIR_RISK)
def air_risk(triage: Triage, place: str = "") -> pl.DataFrame:
    """Objects of a place (empty: of all) whose rates the air since their last check changes, schema AIR_RISK.

    collection_loss, loss_in_former_air [share of the collection's value a year]: what is expected now, and what would
    be had the air stayed as in the year before the check; times_faster: one over the other. Largest difference first.
    """
    rate = c("loss_rate")
    at_rest = c("modifier") * c("quiet_factor") / c("years_likely")
    left = pl.when(rate > 0).then(1 - at_rest * (1 - 1 / c("modifier")) / rate).otherwise(1.0)
    rows = triage.risk.hazards.select("object_id", "modifier", now=loss_of_hazard(), left=left)
    summed = rows.group_by("object_id").agg(
        c("now").sum(), former=(c("now") * c("left")).sum(), changed=(c("modifier") != 1).any()
    )
    worth = triage.objects.select("object_id", "location_id", "last_checked_on", "value_share")
    joined = summed.filter("changed", c("now") > 0).join(worth.filter(c("value_share") > 0), on="object_id")
    if place:
        joined = joined.filter(c("location_id").is_in(below(triage.collection["location"], place).implode()))
    valued = joined.with_columns(
        collection_loss=c("now") * c("value_share"),
        loss_in_former_air=c("former") * c("value_share"),
        times_faster=c("now") / c("former"),
    )
    return _named(triage, valued)


def _named(triage: Triage, rows: pl.DataFrame) -> pl.DataFrame:
    titles = triage.collection["object"].select("object_id", "title")
    names = triage.collection["location"].select("location_id", place=pl.coalesce("name", "location_id"))
    both = rows.join(titles, on="object_id", how="left").join(names, on="location_id", how="left")
    difference = (c("collection_loss") - c("loss_in_former_air")).abs()
    ordered = both.sort(difference, c("object_id"), descending=[True, False])
    return ordered.select(c(n).cast(t) for n, t in AIR_RISK.items())


def air_risk_sentence(rows: pl.DataFrame) -> str:
    """*The air since the last checks makes 31 objects lose faster and 12 slower: 14 % more in all, ...*"""
    if rows.is_empty():
        return f"{NO_CHANGE}: it was as in the year before them, or nobody measured it."
    faster, slower = (rows.filter(which).height for which in (c("times_faster") > 1, c("times_faster") < 1))
    moved = " and ".join(_moved(n, how) for n, how in ((faster, "faster"), (slower, "more slowly")) if n)
    now, former = (float(rows[n].sum()) for n in ("collection_loss", "loss_in_former_air"))
    more = f"{percent(abs(now - former) / former)} {'more' if now > former else 'spared'}"
    loss = f"{percent(abs(now - former))} of the collection's value a year"
    return f"In the air since the last checks {moved} than in the air of the year before: in all {more}, {loss}."


def _moved(objects: int, how: str) -> str:
    return f"{count(objects, 'object')} {'loses' if objects == 1 else 'lose'} {how}"
