"""Getting a survey ready: which objects it could draw, how many it looks at, and the papers it is carried out with."""

from collections.abc import Iterator

import numpy as np
import polars as pl

from collection.frames import returns
from collection.questions.selection import BY_NAME, Selection
from collection.questions.surveys import units_of
from collection.questions.triage import Triage
from collection.questions.walk import WALK, walk
from collection.questions.words import count
from collection.risk.placed import rooms
from collection.surveys.design import FRAME, Design, groups, wanted
from collection.surveys.outcomes import is_waiting
from collection.surveys.parameters import surveys
from collection.surveys.sampling import LEAST_IN_A_STRATUM, MARGINS, margins
from collection.trends.visits import visits
from schemas.vocabularies import vocabulary

BY = {"technique": "Technique", "place": "Room", "value": "Value"}  # what groups may be made by
NOT_RECORDED = "not recorded"
THIRDS = ("lower third of value", "middle third of value", "upper third of value")
# What is known of a group: share graded worse than best at its last check, minutes a check took; null where too few.
KNOWN = pl.Schema({"stratum": pl.String, "share": pl.Float64, "minutes": pl.Float64})
POINTS = 40  # of a curve
PERCENT = 100  # in a whole
ALL = "every object of the register that is here"
# A sheet to fill. The columns but title and place are those of record `condition_check`.
SHEET = pl.Schema(
    dict.fromkeys(("check_id", "survey_id", "object_id", "title", "place"), pl.String)
    | {"checked_on": pl.Date}
    | dict.fromkeys(("examiner", "visit", "look", "grade"), pl.String)
    | {"minutes": pl.Float64, "summary_observed": pl.String}
)
CHECK_IT = "check it"
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


@returns(MARGINS)
def margins_of(held: int, design: Design) -> pl.DataFrame:
    """Margin of a share by the number looked at, as drawn at random from all, up to all there are; schema MARGINS."""
    sizes = np.unique(np.linspace(1, held, POINTS).round().astype(int)) if held else np.zeros(0, dtype=int)
    return margins(held, design.share, design.confidence, [int(n) for n in sizes])


def plan_sentence(held: int, design: Design) -> str:
    """*241 of 640 objects give a share to within 5 % either way, in 95 of 100 such surveys.*"""
    if not held:
        return "There is no object to draw from."
    size = wanted(design, held)
    if size == held:
        return f"All {count(held, 'object')} are checked: the shares are what they are, without a margin."
    (margin,) = margins(held, design.share, design.confidence, [size])["margin"]
    within = f"within {margin * PERCENT:.2g} % either way, in {design.confidence * PERCENT:g} of {PERCENT} such surveys"
    more = " Drawn by places the margin is wider, by as much as places differ." if _by_places(design) else ""
    given = f"{size:,} of {count(held, 'object')} give a share to {within}"
    return f"{given} (for a share of one half; closer for others).{more}"


def grouped_sentence(groups: pl.DataFrame | None) -> Iterator[str]:
    """How many of each group, a line each."""
    if groups is None:
        return
    for row in groups.iter_rows(named=True):
        yield f"  {row['stratum']}: {row['drawn']:,} of {row['held']:,}"


def drawn_sentence(selection: Selection) -> str:
    """Which objects could be drawn, in words: *place: L1; technique: cloisonne*."""
    each = [f"{BY_NAME[name].label.lower()}: {', '.join(values)}" for name, values in selection.asked]
    return "; ".join(each) or ALL


def _by_places(design: Design) -> bool:
    return design.sampling in vocabulary("sampling").terms_where("by_cluster")


@returns(WALK)
def survey_walk(triage: Triage, survey_id: str) -> pl.DataFrame:
    """The objects of a survey that nobody looked at yet, shelf by shelf, schema WALK.

    Each is to be checked, whatever else the list would let wait; what needs attention now has its own step.
    """
    waiting = units_of(triage, survey_id).filter(is_waiting())
    asked = triage.objects.join(waiting, left_on="object_id", right_on="unit_id", how="semi")
    urgent = asked.filter(c("attention").is_in(triage.now))["object_id"]
    step = pl.when(c("object_id").is_in(urgent.implode())).then("step").otherwise(pl.lit(CHECK_IT))
    return walk(triage, asked).with_columns(step=step)


@returns(SHEET)
def survey_sheet(triage: Triage, survey_id: str) -> pl.DataFrame:
    """The same as rows of checks to fill, schema SHEET: a number each, and a look at each damage, unless changed."""
    turns = units_of(triage, survey_id).select(
        object_id="unit_id", turn=pl.coalesce("draw_order", pl.int_range(1, pl.len() + 1))
    )
    rows = survey_walk(triage, survey_id).join(turns, on="object_id", maintain_order="left")
    (thorough, *_) = vocabulary("look").terms_where("each_damage")
    named = rows.with_columns(
        check_id=pl.format("{}-{}", pl.lit(survey_id), "turn"), survey_id=pl.lit(survey_id), look=pl.lit(thorough)
    )
    empty = {n: pl.lit(None, t).alias(n) for n, t in SHEET.items() if n not in named.columns}
    return named.with_columns(*empty.values()).select(*SHEET)
