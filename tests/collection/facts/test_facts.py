"""What rules look at: dates as written, phrases of hazards, traits of the rows of the rates, facts of objects."""

from dataclasses import replace
from datetime import date

import polars as pl
import pytest

from collection.as_of import as_known
from collection.facts.facts import Facts
from collection.facts.traits import FLAGS, first_words, traits
from collection.facts.wording import day_words, with_phrase, written_day
from collection.risk.rates import RatesTable
from schemas.vocabularies import vocabulary
from tests.collection.risk.builders import AS_OF, assessed, check, register, starting_values


def facts_of(worded: bool = True, **records) -> Facts:
    known = as_known(register(**records), AS_OF)
    return Facts(known, assessed(known), RatesTable.of(known), worded=worded)


@pytest.mark.parametrize(
    ("written", "words"),
    [
        ("2026-09-10", "10 September 2026"),
        ("2026-09-01", "1 September 2026"),
        ("1976-09", "September 1976"),
        ("1986", "1986"),
        ("1970s", "1970s"),
        ("1906-1910", "1906-1910"),
        (None, None),
    ],
)
def test_a_date_is_said_as_it_was_written(written, words):
    frame = pl.DataFrame({"on": [written]}, schema={"on": pl.String})

    assert frame.select(written_day("on")).item() == words


def test_a_day_in_words():
    assert pl.DataFrame({"on": [date(2026, 9, 5)]}).select(day_words("on")).item() == "5 September 2026"


@pytest.mark.parametrize(("label", "words"), [("Lifting, tenting", "lifting"), ("Glass disease", "glass disease")])
def test_a_label_within_a_sentence(label, words):
    assert first_words(label) == words


ONE = {"object": [{"object_id": "O"}], "part": [{"object_id": "O", "part": "whole"}]}


def phrases(**records) -> dict[str, str]:
    facts = facts_of(**ONE | records)
    rows = with_phrase(facts.hazards, facts).select("hazard_id", "phrase").collect()
    return dict(rows.iter_rows())


def damaged(activity: str | None, **more):
    return {
        "condition_check": [check("k", "O", **more)],
        "damage": [{"damage_id": "D", "object_id": "O", "part": "whole", "kind": "lifting"}],
        "observation": [{"check_id": "k", "damage_id": "D", "activity": activity}],
    }


@pytest.mark.parametrize(
    ("activity", "more", "words"),
    [
        ("active", {}, "active lifting, seen 1 June 2026"),
        ("stable", {"day": "2024-09-01"}, "stable lifting, seen 1 September 2024"),
        ("unknown", {}, "lifting, not assessed at the check of 1 June 2026"),
        (None, {}, "lifting, not assessed at the check of 1 June 2026"),
        (None, {"look": "remark"}, "lifting noted 1 June 2026, not checked since"),
    ],
)
def test_a_damage_in_words(activity, more, words):
    assert phrases(**damaged(activity, **more)) == {"damage:D": words}


def test_a_repair_is_a_noun_with_the_day_it_was_done():
    records = {
        "condition_check": [check("k", "O")],
        "repair": [
            {"repair_id": "R", "object_id": "O", "part": "whole", "function": "covers", "material": "wax"}
            | {"done_on": "1974"}
        ],
        "repair_state": [{"check_id": "k", "repair_id": "R", "stability": "failing"}],
    }

    assert phrases(**records) == {"repair:R": "wax coating of 1974 is letting go, seen 1 June 2026"}


def test_the_part_is_named_where_it_is_not_the_whole():
    records = damaged("active") | {
        "part": [{"object_id": "O", "part": p, "value_share": 0.5} for p in ("lid", "body")],
        "damage": [{"damage_id": "D", "object_id": "O", "part": "lid", "kind": "lifting"}],
    }

    assert phrases(**records) == {"damage:D": "active lifting on the lid, seen 1 June 2026"}


