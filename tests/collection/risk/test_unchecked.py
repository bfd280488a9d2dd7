"""What nobody has checked, through a register: what the museum's own checks, a remark, a sweep, a side not seen say.

Figures are those of unchecked.toml, judgement: chance 0.03 of a kind of unknown technique, gained 1e-5 a year; a mean loss
of 0.005582 above the limit (its sizes as 1/y between 0.001 and 0.26) and 3e-5 below, worth 5 objects.
"""

import math
from datetime import date

import pytest

from collection.questions.triage import in_order
from tests.collection.risk.builders import AS_OF, assessed, check, register, triaged

CEILING = 0.26
ABOVE = 0.001 * math.log(CEILING / 0.001) / (1 - 0.001 / CEILING)
BELOW, CHANCE, GAIN = 3e-5, 0.03, 1e-5
TODAY = AS_OF.isoformat()


def mean(chance: float, below: float = BELOW) -> float:
    return chance * ABOVE + (1 - chance) * below


def losses(**records):
    return dict(assessed(register(**records)).objects.select("object_id", "unchecked_loss").iter_rows())


# One object of the kind checked, nothing found: rho 1/1.03, q 10 x 0.03 rho / 11, b 5 x 3e-5 / 6.
AFTER_ONE = mean(10 * CHANCE / 1.03 / 11, 5 * BELOW / 6)


def test_nobody_seen_at_all():
    assert losses(object=[{"object_id": "O"}])["O"] == pytest.approx(mean(CHANCE))


def test_the_museums_own_first_checks_teach():
    learned = losses(object=[{"object_id": o} for o in "AB"], condition_check=[check("k", "A", TODAY)])

    assert learned["B"] == pytest.approx(AFTER_ONE)
    assert learned["A"] == 0


def test_what_may_have_come_grows_with_time_since_the_inspection():
    """Ten years: u (1 - exp(-t g / u)), u with what was gained since the kind's first checks."""
    learned = losses(object=[{"object_id": "A"}], condition_check=[check("k", "A", "2016-11-01")])

    years = (AS_OF - date(2016, 11, 1)).days / 365.25
    never = AFTER_ONE + GAIN * years
    assert learned["A"] == pytest.approx(never * (1 - math.exp(-years * GAIN / never)))


def test_it_never_enters_the_annual_loss():
    risk = assessed(register(object=[{"object_id": "O"}]))

    assert risk.objects["annual_loss"].item() == 0
    assert risk.objects["unchecked_loss"].item() > 0


def sides(**seen):
    return [{"check_id": "k", "part": "whole", "side": side, "seen": word} for side, word in seen.items()]


HALF = sides(front="seen", reverse="not_examined")


def test_sides_not_seen_count_as_never_checked():
    learned = losses(
        object=[{"object_id": "A"}],
        part=[{"object_id": "A", "part": "whole"}],
        condition_check=[check("k", "A", TODAY)],
        coverage=HALF,
    )

    assert learned["A"] == pytest.approx(0.5 * AFTER_ONE)


def test_a_part_not_seen_counts_by_its_share():
    learned = losses(
        object=[{"object_id": "A"}],
        part=[{"object_id": "A", "part": p, "value_share": s} for p, s in (("lid", 0.3), ("box", 0.7))],
        condition_check=[check("k", "A", TODAY)],
        coverage=[
            {"check_id": "k", "part": part, "side": "front", "seen": seen}
            for part, seen in (("lid", "not_accessible"), ("box", "seen"))
        ],
    )

    assert learned["A"] == pytest.approx(0.3 * AFTER_ONE)


@pytest.mark.parametrize("look", ["sweep", "inspection"])
def test_the_last_check_that_says_what_it_covered_counts(look):
    """A later check that says nothing of sides does not make the reverse seen."""
    learned = losses(
        object=[{"object_id": "A"}],
        part=[{"object_id": "A", "part": "whole"}],
        condition_check=[check("k", "A", TODAY), check("s", "A", TODAY, look=look)],
        coverage=HALF,
    )

    assert learned["A"] == pytest.approx(0.5 * AFTER_ONE)


def test_a_sweep_alone_leaves_seven_tenths_of_what_was_expected():
    assert losses(object=[{"object_id": "A"}], condition_check=[check("k", "A", look="sweep")])["A"] == pytest.approx(
        0.7 * mean(CHANCE)
    )


