"""Areas nobody wrote: from dimensions, from the museum's own objects of the type, or by the shape of the type."""

import math

import pytest

from tests.collection.risk.builders import assessed, check, register


def asked(object_type, *others, kind="abrasion", **line):
    """The hazard of an object without a size, and its risk row, among others of given type and area."""
    collection = register(
        object=[{"object_id": "O", "object_type": object_type}]
        + [{"object_id": f"P{n}", "object_type": t, "enamel_area_mm2": a} for n, (t, a) in enumerate(others)],
        part=[{"object_id": "O", "part": "whole"}],
        condition_check=[check("k", "O")],
        damage=[{"damage_id": "d", "object_id": "O", "part": "whole", "kind": kind}],
        observation=[{"check_id": "k", "damage_id": "d", "activity": "stable"} | (line or {"area_mm2": 100.0})],
    )
    risk = assessed(collection)
    (row,) = risk.hazards.to_dicts()
    return row, next(its for its in risk.objects.to_dicts() if its["object_id"] == "O")


VASES = tuple(("vase", float(a)) for a in (10_000, 20_000, 60_000, 70_000, 80_000))


def test_the_median_of_five_of_the_type():
    row, risk = asked("vase", *VASES)

    assert row["affected_share"] == pytest.approx(100 / 60_000)
    assert row["area_assumed"]
    assert risk["size_assumed"]


@pytest.mark.parametrize(
    ("object_type", "area"),
    [("vase", 50_000), ("dish", 30_000), ("plaque", 8_000), ("box", 20_000), ("sign", 400_000), ("jewel", 800), (None, 8_000)],
)  # fmt: skip
def test_four_of_the_type_are_too_few_its_shape_is_taken(object_type, area):
    row, _ = asked(object_type, *((object_type, 1000.0) for _ in range(4)))

    assert row["affected_share"] == pytest.approx(100 / area)
    assert row["area_assumed"]


@pytest.mark.parametrize(
    ("size", "factor", "flags"),
    [
        ({"enamel_area_mm2": 8000.0}, 1.25, (False, False)),
        ({"height_mm": 100.0, "width_mm": 80.0}, 1.25 * 3, (True, False)),
        ({}, 1.25 * 10, (False, True)),
    ],
    ids=["recorded", "from dimensions", "not recorded"],
)
def test_how_far_an_area_may_be_off(size, factor, flags):
    """A measured share is right within 1.25; an area from dimensions within 3, one nobody wrote within 10."""
    collection = register(
        object=[{"object_id": "O", "object_type": "plaque", **size}],
        part=[{"object_id": "O", "part": "whole"}],
        condition_check=[check("k", "O")],
        damage=[{"damage_id": "d", "object_id": "O", "part": "whole", "kind": "abrasion"}],
        observation=[{"check_id": "k", "damage_id": "d", "activity": "active", "area_mm2": 80.0}],
    )

    risk = assessed(collection)
    row, whole = risk.hazards.row(0, named=True), risk.objects.row(0, named=True)

    assert row["affected_share"] == pytest.approx(0.01)
    assert row["affected_high"] == pytest.approx(0.01 * factor)
    assert row["affected_low"] == pytest.approx(0.01 / factor)
    assert (row["area_estimated"], row["area_assumed"]) == flags
    assert whole["size_assumed"] == flags[1]


def test_an_area_from_dimensions_with_years_of_1_3_10_is_unsure_by_33_times():
    """The design's 33: years range 10, extent (3 x 1.25) squared; 10 to the root of the sum of both squared logarithms."""
    collection = register(
        object=[{"object_id": "O", "object_type": "plaque", "height_mm": 100.0, "width_mm": 80.0}],
        part=[{"object_id": "O", "part": "whole"}],
        condition_check=[check("k", "O")],
        damage=[{"damage_id": "d", "object_id": "O", "part": "whole", "kind": "blind_lifting"}],
        observation=[{"check_id": "k", "damage_id": "d", "activity": "active", "area_mm2": 80.0}],
    )

    times = assessed(collection).objects["unsure_times"].item()

    assert round(times) == 33
    assert times == pytest.approx(10 ** math.hypot(1, math.log10((3 * 1.25) ** 2)), rel=1e-9)


def test_a_band_needs_no_size():
    row, risk = asked("vase", extent_band="from_1_to_5")

    assert not row["area_assumed"]
    assert not risk["size_assumed"]


def test_a_fragment_loose_in_place_is_a_hazard_of_its_own_area():
    """400 of 8,000 mm²; nobody assessed it: (1, 3, 10) years, all of the piece."""
    collection = register(
        object=[{"object_id": "O", "enamel_area_mm2": 8000.0}],
        part=[{"object_id": "O", "part": "whole"}],
        condition_check=[check("k", "O")],
        fragment=[
            {"fragment_id": "F1", "object_id": "O", "part": "whole", "status": "in_place_loose", "area_mm2": 400.0},
            {"fragment_id": "F2", "object_id": "O", "part": "whole", "status": "kept", "area_mm2": 400.0},
        ],
    )

    (row,) = assessed(collection).hazards.to_dicts()

    assert (row["hazard_id"], row["source"], row["term"]) == ("fragment:F1", "fragment", "fragment_loose")
    assert (row["affected_share"], row["years_likely"], row["loss_depth"]) == pytest.approx((0.05, 3, 1))
    assert row["state_assumed"]


def test_a_fragment_that_a_damage_already_tells_of_is_no_second_hazard():
    collection = register(
        object=[{"object_id": "O"}],
        condition_check=[check("k", "O")],
        damage=[{"damage_id": "d", "object_id": "O", "part": "whole", "kind": "fragment_loose"}],
        observation=[{"check_id": "k", "damage_id": "d", "activity": "active"}],
        fragment=[{"fragment_id": "F1", "object_id": "O", "status": "in_place_loose", "from_damage_id": "d"}],
    )

    assert assessed(collection).hazards["hazard_id"].to_list() == ["damage:d"]


@pytest.mark.parametrize(
    ("later", "hazards"),
    [(None, 1), ("sweep", 1), ("inspection", 0), ("examination", 0)],
)
def test_what_a_remark_says_and_an_inspection_did_not_confirm_makes_no_hazard(later, hazards):
    checks = [check("r", "O", "1986-01-01", look="remark")]
    checks += [check("k", "O", look=later)] if later else []
    collection = register(
        object=[{"object_id": "O"}],
        condition_check=checks,
        damage=[{"damage_id": "d", "object_id": "O", "part": "whole", "kind": "flaking"}],
        observation=[{"check_id": "r", "damage_id": "d", "activity": "unknown"}],
    )

    assert assessed(collection).hazards.height == hazards
