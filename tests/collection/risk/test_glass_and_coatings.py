"""How far decay of the glass and harm under a coating reach, on an object of 10,000 mm².

Worked by hand from the rules of the design; factors (5 times, 5 11 25 %) are those of the value files: judgement.
"""

import pytest

from tests.collection.risk.builders import assessed, check, register


def glass(kind="weeping", unstable_share=None, lost=None, **line):
    """The hazard of one damage of the glass; `lost` is the area of a loss on the same part [mm²]."""
    damage = [("d", kind)] + ([("l", "loss")] if lost else [])
    lines = [{"damage_id": "d", "activity": "active", **line}]
    lines += [{"damage_id": "l", "activity": "stable", "area_mm2": lost}] if lost else []
    collection = register(
        object=[{"object_id": "O", "enamel_area_mm2": 10_000.0, "unstable_share": unstable_share}],
        part=[{"object_id": "O", "part": "whole"}],
        condition_check=[check("k", "O")],
        damage=[{"damage_id": d, "object_id": "O", "part": "whole", "kind": k} for d, k in damage],
        observation=[{"check_id": "k", **its} for its in lines],
    )
    return next(row for row in assessed(collection).hazards.to_dicts() if row["term"] == kind)


def test_decay_reaches_five_times_the_area_where_it_shows():
    row = glass(area_mm2=400.0)

    assert row["affected_share"] == pytest.approx(0.2)
    assert row["extent_basis"] == "assumed"


def test_the_limits_of_decay_are_five_times_those_of_the_area_where_it_shows():
    """An area measured is right within a factor of 1.25 (lines.toml, judgement)."""
    row = glass(area_mm2=400.0)

    assert (row["affected_low"], row["affected_high"]) == pytest.approx((5 * 0.04 / 1.25, 5 * 0.04 * 1.25))


def test_decay_reaches_all_of_the_same_glass_where_somebody_wrote_its_share():
    row = glass(area_mm2=400.0, unstable_share=0.35)

    assert row["affected_share"] == pytest.approx(0.35)
    assert (row["affected_low"], row["affected_high"]) == pytest.approx((0.35 / 1.25, 0.35 * 1.25))
    assert row["extent_basis"] == "measured"


def test_decay_never_reaches_more_than_is_left():
    """5 x 0.3 is more than all; a loss of 6,000 mm² leaves 0.4."""
    assert glass(area_mm2=3000.0)["affected_share"] == 1
    assert glass(area_mm2=3000.0, lost=6000.0)["affected_share"] == pytest.approx(0.4)


def test_lifting_is_of_its_spot_alone():
    row = glass(kind="lifting", area_mm2=400.0, unstable_share=0.35)

    assert (row["affected_share"], row["extent_basis"]) == (0.04, "measured")


def coat(stability, damage=(), function="covers", **state):
    """The hazard of a coating of 4,000 mm², with damage (kind, area) on the same part."""
    collection = register(
        object=[{"object_id": "O", "enamel_area_mm2": 10_000.0}],
        part=[{"object_id": "O", "part": "whole"}],
        condition_check=[check("k", "O")],
        damage=[{"damage_id": f"d{n}", "object_id": "O", "part": "whole", "kind": k} for n, (k, _) in enumerate(damage)],
        observation=[
            {"check_id": "k", "damage_id": f"d{n}", "activity": "active", "area_mm2": a} for n, (_, a) in enumerate(damage)
        ],
        repair=[
            {"repair_id": "r", "object_id": "O", "part": "whole", "function": function, "material": "wax"}
            | {"area_mm2": 4000.0}
        ],
        repair_state=[{"check_id": "k", "repair_id": "r", "stability": stability, **state}],
    )  # fmt: skip
    return next(row for row in assessed(collection).hazards.to_dicts() if row["source"] == "repair")


@pytest.mark.parametrize("stability", ["harmful", "failing", "failed"])
@pytest.mark.parametrize(
    ("state", "damage", "share", "basis"),
    [
        ({"harmed_mm2": 600.0, "harmed_band": "over_50"}, (), 0.06, "measured"),  # its own harmed area first
        ({"harmed_band": "from_5_to_25"}, (("lifting", 300.0),), 0.11, "band"),  # then its band
        ({}, (("lifting", 300.0), ("salts", 200.0), ("dent", 9000.0)), 0.03, "band"),  # the largest damage beneath
    ],
    ids=["area", "band", "damage beneath"],
)
def test_a_coating_that_harms_reaches_where_harm_is_seen(stability, state, damage, share, basis):
    row = coat(stability, damage, **state)

    assert row["affected_share"] == pytest.approx(share)
    assert row["extent_basis"] == basis


@pytest.mark.parametrize("stability", ["failing", "failed"])
def test_where_nobody_wrote_where_a_share_of_the_coat_is_assumed(stability):
    """5, 11, 25 % of 0.4; a measured coat is right within 1.25."""
    row = coat(stability)

    low, likely, high = (row[name] for name in ("affected_low", "affected_share", "affected_high"))
    assert (low, likely, high) == pytest.approx((0.4 / 1.25 * 0.05, 0.4 * 0.11, 0.4 * 1.25 * 0.25))
    assert row["extent_basis"] == "assumed"


@pytest.mark.parametrize("stability", ["sound", "ageing", "unknown"])
def test_a_coating_that_does_its_work_lies_as_far_as_it_lies(stability):
    assert coat(stability, (("lifting", 300.0),))["affected_share"] == pytest.approx(0.4)


def test_harmful_without_any_extent_counts_as_failing_and_says_what_was_recorded():
    without, with_area = coat("harmful"), coat("harmful", harmed_mm2=100.0)

    assert (without["state"], without["recorded_state"]) == ("failing", "harmful")
    assert without["loss_depth"] == 0.01
    assert (with_area["state"], with_area["recorded_state"]) == ("harmful", "harmful")
    assert with_area["loss_depth"] == 0.1


@pytest.mark.parametrize("more", [{"harms": "D9"}, {"harmed_band": "under_0_1"}, {"harmed_mm2": 1.0}])
def test_any_extent_lets_a_harmful_repair_be_harmful(more):
    assert coat("harmful", **more)["state"] == "harmful"


@pytest.mark.parametrize(
    ("stability", "depth"), [("known_unstable", 0.03), ("suspected", 0.03), ("no_sign", 0.01), (None, 0.01)]
)
def test_a_coating_nobody_assessed_hides_weeping_where_the_glass_is_unstable(stability, depth):
    collection = register(
        object=[{"object_id": "O", "glass_stability": stability}],
        repair=[{"repair_id": "r", "object_id": "O", "part": "whole", "function": "covers", "material": "wax"}],
    )

    row = assessed(collection).hazards.row(0, named=True)

    assert (row["state"], row["years_likely"], row["loss_depth"]) == ("unknown", 30, depth)
