"""Quiet years speak: a hazard seen again and again, unchanged, is slower than its row of the rates says.

Check values are the design's: (1, 3, 10) after 9.4 quiet years x 0.405777, after 3 x 0.639612; (3, 10, 30) after 5
x 0.738298. Days are whole, so years miss by a day at most.
"""

from datetime import date, timedelta

import pytest

from tests.collection.risk.builders import assessed, check, register

LAST = date(2026, 6, 1)
A_DAY = 1e-4  # what a day more or less does to a factor


def years_before(years: float) -> str:
    return (LAST - timedelta(days=round(years * 365.25))).isoformat()


def seen(*ago, look="inspection"):
    """Checks k0, k1 ... so many years before the last day, each by inspection unless said otherwise."""
    looks = look if isinstance(look, tuple) else (look,) * len(ago)
    return [check(f"k{n}", "O", years_before(y), look=its) for n, (y, its) in enumerate(zip(ago, looks, strict=True))]


def join(checks, *states, **more):
    """A join of animal glue with one state a check."""
    collection = register(
        object=[{"object_id": "O"}],
        part=[{"object_id": "O", "part": "whole"}],
        condition_check=checks,
        repair=[{"repair_id": "r", "object_id": "O", "part": "whole", "function": "holds", "material": "animal_glue"}],
        repair_state=[{"check_id": f"k{n}", "repair_id": "r", "stability": s} for n, s in enumerate(states)],
        **more,
    )
    return assessed(collection).hazards.row(0, named=True)


def damaged(checks, *lines, kind="crack", **more):
    """A damage with one line a check."""
    collection = register(
        object=[{"object_id": "O"}],
        part=[{"object_id": "O", "part": "whole"}],
        condition_check=checks,
        damage=[{"damage_id": "d", "object_id": "O", "part": "whole", "kind": kind}],
        observation=[{"check_id": f"k{n}", "damage_id": "d", **line} for n, line in enumerate(lines)],
        **more,
    )
    return assessed(collection).hazards.row(0, named=True)


ACTIVE = {"activity": "active"}


def test_a_join_called_failing_for_nine_years_that_still_holds_is_slower_than_the_table():
    """(1, 3, 10) x 0.405777; the rate is that factor on 1/3, the mean rate the same factor on 0.412729."""
    row = join(seen(9.4, 4, 0), "failing", "failing", "failing")

    assert row["quiet_years"] == pytest.approx(9.4, abs=0.003)
    assert row["quiet_factor"] == pytest.approx(0.405777, abs=A_DAY)
    assert row["loss_rate"] == pytest.approx(row["quiet_factor"] / 3)
    assert row["mean_loss_rate"] == pytest.approx(row["quiet_factor"] * 0.412729, rel=2e-6)


def test_three_quiet_years():
    assert join(seen(3, 0), "failing", "failing")["quiet_factor"] == pytest.approx(0.639612, abs=A_DAY)


def test_five_quiet_years_of_an_active_crack():
    row = damaged(seen(5, 0), ACTIVE, ACTIVE | {"change": "unchanged"})

    assert row["quiet_factor"] == pytest.approx(0.738298, abs=A_DAY)


def test_one_sighting_says_nothing():
    row = join(seen(3), "failing")

    assert (row["quiet_years"], row["quiet_factor"]) == (0, 1)


def test_a_treatment_of_the_object_breaks_the_run():
    """Seen 9.4, 3 and 0 years ago, treated 4 years ago: the three years since speak."""
    treated = [{"treatment_id": "t", "object_id": "O", "finished_on": date.fromisoformat(years_before(4))}]

    row = join(seen(9.4, 3, 0), *["failing"] * 3, treatment=treated)

    assert row["quiet_factor"] == pytest.approx(0.639612, abs=A_DAY)


def test_growth_breaks_the_run():
    """Grown at the check 5 years ago: quiet from there."""
    grown = ACTIVE | {"change": "grown"}

    assert damaged(seen(9, 5, 0), ACTIVE, grown, ACTIVE)["quiet_factor"] == pytest.approx(0.738298, abs=A_DAY)
    assert damaged(seen(9, 5, 0), ACTIVE, ACTIVE, grown)["quiet_factor"] == 1


def test_another_state_between_breaks_the_run():
    assert join(seen(9.4, 6, 3, 0), "failing", "ageing", "failing", "failing")["quiet_factor"] == pytest.approx(
        0.639612, abs=A_DAY
    )
    assert join(seen(9.4, 0), "failing", "ageing")["quiet_factor"] == 1


def test_sweeps_and_remarks_do_not_count():
    swept = seen(9.4, 3, 0, look=("sweep", "inspection", "inspection"))
    remarked = seen(9.4, 3, 0, look=("remark", "inspection", "inspection"))

    for checks in (swept, remarked):
        assert join(checks, *["failing"] * 3)["quiet_factor"] == pytest.approx(0.639612, abs=A_DAY)


@pytest.mark.parametrize("change", ["not_examined", "not_found"])
def test_a_line_that_says_nothing_neither_counts_nor_breaks(change):
    row = damaged(seen(5, 2, 0), ACTIVE, ACTIVE | {"change": change}, ACTIVE)

    assert row["quiet_factor"] == pytest.approx(0.738298, abs=A_DAY)


def test_a_move_leaves_the_run_whole():
    moved = [{"move_id": "m", "object_id": "O", "moved_on": date.fromisoformat(years_before(1)), "packed": "by_hand"}]

    row = join(seen(3, 0), "failing", "failing", move=moved)

    assert row["quiet_factor"] == pytest.approx(0.639612, abs=A_DAY)
    assert row["handling_rate"] > 0  # it is not made quieter


def test_where_the_museum_chose_its_learned_rate_only_the_spread_between_objects_speaks():
    """1 / (1 + k l t): spread 0.5, mean rate of (1, 3, 10) 0.412729 a year, 3 years."""
    own = {"rate_table": "repair", "term": "holds", "state": "failing", "chosen": "learned"}
    years = {"years_short": 1.0, "years_likely": 3.0, "years_long": 10.0}

    alike, unlike = (
        join(seen(3, 0), "failing", "failing", own_rate=[own | years | {"spread": s}]) for s in (None, 0.5)
    )

    assert alike["quiet_factor"] == 1
    assert unlike["quiet_factor"] == pytest.approx(1 / (1 + 0.5 * 0.412729 * 3), abs=A_DAY)


@pytest.mark.parametrize("stability", ["unknown", "failing"])
@pytest.mark.parametrize("glass", ["known_unstable", "no_sign"])
def test_a_coating_has_its_quiet_years_whatever_the_glass_beneath(stability, glass):
    collection = register(
        object=[{"object_id": "O", "glass_stability": glass}],
        condition_check=seen(3, 0),
        repair=[{"repair_id": "r", "object_id": "O", "part": "whole", "function": "covers", "material": "wax"}],
        repair_state=[{"check_id": f"k{n}", "repair_id": "r", "stability": stability} for n in range(2)],
    )

    assert assessed(collection).hazards["quiet_years"].item() == pytest.approx(3, abs=0.003)
