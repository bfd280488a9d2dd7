"""What comes before anything else about an object, and rows of the list that are one thing to do."""

from datetime import date

import polars as pl
import pytest

from collection.questions import ranking
from collection.questions.act_now import groups, together
from collection.questions.cautions import DANGER_SIGN, heed
from tests.collection.risk.builders import check, register, triaged

# AS_OF of the builders is 1 November 2026; a loan counts within 180 days, up to 30 April 2027.
LOANS = {
    "loan": [{"loan_id": f"LN{n}", "direction": "out"} for n in range(4)],
    "loan_leg": [
        {"loan_id": "LN0", "leg": 1, "starts_on": date(2026, 11, 16)},
        {"loan_id": "LN0", "leg": 2, "starts_on": date(2027, 2, 1)},
        {"loan_id": "LN1", "leg": 1, "starts_on": date(2027, 4, 30)},
        {"loan_id": "LN2", "leg": 1, "starts_on": date(2027, 5, 1)},
        {"loan_id": "LN3", "leg": 1, "starts_on": date(2026, 10, 1)},
    ],
}


def heeded(objects: tuple[str, ...] = ("O",), **records) -> dict[str, str]:
    rows = heed(triaged(register(object=[{"object_id": o} for o in objects], **records)))
    return dict(rows.iter_rows())


def danger(agent: str, **more):
    return {"object_id": "O", "part": "whole", "agent": agent, "basis": "presumed", **more}


def test_a_danger_has_sign_word_and_whom_to_ask_then_the_orders_then_the_loan():
    words = heeded(
        danger_to_people=[danger("uranium", precautions="gloves; lid shut"), danger("lead")],
        loan_object=[{"loan_id": "LN0", "object_id": "O", "part": "whole"}],
        **LOANS,
    )

    assert words == {
        "O": f"{DANGER_SIGN} danger to people: lead (ask the occupational hygienist);"
        f" {DANGER_SIGN} danger to people: uranium (ask the radiation adviser);"
        " the house ordered: gloves; lid shut; leaves 16 November 2026 for LN0"
    }


@pytest.mark.parametrize(
    ("loan", "words"),
    [
        ("LN1", {"O": "leaves 30 April 2027 for LN1"}),  # the 180th day
        ("LN2", {}),  # a day later
        ("LN3", {}),  # it has left
    ],
)
def test_a_loan_counts_to_the_180th_day(loan, words):
    assert heeded(loan_object=[{"loan_id": loan, "object_id": "O", "part": "whole"}], **LOANS) == words


def test_an_order_that_stands_with_two_agents_is_said_once():
    both = heeded(danger_to_people=[danger("lead", precautions="gloves"), danger("uranium", precautions="gloves")])

    assert both["O"].count("the house ordered: gloves") == 1


def test_what_nothing_comes_before_has_no_row():
    assert heeded(("O", "P"), danger_to_people=[danger("lead")]).keys() == {"O"}


def campaigns() -> dict[str, list[dict[str, object]]]:
    """Four dishes with a harmful coating, three of one campaign; two objects under one drip."""
    coated = [("A", "1974", "polyurethane"), ("B", "1974", "polyurethane"), ("C", "1974", "wax"), ("D", "1981", "wax")]
    return {
        "object": [
            {"object_id": o, "location_id": "drip" if o in "EF" else "dry", "enamel_area_mm2": 9000.0}
            for o in "ABCDEFG"
        ],
        "part": [{"object_id": o, "part": "whole"} for o in "ABCDEFG"],
        "location": [{"location_id": "drip", "name": "Cellar shelf"}, {"location_id": "dry"}],
        "place_check": [{"location_id": "drip", "seen_on": date(2026, 9, 1), "fault": "dripping"}],
        "condition_check": [check(f"k{o}", o) for o in "ABCDEFG"],
        "repair": [
            {"repair_id": f"R{o}", "object_id": o, "part": "whole", "function": "covers", "material": m, "done_on": on}
            for o, on, m in coated
        ],
        "repair_state": [
            {"check_id": f"k{o}", "repair_id": f"R{o}", "stability": "harmful", "harmed_mm2": 6000.0}
            for o, *_ in coated
        ],
    }


@pytest.fixture(scope="module")
def triage():
    return triaged(register(**campaigns()))


def test_a_fault_and_a_campaign_are_each_one_row(triage):
    rows = together(triage, triage.objects)

    its = {row["words"]: sorted(row["object_ids"]) for row in rows.iter_rows(named=True)}
    assert its == {"Cellar shelf: drips": ["E", "F"], "Polyurethane coating of 1974": ["A", "B"]}
    assert rows["objects"].to_list() == [2, 2]
    assert rows["first_step"].null_count() == 0


def test_only_the_chosen_objects_count(triage):
    some = triage.objects.filter(pl.col("object_id").is_in(["A", "C", "E"]))

    rows = together(triage, some)

    assert rows["words"].to_list() == ["Cellar shelf: drips"]  # a fault is one row even for one object
    assert rows["objects"].to_list() == [1]


def test_each_urgent_object_stands_in_one_group_with_its_first_step(triage):
    listed = ranking.ranking(triage, triage.objects)
    every = list(groups(triage, listed))

    urgent = listed.filter(pl.col("attention").is_in(triage.now))["object_id"].to_list()
    assert sorted(o for g in every for o in g.objects["object_id"]) == sorted(urgent)
    for group in every:
        inside = set(group.objects["object_id"])
        gathered = {o for ids in group.together["object_ids"] for o in ids}
        assert gathered <= inside
        assert set(group.alone["object_id"]) == inside - gathered
        assert group.step
    first_lines = [group.objects["line"].min() for group in every]
    of_class = [group.attention for group in every]
    assert of_class == sorted(of_class, key=list(triage.now).index)
    assert all(
        a < b for a, b, x, y in zip(first_lines, first_lines[1:], of_class, of_class[1:], strict=False) if x == y
    )


def test_the_drip_is_gathered_in_its_group(triage):
    """Two objects under it: one row of one act; none of them stands alone."""
    every = list(groups(triage, ranking.ranking(triage, triage.objects)))
    (group,) = [g for g in every if "E" in g.objects["object_id"].to_list()]

    assert group.together["words"].to_list() == ["Cellar shelf: drips"]
    assert group.alone.is_empty()