@pytest.mark.parametrize(
    ("kind", "repair", "grade", "odds"),
    [
        ("lifting", None, None, 10),
        ("weeping", None, None, 10),
        ("crack", None, None, 2),
        ("fe_rust", None, None, 2),
        ("chip", None, None, 1),
        (None, "holds", None, 3),
        ("chip", "covers", None, 3),  # the worst that it names
        ("lifting", "covers", None, 10),
        (None, None, "good", 0.5),  # understood, and names none
        ("chip", None, "good", 1),
        (None, None, None, 1),  # not understood
    ],
)
@pytest.mark.parametrize("day", ["1986-01-01", None])
def test_a_remark_multiplies_the_odds_by_the_worst_it_names(kind, repair, grade, odds, day):
    damage = {"damage_id": "d", "object_id": "A", "part": "whole", "kind": kind}
    join = {"repair_id": "r", "object_id": "A", "part": "whole", "function": repair, "material": "unknown"}
    learned = losses(
        object=[{"object_id": "A"}],
        condition_check=[check("a", "A", look="remark", grade=grade) | {"checked_on": day}],
        damage=[damage] if kind else [],
        observation=[{"check_id": "a", "damage_id": "d", "activity": "unknown"}] if kind else [],
        repair=[join] if repair else [],
        repair_state=[{"check_id": "a", "repair_id": "r", "stability": "unknown"}] if repair else [],
    )

    chance = odds * CHANCE / (1 - CHANCE + odds * CHANCE)
    assert learned["A"] == pytest.approx(mean(chance))


def test_a_remark_says_nothing_once_somebody_has_looked():
    lines = {"damage": [{"damage_id": "d", "object_id": "A", "part": "whole", "kind": "lifting"}]}
    lines |= {"observation": [{"check_id": "a", "damage_id": "d", "activity": "unknown"}]}
    checks = [check("a", "A", "1986-01-01", look="remark"), check("s", "A", look="sweep")]

    assert losses(object=[{"object_id": "A"}], condition_check=checks, **lines)["A"] == pytest.approx(
        0.7 * mean(CHANCE)
    )


@pytest.mark.parametrize(
    ("record", "chance"),
    [
        ({"technique": ["painted_limoges"], "culture": "French, Limoges", "earliest_year": 1510}, 0.1),
        ({"technique": ["painted_limoges"], "culture": "French, Limoges", "earliest_year": 1600}, 0.03),
        ({"technique": ["musen"]}, 0.03),  # narrower than cloisonne, but named before it
        ({"technique": ["cloisonne"]}, 0.01),
        ({"base_metal": "steel", "provenance_class": "outdoor"}, 0.03),
        ({"base_metal": "steel"}, 0.01),
        ({"base_metal": "gold"}, 0.01),
        ({}, 0.03),
    ],
    ids=str,
)
def test_the_kind_is_the_first_row_that_fits_and_narrower_techniques_count(record, chance):
    assert losses(object=[{"object_id": "O", **record}])["O"] == pytest.approx(mean(chance))


def test_what_is_away_expects_nothing():
    assert losses(object=[{"object_id": "O", "status": "missing"}])["O"] == 0


def test_not_yet_checked_are_ordered_by_what_may_be_lost():
    collection = register(
        object=[{"object_id": "B"}, {"object_id": "A"}, {"object_id": "S", "base_metal": "steel"}, {"object_id": "C"}],
        condition_check=[check("k", "C")],
        damage=[{"damage_id": "d", "object_id": "C", "part": "whole", "kind": "chip"}],
        observation=[{"check_id": "k", "damage_id": "d", "activity": "stable"}],
    )

    ordered = in_order(triaged(collection).objects.sort("object_id", descending=True))

    assert ordered["object_id"].to_list() == ["A", "B", "S", "C"]


def test_value_share_is_of_value_points_or_of_insured_value_if_so_set():
    """30 and empty: the median of the known stands in, 30 and 30; insured 100 and 300."""
    rows = [
        {"object_id": "A", "value_points": 30.0, "insured_value": 100},
        {"object_id": "B", "insured_value": 300},
    ]
    points = assessed(register(object=rows)).objects
    insured = assessed(register(object=rows, setting=[{"name": "value_basis", "value": "insured_value"}])).objects

    assert dict(points.select("object_id", "value_share").iter_rows()) == {"A": 0.5, "B": 0.5}
    assert dict(points.select("object_id", "value_assumed").iter_rows()) == {"A": False, "B": True}
    assert dict(insured.select("object_id", "value_share").iter_rows()) == {"A": 0.25, "B": 0.75}
