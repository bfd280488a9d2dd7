"""What a report says on purpose: verdict first, conflicts, releases, unstable glass, loans in, stages, sides to draw on."""

from datetime import date

import polars as pl
import pytest

from collection.documents.words import words
from collection.snapshot import Collection
from schemas.terms import ObjectType
from schemas.vocabularies import terms
from tests.collection.documents.builders import DAY, at, frame, small_collection
from tests.collection.documents.papers import report_of
from tests.collection.documents.read_back import block, facts, printed
from tests.collection.risk.builders import triaged


@pytest.fixture(scope="module")
def written():
    """The report of V.1 with some records changed: columns of a record, or further rows of one; each once."""
    small, known, triages = small_collection(), {}, {}

    def write(**asked):
        if (key := repr(asked)) not in known:
            known[key] = written_anew(**asked)
        return known[key]

    def written_anew(*, short=False, state="outgoing", more=None, **columns):
        frames = dict(small)
        for record, values in columns.items():
            frames[record] = frames[record].with_columns(**{n: pl.lit(v) for n, v in values.items()})
        for record, rows in (more or {}).items():
            added = frame(record, *rows)
            frames[record] = pl.concat([frames[record], added], how="diagonal") if record in frames else added
        key = repr((more, columns))
        if key not in triages:
            triages[key] = triaged(Collection.of(frames), DAY)
        return report_of(triages[key], short=short, state=state)

    return write


NEEDS = {"target_id": "T", "object_id": "V.1", "rh_low": 42.0, "rh_high": 46.0, "reason": "weeps", "set_by": "Odo Ferrant",
         "set_on": date(2024, 5, 1)}  # fmt: skip


@pytest.mark.parametrize("short", [False, True])
def test_the_verdict_is_the_first_block_with_the_numbers_of_the_tables(written, short):
    document = written(short=short)
    first, condition = document.blocks[0], block(document, "condition")
    (lifting,) = (row["no"] for row in condition.rows if row["what"].startswith("Lifting"))

    assert (first.kind, first.rows[0]["label"]) == ("verdict", "NOT TO BE PACKED AS RECORDED")
    assert f"{lifting}: active lifting, seen 20 September 2026" in [row.get("text") for row in first.rows]
    assert dict(zip(("no", "journey"), (lifting, "not to travel"), strict=True)).items() <= condition.rows[0].items()


def test_what_is_fit_says_so_and_asks_for_no_release(written):
    document = written(
        observation={"activity": "stable"}, danger_to_people={"agent": "lead", "made_safe_on": date(2026, 1, 1)},
        damage={"kind": "loss"},
    )  # fmt: skip

    assert document.blocks[0].rows == ({"label": "Fit to travel", "tone": "fit"},)
    assert document.blocks[1].title == words()["title"]["dangers"]


def test_conditions_are_printed_with_what_they_ask_for(written):
    document = written(
        observation={"activity": "stable"}, danger_to_people={"agent": "lead", "made_safe_on": date(2026, 1, 1)}
    )
    label, *reasons = document.blocks[0].rows

    assert label["label"] == "Fit with these conditions"
    assert [row["text"].split(": ", 2)[2][:35] for row in reasons] == ["level on a rigid padded tray in a c"]


def test_a_conflict_that_no_case_bridges_is_printed_as_one(written):
    document = written(more={"target": [NEEDS]})
    humidity = block(document, "limits").rows[0]

    assert humidity == {
        "quantity": "Relative humidity", "agreed": "40 to 50 %", "needs": "42 to 46 %",
        "reason": "weeps, Odo Ferrant, 1 May 2024", "fits": "CONFLICT, not bridged",
    }  # fmt: skip
    assert "Relative humidity: agreed 40 to 50 %, it needs 42 to 46 %" in printed(document)


def test_a_conflict_that_a_case_holds_is_a_condition(written):
    document = written(more={"target": [NEEDS]}, loan_object={"case_need": "sealed, 44 %"})

    assert block(document, "limits").rows[0]["fits"] == "only in the case agreed"
    assert "the case agreed is ready and measured before it is opened" in printed(document)


def test_an_agent_is_released_for_this_loan_by_name_and_day(written):
    held = written()
    released = written(
        danger_to_people={"basis": "tested", "cleared_to_travel_on": date(2026, 9, 20), "cleared_by": "N. Adviser"}
    )

    assert "DOES NOT TRAVEL without a written release" in block(held, "dangers").rows[0]["caution"]
    assert "DOES NOT TRAVEL" not in printed(released)
    assert "released to travel on 20 September 2026 by N. Adviser" in block(released, "dangers").rows[0]["basis"]


@pytest.mark.parametrize(
    ("measured", "unit", "reads"), [(9.0, "pH", "measured pH 9 on"), (0.2, "µSv/h", "measured 0.2 µSv/h on")]
)
def test_a_scale_stands_before_its_figure_and_a_unit_after(written, measured, unit, reads):
    """pH is written before its figure (common practice, no source), units after theirs (SI brochure, 9th ed., 5.4.3)."""
    document = written(danger_to_people={"basis": "tested", "measured": measured, "unit": unit})

    assert reads in block(document, "dangers").rows[0]["basis"]


def test_a_release_of_an_earlier_loan_does_not_count(written):
    document = written(
        danger_to_people={"cleared_to_travel_on": date(2026, 1, 20), "cleared_by": "N. Adviser"},
        loan={"asked_on": date(2026, 6, 1)},
    )

    assert "DOES NOT TRAVEL without a written release" in block(document, "dangers").rows[0]["caution"]


