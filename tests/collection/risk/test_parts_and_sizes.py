"""Areas and parts: what stands across a round thing, what an edge's error is, whose the damage of the whole is."""

import math

import pytest

from tests.collection.risk.builders import assessed, check, register

LID_AND_BOX = [
    {"object_id": "O", "part": "lid", "part_kind": "enamel", "value_share": 0.6},
    {"object_id": "O", "part": "box", "part_kind": "enamel", "value_share": 0.4},
]


def hazards(observation, kind="lifting", part="whole", parts=(), **size):
    collection = register(
        object=[{"object_id": "O", **(size or {"height_mm": 100.0, "width_mm": 80.0})}],
        part=list(parts) or [{"object_id": "O", "part": "whole"}],
        condition_check=[check("k", "O")],
        damage=[{"damage_id": "d", "object_id": "O", "part": part, "kind": kind}],
        observation=[{"check_id": "k", "damage_id": "d", "activity": "active", **observation}],
    )
    return assessed(collection).hazards.sort("part")


@pytest.mark.parametrize(
    "size",
    [
        {"height_mm": 238.0, "width_mm": 32.0},  # as an inch catalogue has it: 9 3/8 x 1 1/4
        {"width_mm": 238.0, "height_mm": 32.0},
        {"diameter_mm": 238.0, "height_mm": 32.0},
    ],
)
def test_the_largest_measure_of_a_dish_is_its_diameter(size):
    """Enamel of an open round thing: pi d squared / 2 (the design's rule; 89,000 mm2 for 238 mm)."""
    rows = hazards({"area_mm2": 890.0}, object_type="dish", **size)

    assert rows["affected_share"].item() == pytest.approx(890 / (math.pi * 238**2 / 2))


def test_the_error_of_an_edge_grows_with_the_root_of_that_of_the_area():
    """A chip of 100 mm2 with an error of 20: the area is right within 1 + 1.64485 x 0.2, its edge within the root."""
    observation = {"area_mm2": 100.0, "measurement_error": 20.0}
    chip, lifting = (hazards(observation, kind=kind, enamel_area_mm2=8000.0) for kind in ("chip", "lifting"))
    widths = [(rows["affected_high"] / rows["affected_share"]).item() for rows in (chip, lifting)]

    assert widths[1] == pytest.approx(1 + 1.64485 * 0.2)
    assert widths[0] == pytest.approx(math.sqrt(widths[1]))


def test_named_parts_leave_no_share_for_the_whole():
    rows = hazards({"area_mm2": 80.0}, part="lid", parts=[*LID_AND_BOX, {"object_id": "O", "part": "whole"}])

    assert rows.select("part", "part_share").rows() == [("lid", 0.6)]


def test_damage_of_the_whole_is_on_each_part_that_carries_enamel_by_its_area_on_the_object():
    frame = {"object_id": "O", "part": "frame", "part_kind": "frame", "value_share": 0.0}
    rows = hazards({"area_mm2": 800.0}, parts=[*LID_AND_BOX, frame])

    assert rows.select("part", "part_share").rows() == [("box", 0.4), ("lid", 0.6)]
    assert rows["affected_share"].to_list() == pytest.approx([0.1, 0.1])
    assert rows["hazard_id"].unique().to_list() == ["damage:d"]


def test_a_part_cut_in_two_of_the_same_kind_changes_nothing_for_damage_of_the_whole():
    one = [{"object_id": "O", "part": "whole"}]
    two = [{"object_id": "O", "part": p, "part_kind": "enamel"} for p in ("left", "right")]
    losses = [1 - math.exp(rows["log_kept"].sum()) if rows.height == 1 else None for rows in
              (hazards({"area_mm2": 800.0}, parts=one),)]  # fmt: skip
    split = hazards({"area_mm2": 800.0}, parts=two)

    assert (split["part_share"] * (1 - split["log_kept"].exp())).sum() == pytest.approx(losses[0])
