"""What nobody has checked, through a register: which first checks teach, what a remark, a sweep, a side not seen says.

Figures are those of unchecked.toml, judgement: chance 0.03 of a kind of unknown technique, gained 1e-5 a year; a mean loss
of 0.005582 above the limit (its sizes as 1/y between 0.001 and 0.26) and 3e-5 below, worth 5 objects.
"""

import math
from datetime import date

import pytest

from collection.as_of import as_known
from collection.questions.triage import in_order
from collection.risk.first_checks import losses_at_inspections
from collection.risk.inspections import inspections
from collection.risk.kinds import with_technique_key
from collection.risk.rates import RatesTable
from collection.risk.unchecked import first_checks
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


# --- what first checks teach


def inspected(collection, as_of=AS_OF):
    known = as_known(collection, as_of)
    return losses_at_inspections(known, inspections(known), RatesTable.of(known))


TREATED = {
    "object": [{"object_id": "A"}],
    "part": [{"object_id": "A", "part": "whole"}],
    "condition_check": [check("k0", "A", "2020-01-01"), check("k1", "A", "2024-01-01")],
    "damage": [
        {"damage_id": "d", "object_id": "A", "part": "whole", "kind": "lifting", "closed_on": date(2021, 1, 1)}
        | {"closed_as": "treated"}
    ],
    "observation": [{"check_id": "k0", "damage_id": "d", "activity": "active", "extent_band": "from_1_to_5"}],
    "repair": [{"repair_id": "r", "object_id": "A", "part": "whole", "function": "holds", "material": "wax"}],
    "repair_state": [
        {"check_id": f"k{n}", "repair_id": "r", "stability": s, "extent_band": "from_1_to_5"}
        for n, s in enumerate(("failed", "sound"))
    ],
}


def test_the_first_check_counts_as_it_was_before_any_treatment():
    """Lifting 0.022 x (1 - exp(-0.3)), a join that has let go 0.022 x (1 - exp(-0.1)); then a sound join alone."""
    rows = inspected(register(**TREATED))

    first = 1 - (1 - 0.022 * (1 - math.exp(-0.3))) * (1 - 0.022 * (1 - math.exp(-0.1)))
    second = 0.022 * (1 - math.exp(-0.03 / 30))
    assert rows["loss"].to_list() == pytest.approx([first, second])


def test_treatment_between_makes_no_gain():
    def gains(**more):
        known = as_known(register(**TREATED, **more), AS_OF)
        first = first_checks(known, inspections(known), with_technique_key(known["object"]), RatesTable.of(known))
        return first.gains.select("gained", "years").rows()

    treated = [{"treatment_id": "t", "object_id": "A", "finished_on": date(2021, 1, 1)}]

    assert gains(treatment=treated) == []
    ((gained, years),) = gains()
    assert gained < 0
    assert years == pytest.approx(4, abs=0.003)


def test_moves_and_quiet_years_do_not_enter_a_first_check():
    moved = [{"move_id": "m", "object_id": "A", "moved_on": date(2019, 1, 1), "packed": "crated"}]

    assert (
        inspected(register(**TREATED, move=moved))["loss"].to_list() == inspected(register(**TREATED))["loss"].to_list()
    )


@pytest.mark.parametrize(
    ("more", "counts"),
    [
        ({"look": "inspection"}, True),
        ({"look": "examination", "visit": "examined"}, True),
        ({"look": "sweep"}, False),
        ({"look": "remark"}, False),
        ({"look": "inspection", "visit": "through_glass"}, False),
        ({"look": "inspection", "visit": "not_found"}, False),
    ],
)
def test_which_check_is_a_first_check(more, counts):
    rows = inspected(register(object=[{"object_id": "A"}], condition_check=[check("k", "A", **more)]))

    assert rows.height == counts


def surveyed(selection, objects=30, **more):
    """So many objects checked in a survey, and one of the same museum checked outside any with a large loss."""
    ids = [f"O{n:02d}" for n in range(objects)]
    rows = {
        "object": [{"object_id": o} for o in [*ids, "Z"]],
        "survey": [{"survey_id": "s", "selection": selection}],
        "condition_check": [check(f"k{o}", o, survey_id="s", **more) for o in ids] + [check("z", "Z")],
        "damage": [{"damage_id": "d", "object_id": "Z", "part": "whole", "kind": "lifting"}],
        "observation": [{"check_id": "z", "damage_id": "d", "activity": "active"}],
    }
    known = as_known(register(**rows), AS_OF)
    return first_checks(known, inspections(known), with_technique_key(known["object"]), RatesTable.of(known))


@pytest.mark.parametrize(
    ("selection", "objects", "fair"),
    [
        ("random", 30, True),
        ("whole", 30, True),
        ("random", 29, False),
        ("worst_first", 30, False),
        ("unknown", 40, False),
    ],
)
def test_thirty_drawn_by_lot_teach_alone(selection, objects, fair):
    """Where fewer were, all first checks teach, and people chose them."""
    first = surveyed(selection, objects)

    assert first.fair == fair
    assert ("Z" in first.used["object_id"].to_list()) != fair


def test_arrivals_teach_and_do_not_count_towards_the_thirty():
    assert not surveyed("random", 30, occasion="arrival").fair