def test_unstable_glass_without_a_target_does_not_travel(written):
    unstable = {"glass_stability": "known_unstable"}
    without, held = written(object=unstable), written(object=unstable, more={"target": [NEEDS]})

    assert words()["text"]["no_target"]["text"] in printed(without)
    assert "Unstable glass, and no conservator has set the climate it needs" in printed(without)
    assert words()["text"]["no_target"]["text"] not in printed(held)


def test_of_a_loan_in_the_roles_are_swapped_and_the_owner_is_telephoned_first(written):
    numbers = {"lender_contact": "+11 owner", "borrower_contact": "+22 house", "emergency_contact": None}
    signed = {"state": "outgoing", "person_theirs": "R. Owner", "signed_theirs_on": at("2026-09-01T09:00")}
    document = written(loan={"direction": "in", **numbers}, loan_state=signed)
    telephones = [b for b in document.blocks if b.rows and b.rows[0].get("key") == "lender_number"]
    lender, borrower = block(document, "sign").rows

    assert (facts(document, "check")["lender"], facts(document, "check")["borrower"]) == (
        "House of Glass",
        "Museum of Fire",
    )
    assert [row["text"] for row in telephones[0].rows] == ["+11 owner", "not recorded", "+22 house"]
    assert (lender["label"], borrower["label"]) == ("For House of Glass", "For Museum of Fire")
    assert lender["text"].startswith("R. Owner, 1 September 2026, 09:00")
    assert borrower["text"].startswith("Odo Ferrant")


@pytest.mark.parametrize("venues", [1, 2, 3])
def test_each_venue_has_two_stages_to_sign_and_the_way_back_one(written, venues):
    legs = [
        {"loan_id": "L1", "leg": n, "venue": f"Town {n}", "starts_on": date(2027, n, 1), "ends_on": date(2027, n, 20)}
        for n in range(2, venues + 1)
    ]
    document = written(more={"loan_leg": legs} if legs else None)
    stages = [b.rows[0]["label"] for b in document.blocks if b.kind == "entry"]

    assert len(stages) == 2 * venues + 1
    assert stages[0] == f"Stage 1 of {len(stages)}: incoming, Glasstown"
    assert stages[-1] == f"Stage {len(stages)} of {len(stages)}: return"
    assert len([b for b in written(short=True).blocks if b.kind == "entry"]) == 1


SIDES = {
    "flat_sheet": ["Front", "Reverse"],
    "open_round": ["Top", "Underside"],
    "tall_round": ["Front", "Left", "Reverse", "Right", "Top", "Underside"],
    "boxed": ["Top", "Front", "Left", "Reverse", "Right", "Underside"],
}


@pytest.mark.parametrize("shape", SIDES)
def test_a_side_without_a_photograph_is_drawn_by_the_shape_of_the_object(written, shape):
    kind = next(key for key, its in terms("object_type", ObjectType).items() if its.shape == shape)
    drawn = [b for b in written(object={"object_type": kind}).blocks if b.kind == "outlines"]

    assert [row["caption"] for row in drawn[0].rows if "drawn" in row] == SIDES[shape]


def test_a_side_that_was_photographed_is_not_drawn(written):
    photo = {"photo_id": "a" * 64, "object_id": "V.1", "view": "front", "taken_on": "2026-09-20"}
    drawn = [b for b in written(more={"photo": [photo]}).blocks if b.kind == "outlines"]

    assert [row["caption"] for row in drawn[0].rows if "drawn" in row] == ["Reverse"]


def test_the_examiner_stands_by_name_and_qualification(written):
    person = {"person_id": "P9", "name": "Ida Brenner", "qualification": "MA conservation"}
    document = written(more={"person": [person]}, condition_check={"examiner": "P9", "witness": "Odo Ferrant"})

    assert facts(document, "check")["examiner"] == "Ida Brenner, MA conservation"
    assert facts(document, "check")["witness"] == "Odo Ferrant"


def lent(number, status, first, last, **more):
    return {
        "loan": [{"loan_id": number, "direction": "out", "borrower": f"House {number}", "status": status} | more],
        "loan_leg": [{"loan_id": number, "leg": 1, "venue": "X", "starts_on": first, "ends_on": last}],
        "loan_object": [{"loan_id": number, "object_id": "V.1", "part": "whole", "rh_high": 61.0}],
    }


@pytest.mark.parametrize(
    ("other", "expected", "humidity"),
    [
        (lent("L0", "refused", date(2026, 10, 1), date(2027, 1, 1)), "L1", "40 to 50 %"),
        (lent("L0", "lent", date(2026, 5, 1), date(2026, 12, 1)), "L0", "at most 61 %"),
        (lent("L0", "asked_for", date(2026, 10, 1), date(2027, 1, 1)), "L1", "40 to 50 %"),
        (lent("L0", "promised", date(2026, 10, 1), date(2027, 1, 1)), "L0", "at most 61 %"),
    ],
    ids=["refused", "under way", "only asked for", "promised, sooner"],
)
def test_loan_limits_and_verdict_are_of_one_loan(written, other, expected, humidity):
    document = written(more=other)

    assert facts(document, "check")["loan"] == expected
    assert block(document, "limits").rows[0]["agreed"] == humidity
