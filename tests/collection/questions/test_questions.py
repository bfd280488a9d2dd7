"""Questions asked of four objects, worked by hand (see conftest)."""

import polars as pl
import pytest
from polars.testing import assert_frame_equal

from collection.as_of import as_known
from collection.attention.classify import attention
from collection.questions import backlog, condition, places, ranking, where_lost, words
from collection.questions.selection import Selection, asked_words, select, unknown_values
from collection.questions.triage import Triage, classes_in_order, in_order
from collection.risk.rates import RatesTable
from schemas.vocabularies import vocabulary
from tests.collection.risk.builders import AS_OF, assessed, check, register


@pytest.fixture
def in_rank_order(monkeypatch):
    """Reasons need the whole risk model; what they are does not matter here."""
    monkeypatch.setattr(
        "collection.questions.triage.reasons",
        lambda classes, *_: classes.select(
            "object_id", "attention", reason=pl.lit("because"), step=pl.lit("look"), step_no=pl.lit(0)
        ),
    )
    monkeypatch.setattr(
        "collection.questions.ranking.heed", lambda _: pl.DataFrame(schema={"object_id": pl.String, "heed": pl.String})
    )


def test_rooms_hold_what_lies_in_them_and_the_building_what_lies_in_none(made):
    found = made()

    told = where_lost.by_location(found, found.objects)

    # Room 1: 0.5 x 0.1 + 0.25 x 0.01; Room 2: 0.125 x 0.02; House: never checked, 0.125 x 0.04.
    assert told["name"].to_list() == ["Room 1", "House, no closer place", "Room 2"]
    assert told["expected_loss"].to_list() == pytest.approx([0.0525, 0.0, 0.0025])
    assert told["not_checked"].to_list() == pytest.approx([0.0, 0.005, 0.0])
    assert told["damage"].to_list() == pytest.approx([0.05, 0.0, 0.0025])
    assert told["repairs"].to_list() == pytest.approx([0.0025, 0.0, 0.0])
    assert told["objects"].sum() == 4


def test_one_step_down_shows_the_unit_then_the_shelf_with_the_same_sum(made):
    found = made()

    unit, shelf = (where_lost.by_location(found, found.objects, p) for p in ("R1", "U1"))

    assert unit["name"].to_list() == ["Unit"]
    assert shelf["name"].to_list() == ["Shelf"]
    assert unit["expected_loss"].to_list() == pytest.approx(shelf["expected_loss"].to_list())


def test_at_the_last_step_objects_stand_for_the_place_itself(made):
    found = made()

    assert where_lost.by_location(found, found.objects, "S1")["objects"].to_list() == [2]


def test_a_repair_is_no_damage(made):
    found = made()

    told = condition.by_group(found, found.objects, "base_metal")

    # Seen: A and B of copper, C of silver. B has a repair only.
    expected = pl.DataFrame(
        {"group": ["Copper", "Silver"], "seen": [2, 1], "damaged": [1, 1], "share_damaged": [0.5, 1.0]},
        schema=condition.BY_GROUP,
    )
    assert_frame_equal(told, expected)
    assert condition.sentence(found, found.objects) == (
        "2 of the 3 objects checked show damage, most of it old and still; in 1 something moves."
    )


def test_a_century_begins_with_its_first_year(made):
    found = made()

    told = condition.by_group(found, found.objects, "period")

    assert dict(told.select("group", "seen").iter_rows()) == {"1701 to 1800": 2, "1801 to 1900": 1}


def test_a_filter_changes_no_figure(made):
    found = made()
    chosen = select(found, Selection.of(location_id="R1"))

    whole = where_lost.by_location(found, found.objects)
    some = where_lost.by_location(found, chosen)

    assert_frame_equal(some, whole.filter(pl.col("name") == "Room 1"))


OPTIONS = pl.DataFrame(
    {
        "option_id": ["O1", "O2", "O3", "O4"],
        "object_id": ["A", "A", "C", "B"],
        "status": ["open", "accepted", "open", "done"],
        "hours_low": [8.0, 2.0, None, 1.0],
        "hours_likely": [10.0, 4.0, None, 1.0],
        "hours_high": [20.0, 6.0, None, 1.0],
    }
)


def test_alternatives_count_once_and_no_hours_are_not_none(made):
    found = made(option=OPTIONS)

    told = backlog.backlog(found, found.objects).filter(pl.col("objects") > 0)

    assert told["objects"].to_list() == [1, 1]
    assert told["hours_likely"].to_list() == [None, 4.0]
    assert told["no_hours"].to_list() == [1, 0]
    assert "1 has no estimate yet" in backlog.backlog_sentence(found, told)


def setting(hours):
    return pl.DataFrame({"name": ["hours_a_week"], "value": [hours]})


