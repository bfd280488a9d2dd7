"""A walk through the storeroom: what to look at and do on each shelf, in the order a person passes them."""

from collections.abc import Mapping
from typing import Any

import polars as pl
from natsort import natsort_keygen, ns

from collection.facts.facts import Facts
from collection.facts.wording import day_words
from collection.frames import returns
from collection.questions.cautions import heed
from collection.questions.places import above, tree
from collection.questions.triage import Triage
from collection.risk.placed import rooms

TEXTS = ("place", "location_id", "object_id", "title", "wrong", "step", "heed", "leaves")
WALK = pl.Schema([(name, pl.String()) for name in TEXTS])
NOWHERE, NOTHING = "place not recorded", "nothing on record against it"
SEEN = ", seen "  # what follows is the day
c = pl.col


@returns(WALK)
def walk(triage: Triage, chosen: pl.DataFrame) -> pl.DataFrame:
    """The chosen objects shelf by shelf, schema WALK; within a shelf in the one order of lists.

    wrong: the first reason, without its day. heed: dangers to people and what the house ordered. leaves: the day and
    the loan, where one is within the days set.
    """
    listed = triage.with_reasons(chosen).with_row_index("turn_on_list")
    titles = triage.collection["object"].select("object_id", "title")
    named = listed.join(titles, on="object_id", how="left", maintain_order="left")
    with_heed = named.join(heed(triage), on="object_id", how="left").join(_leaving(triage), on="object_id", how="left")
    placed = with_heed.join(_places(triage), on="location_id", how="left")
    ordered = placed.sort("turn_of_place", "turn_on_list", nulls_last=True)
    worded = ordered.with_columns(
        wrong=pl.Series([_short(row) for row in ordered.iter_rows(named=True)], dtype=pl.String),
        step=c("steps").list.first(),
        place=c("place").fill_null(NOWHERE),
    )
    return worded.select(TEXTS)


def _places(triage: Triage) -> pl.DataFrame:
    """Each place by its room and its own name, and its turn on the way: rooms, units and shelves in natural order."""
    locations = triage.collection["location"]
    within = dict(locations.select("location_id", "within").iter_rows())
    names = dict(locations.select("location_id", pl.coalesce("name", "location_id")).iter_rows())
    room_of = dict(rooms(locations).iter_rows())
    order = natsort_keygen(alg=ns.IGNORECASE)
    path = {place: [*above(within, place), place] for place in tree(locations)}
    turns = sorted(path, key=lambda place: [order(names[step]) for step in path[place]])
    rows = [(place, _in_room(place, room_of.get(place), names), turn) for turn, place in enumerate(turns)]
    schema = {"location_id": pl.String, "place": pl.String, "turn_of_place": pl.Int64}
    return pl.DataFrame(rows, schema=schema, orient="row")


def _in_room(place: str, around: str | None, names: Mapping[str, str]) -> str:
    """*East Store, room E1: E1-4 shelf 2*."""
    return f"{names[around]}: {names[place]}" if around and around != place else names[place]


def _leaving(triage: Triage) -> pl.DataFrame:
    facts = Facts(triage.collection, triage.risk, triage.rates)
    last = pl.lit(facts.as_of).dt.offset_by(f"{facts.rates.lines.before_loan_days}d")
    soon = facts.promised.filter(c("leaves_on") <= last)
    return soon.select("object_id", leaves=pl.format("{}, {}", day_words("leaves_on"), "loan_id")).collect()


def _short(row: dict[str, Any]) -> str:
    """The first reason without its day."""
    reasons = row["reasons"] or []
    return str(reasons[0]).split(SEEN)[0] if reasons else NOTHING
