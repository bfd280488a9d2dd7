"""A walk through the storeroom: what to look at and do on each shelf, in the order a person passes them."""

from collections.abc import Container, Mapping
from typing import Any

import polars as pl
from natsort import natsort_keygen, ns

from collection.facts.facts import Facts
from collection.facts.phrases import day_words
from collection.frames import returns
from collection.questions.heed import heed
from collection.questions.places import above, tree
from collection.questions.triage import Triage
from schemas.vocabularies import vocabulary

TEXTS = ("place", "location_id", "object_id", "title", "wrong", "step", "heed", "leaves")
WALK = pl.Schema([(name, pl.String()) for name in TEXTS])
NOWHERE, NOTHING = "place not recorded", "nothing on record against it"
MOST_WORDS = 8  # of what is wrong: more is not read on the way
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
    rooms = set(locations.filter(c("kind").is_in(vocabulary("location_kind").terms_where("room")))["location_id"])
    order = natsort_keygen(alg=ns.IGNORECASE)
    path = {place: [*above(within, place), place] for place in tree(locations)}
    turns = sorted(path, key=lambda place: [order(names[step]) for step in path[place]])
    rows = [(place, _in_room(path[place], names, rooms), turn) for turn, place in enumerate(turns)]
    schema = {"location_id": pl.String, "place": pl.String, "turn_of_place": pl.Int64}
    return pl.DataFrame(rows, schema=schema, orient="row")


def _in_room(path: list[str], names: Mapping[str, str], rooms: Container[str]) -> str:
    """*East Store, room E1: E1-4 shelf 2*."""
    room = next((names[step] for step in path if step in rooms and step != path[-1]), "")
    return f"{room}: {names[path[-1]]}" if room else names[path[-1]]


def _leaving(triage: Triage) -> pl.DataFrame:
    facts = Facts(triage.collection, triage.risk, triage.rates)
    last = pl.lit(facts.as_of).dt.offset_by(f"{facts.rates.lines.before_loan_days}d")
    soon = facts.leaves.filter(c("leaves_on") <= last)
    return soon.select("object_id", leaves=pl.format("{}, {}", day_words("leaves_on"), "loan_id")).collect()


def _short(row: dict[str, Any]) -> str:
    """The first reason without its day and its explanation, in few words."""
    reasons = row["reasons"] or []
    first = reasons[0].split(", seen ")[0] if reasons else NOTHING
    words = first.split()
    return " ".join(words[:MOST_WORDS]) + (" \N{HORIZONTAL ELLIPSIS}" if len(words) > MOST_WORDS else "")
