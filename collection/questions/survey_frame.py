"""Which objects a survey could draw, in groups and places, and what is known of each group before anybody looks."""

import polars as pl

from collection.frames import returns
from collection.questions.triage import Triage
from collection.risk.placed import rooms
from collection.surveys.design import FRAME, Design, groups, wanted
from collection.surveys.parameters import surveys
from collection.surveys.size import LEAST_IN_A_STRATUM
from collection.trends.visits import visits
from schemas.vocabularies import vocabulary

BY = {"technique": "Technique", "place": "Room", "value": "Value"}  # what groups may be made by
NOT_RECORDED = "not recorded"
THIRDS = ("lower third of value", "middle third of value", "upper third of value")
# What is known of a group: share graded worse than best at its last check, minutes a check took; null where too few.
KNOWN = pl.Schema({"stratum": pl.String, "share": pl.Float64, "minutes": pl.Float64})
c = pl.col


@returns(FRAME)
def frame_of(triage: Triage, chosen: pl.DataFrame, by: str = "") -> pl.DataFrame:
    """The chosen objects that are here, in groups by technique, room or value (none where empty), schema FRAME.

    A technique is the first that is recorded. A cluster is the place where an object is kept.
    """
    away = vocabulary("object_status").terms_where("away")
    record = triage.collection["object"].filter(~c("status").is_in(away).fill_null(value=False))
    rows = chosen.select("object_id", "location_id", "value_share").join(
        record.select("object_id", "technique"), on="object_id"
    )
    named = rows.join(_rooms(triage), on="location_id", how="left").with_columns(
        stratum=_stratum(by), unit_id="object_id", cluster="location_id"
    )
    return named.select(*FRAME).sort("unit_id")


def _stratum(by: str) -> pl.Expr:
    labels = vocabulary("technique").labels()
    first = c("technique").list.first()
    kinds = {
        "technique": first.replace_strict(labels, default=first, return_dtype=pl.String),
        "place": c("room"),
        "value": pl.lit(pl.Series(THIRDS)).gather((c("value_share").rank("ordinal") - 1) * len(THIRDS) // pl.len()),
    }
    return kinds[by].fill_null(NOT_RECORDED) if by else pl.lit(None, pl.String)


def _rooms(triage: Triage) -> pl.DataFrame:
    """location_id, room: the name of the room that a place lies in."""
    locations = triage.collection["location"]
    names = locations.select(around="location_id", room=pl.coalesce("name", "location_id"))
    columns = rooms(locations).columns
    return (
        rooms(locations)
        .rename(dict(zip(columns, ("location_id", "around"), strict=True)))
        .join(names, on="around", how="left")
        .select("location_id", "room")
    )


@returns(KNOWN)
def known_of_groups(triage: Triage, frame: pl.DataFrame) -> pl.DataFrame:
    """What earlier checks say of each group of the frame (schema FRAME), schema KNOWN."""
    its = surveys()
    last = visits(triage.collection, triage.risk.checks).drop_nulls("grade").unique("object_id", keep="last")
    minutes = triage.collection["condition_check"].select("object_id", "minutes").drop_nulls()
    graded = (
        frame.join(last, left_on="unit_id", right_on="object_id")
        .group_by("stratum")
        .agg(share=pl.when(pl.len() >= its.share_from).then((c("grade") > 0).mean()))
    )
    took = (
        frame.join(minutes, left_on="unit_id", right_on="object_id")
        .group_by("stratum")
        .agg(minutes=pl.when(pl.len() >= its.minutes_from).then(c("minutes").mean()))
    )
    rows = frame.select("stratum").unique().join(graded, on="stratum", how="left", nulls_equal=True)
    return rows.join(took, on="stratum", how="left", nulls_equal=True).select(*KNOWN).sort("stratum")


def groups_of(triage: Triage, frame: pl.DataFrame, design: Design) -> pl.DataFrame:
    """How the sample is shared out among the groups, schema GROUPS of `collection.surveys.design`.

    Of each group the share that earlier checks graded worse than best, a half where fewer than so many were graded, and
    the minutes a check took, alike where nobody wrote them.
    """
    known = known_of_groups(triage, frame)
    shares, minutes = (dict(known.select("stratum", name).drop_nulls().iter_rows()) for name in ("share", "minutes"))
    all_timed = known.height == len(minutes)
    least = sum(min(LEAST_IN_A_STRATUM, n) for n in frame.group_by("stratum").len()["len"])
    size = max(wanted(design, frame.height), least)
    return groups(frame, shares, minutes if all_timed else {}, size)