@pytest.mark.parametrize(
    ("hours", "says"),
    [
        (
            "1",
            "Treating the one that has an estimate takes about 4 hours; 1 of them fits into a year of 1 hour a week.",
        ),
        ("0.05", "0 of them fit into a year of 0.05 hours a week."),  # 2.6 hours a year, 4 are needed
        ("some", "hours a week are not set"),
        ("-1", "hours a week are not set"),
        ("nan", "hours a week are not set"),
        ("inf", "hours a week are not set"),
    ],
)
def test_the_answer_says_how_far_the_hours_go(made, in_rank_order, hours, says):
    found = made(option=OPTIONS, setting=setting(hours))
    listed = ranking.ranking(found, found.objects)

    assert ranking.answer(found, listed) == (
        "2 objects need attention now: 1 to secure; 1 to move, or whose place is to be mended."
    )
    assert says in ranking.hours_sentence(found, listed)


def test_what_cannot_wait_comes_first_in_the_order_of_its_classes(made, in_rank_order):
    found = made(option=OPTIONS, setting=setting("1"))

    told = ranking.ranking(found, found.objects)

    assert told["object_id"].to_list() == ["C", "A", "D", "B"]
    assert told["reach"].to_list() == [ranking.NO_HOURS, ranking.REACHED, ranking.NO_HOURS, ranking.NO_HOURS]


def test_lists_go_by_class_then_turn_then_loss_then_what_may_be_lost_unseen_then_number():
    """Each line differs from the one before in one thing; places would have most of them the other way."""
    first, second, third = classes_in_order()[:3]
    seen, loss = AS_OF, 0.25
    lines = [
        ("I", first, 0, loss, None, seen),
        ("H", first, 1, loss, None, seen),
        ("G", second, 0, loss, None, seen),
        ("F", second, 0, loss / 2, None, seen),
        ("E", second, 0, 0.0, None, seen),
        ("D", third, 0, 0.0, loss, None),  # nobody has checked it: what may be lost there counts, and first
        ("C", third, 0, loss, None, seen),
        ("A", third, 0, 0.0, None, seen),  # alike but for the number
        ("B", third, 0, 0.0, None, seen),
    ]
    names = ["object_id", "attention", "turn", "collection_loss", "unchecked_loss", "last_checked_on"]
    frame = pl.DataFrame(lines, schema=names, orient="row").with_columns(
        value_share=pl.lit(1.0), location_id="object_id"
    )

    ordered = in_order(frame.reverse())["object_id"].to_list()

    assert ordered == [line[0] for line in lines], "an order that is meant is told here and under in_order"


@pytest.mark.parametrize(
    "selection",
    [
        Selection(),
        Selection.of(
            location_id="R1",
            technique=("cloisonne", "champleve"),
            base_metal="copper",
            attention="monitor",
            find="Box & = ~ ? ü",
            checked="no",
        ),
        Selection.of(find="a~b"),
    ],
)
def test_an_address_and_a_selection_undo_each_other(selection):
    assert Selection.of_query(selection.to_query()) == selection


def test_a_narrower_term_is_found_under_its_broader_one_and_two_filters_narrow_twice(made):
    found = made()

    assert select(found, Selection.of(technique=("cloisonne",)))["object_id"].to_list() == ["A", "D"]
    assert select(found, Selection.of(technique=("cloisonne",), base_metal=("copper",)))["object_id"].to_list() == ["A"]


def test_what_was_asked_is_told_and_what_is_unknown_too(made):
    found = made()
    asked = Selection.of(location_id="R1", technique=("cloisonne", "knitting"), find="x")

    assert asked_words(found, asked) == "\u201cx\u201d; Room 1; Cloisonné"
    assert unknown_values(found, asked) == ["'knitting' is no technique the register knows"]


def test_places_that_lie_in_each_other_end(made):
    loop = pl.DataFrame({"location_id": ["a", "b"], "within": ["b", "a"], "name": [None, None]})

    assert places.tree(loop) == ["a", "b"]
    assert places.above({"a": "b", "b": "a"}, "a") == ["b"]
    assert set(places.path_name(loop)) == {"a", "b"}


def test_sentences_of_coverage():
    assert words.rest_sentence({"objects": 1000, "checked": 400, "not_checked": 600}) == (
        "400 of 1,000 objects have been checked; what follows is about the other 600."
    )


def test_what_is_no_longer_here_adds_nothing_to_what_the_rest_is_worth():
    """Two boxes with the same crack lose the same worth whether or not a third, given back long ago, has a record."""
    (away, *_) = vocabulary("object_status").terms_where("away")
    here = [{"object_id": n, "value_points": 3.0} for n in "AB"]

    worth = []
    for objects in (here, [*here, {"object_id": "C", "value_points": 30.0, "status": away}]):
        collection = register(
            object=objects,
            condition_check=[check("k", "A")],
            damage=[{"damage_id": "d", "object_id": "A", "part": "whole", "kind": "crack"}],
            observation=[{"check_id": "k", "damage_id": "d", "activity": "active"}],
        )
        risk, known, rates = assessed(collection), as_known(collection, AS_OF), RatesTable.of(collection)
        triage = Triage(known, risk, rates, attention(risk, known, rates))
        worth.append(where_lost.by_location(triage, triage.objects)["expected_loss"].sum())

    assert worth[0] > 0
    assert worth[1] == pytest.approx(worth[0])