def test_nothing_is_worded_where_only_classes_are_asked():
    facts = facts_of(worded=False, **ONE | damaged("active"))

    assert with_phrase(facts.hazards, facts).collect()["phrase"].to_list() == [""]


def test_every_row_of_the_rates_has_its_traits_once():
    rates = starting_values()
    rows = traits(rates)

    assert rows["rate_row"].to_list() == rates.rows["rate_row"].to_list()
    assert rows.select(FLAGS).null_count().sum_horizontal().item() == 0


def test_traits_are_those_of_the_terms():
    rates = starting_values()
    rows = traits(rates).join(rates.rows.select("rate_row", "term", "state", "source"), on="rate_row")
    damage = rows.filter(pl.col("source") == "damage")

    moving = set(vocabulary("activity").terms_where("moving"))
    assert set(damage.filter("moving")["state"]) == moving
    assert set(damage.filter("lifts")["term"]) == set(vocabulary("damage").terms_where("lifts"))
    repairs = rows.filter(pl.col("source") == "repair")
    assert set(repairs.filter("does_harm")["state"]) == set(vocabulary("stability").terms_where("does_harm"))


def test_what_is_fast_hangs_on_the_museums_line():
    """A kind whose moving row says at most so many years; with a line of no years nothing is fast."""
    rates = starting_values()
    fast = traits(rates).filter("fast")["rate_row"].to_list()
    none = replace(rates, lines=rates.lines.model_copy(update={"fast_kind_years": 0.0001}))
    years = rates.rows.filter(pl.col("rate_row").is_in(fast))["moving_years"]

    assert years.max() <= rates.lines.fast_kind_years
    assert traits(none)["fast"].sum() == 0


def test_the_next_leg_of_the_first_loan_counts():
    facts = facts_of(
        **ONE,
        loan=[{"loan_id": n, "direction": "out"} for n in "XY"],
        loan_leg=[
            {"loan_id": "X", "leg": 1, "starts_on": date(2026, 10, 1)},
            {"loan_id": "X", "leg": 2, "starts_on": date(2027, 3, 1)},
            {"loan_id": "Y", "leg": 1, "starts_on": date(2027, 2, 1)},
        ],
        loan_object=[{"loan_id": n, "object_id": "O", "part": "whole"} for n in "XY"],
    )

    assert facts.leaves.collect().rows() == [("O", "Y", date(2027, 2, 1), True)]


@pytest.mark.parametrize(
    ("visit", "moved", "shown"),
    [("through_glass", None, True), ("through_glass", date(2026, 7, 1), False), ("examined", None, False)],
)
def test_on_display_as_last_seen_through_its_glass_and_not_moved_since(visit, moved, shown):
    moves = [{"move_id": "m", "object_id": "O", "moved_on": moved}] if moved else []
    facts = facts_of(**ONE, condition_check=[check("k", "O", visit=visit)], move=moves)

    assert facts.objects.collect()["on_display"].to_list() == [shown]


def test_objects_not_asked_for_are_left_out():
    facts = facts_of(object=[{"object_id": "O"}, {"object_id": "P"}])

    assert replace(facts, only=("P",), cached={}).objects.collect()["object_id"].to_list() == ["P"]


def test_a_label_within_a_sentence_leaves_names_as_they_are():
    assert first_words("Acrylic of the Paraloid B-72 class") == "acrylic of the Paraloid B-72 class"
    assert first_words("Pitch, lac") == "pitch"


def test_a_coating_of_coating_wax_is_no_coating_coating():
    facts = facts_of(
        object=[{"object_id": "O"}],
        condition_check=[check("C", "O")],
        repair=[{"repair_id": "R", "object_id": "O", "part": "whole", "function": "covers", "material": "coating_wax"}],
        repair_state=[{"check_id": "C", "repair_id": "R", "stability": "failing"}],
    )

    assert with_phrase(facts.hazards, facts).collect()["phrase"].item().startswith("wax coating is letting go")
