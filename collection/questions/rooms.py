"""Rooms, units and shelves: what is urgent there, what the air does, what is open, in a row and in a sentence."""

from typing import Any

import polars as pl

from collection.frames import returns
from collection.questions.air import Air, needs
from collection.questions.mending import DUE, faults_open, mending, mending_sentence, upkeep
from collection.questions.places import below
from collection.questions.where_lost import CAUSES, by_location
from collection.questions.words import count, percent

ROOMS = pl.Schema(
    {"location_id": pl.String(), "name": pl.String(), "objects": pl.UInt32(), "need_attention": pl.UInt32()}
    | {"expected_loss": pl.Float64(), "cause": pl.String(), "inside": pl.Float64(), "air": pl.String()}
    | {"faults": pl.UInt32(), "due": pl.UInt32(), "prevented": pl.Float64()}
)
CAUSE_WORDS = {
    "repairs": "earlier repairs",
    "damage": "damage",
    "journeys": "planned journeys",
    "climate": "climate worse than at the last check",
}
NO_PLACE = "No place is on record."
c = pl.col


@returns(ROOMS)
def rooms(air: Air, within: str = "") -> pl.DataFrame:
    """The places directly within one (empty: the rooms), most value lost first; schema ROOMS.

    cause: what most of it comes from. inside: the least share of time at a target of anything there. prevented: by the
    best proposal for it.
    """
    triage = air.triage
    rows = by_location(triage, triage.objects.filter(c("value_share") > 0), within).filter(c("location_id") != "")
    options = mending(triage)
    further = [_further(air, place, options) for place in rows["location_id"]]
    more = pl.DataFrame(
        further, schema={n: ROOMS[n] for n in ("location_id", "inside", "air", "faults", "due", "prevented")}
    )
    most = pl.concat_list(CAUSES).list.arg_max()
    cause = pl.when(c("expected_loss") > 0).then(most.replace_strict(dict(enumerate(CAUSES)), return_dtype=pl.String))
    worded = rows.with_columns(cause=cause.replace_strict(CAUSE_WORDS, default=None, return_dtype=pl.String))
    whole = worded.join(more, on="location_id", how="left", maintain_order="left")
    ordered = whole.sort("expected_loss", "location_id", descending=[True, False])
    return ordered.select(c(n).cast(t) for n, t in ROOMS.items())


def _further(air: Air, place: str, options: pl.DataFrame) -> dict[str, Any]:
    own = needs(air, place)
    name = dict(air.triage.collection["location"].select("location_id", pl.coalesce("name", "location_id")).iter_rows())
    measuring = dict(air.airs.iter_rows()).get(place)
    here = below(air.triage.collection["location"], place)
    best = options.filter(c("location_id").is_in(here.implode()))
    return {
        "location_id": place,
        "inside": own["inside"].min(),
        "air": name.get(measuring, measuring) if measuring else None,
        "faults": faults_open(air.triage, place).height,
        "due": upkeep(air.triage, place).filter(c("state") == DUE).height,
        "prevented": best["prevented"].max(),
    }


def rooms_sentence(air: Air, rows: pl.DataFrame) -> str:
    """*Mend first: ...; of 6 rooms ... urgent objects most in Lower Store, room L2.*"""
    if rows.is_empty():
        return NO_PLACE
    most = rows.sort("need_attention", descending=True, maintain_order=True).row(0, named=True)
    urgent = (
        f"{most['name']} has the most objects that need attention now, {most['need_attention']:,}"
        if most["need_attention"]
        else "No object needs attention now"
    )
    worst = rows.row(0, named=True)
    loss = f"{percent(worst['expected_loss'])} of the collection's value a year"
    lost = f"by what was checked, most value is lost in {worst['name']}, {loss}"
    return f"{urgent}; {lost}. {mending_sentence(mending(air.triage))}"


def room_sentence(air: Air, place: str) -> str:
    """*Lower Store, room L2: 14 objects need attention now, 12 of them by damage; its air ...*"""
    location = air.triage.collection["location"].filter(c("location_id") == place).row(0, named=True)
    here = below(air.triage.collection["location"], place)
    mine = air.triage.objects.filter(c("location_id").is_in(here.implode()), c("value_share") > 0)
    now = mine.filter(c("attention").is_in(air.triage.now)).height
    which = f"{now:,} of {count(mine.height, 'object')} {'needs' if now == 1 else 'need'}" if now else ""
    head = which or f"none of {count(mine.height, 'object')} needs"
    return f"{location['name'] or place}: {head} attention now; {_air_words(air, place)}."


def _air_words(air: Air, place: str) -> str:
    """What its air was beside what is needed, of the target that was left most."""
    rows = needs(air, place)
    if rows.is_empty():
        return "no target with a reason applies here, so nothing can be said of its air against what is needed"
    measured = rows.filter(c("inside").is_not_null())
    if measured.is_empty():
        return f"nothing can be said of its air: {rows['refused'][0]}"
    worst = measured.row(0, named=True)
    objects = count(worst["objects"], "object")
    need = "needs" if worst["objects"] == 1 else "need"
    share = (
        "nearly all of"
        if worst["inside"] > air.figures.nearly_all
        else f"{percent(worst['inside']).removeprefix('about ')} of"
    )
    return f"its air was inside what {objects} {need} ({worst['needs']}) for {share} the last twelve months"
