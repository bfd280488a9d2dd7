"""What first checks teach of objects nobody has checked: as they were before any treatment, and which checks count."""

import math
from datetime import date

import pytest

from collection.as_of import as_known
from collection.risk.first_checks import losses_at_inspections
from collection.risk.inspections import inspections
from collection.risk.kinds import with_technique_key
from collection.risk.rates import RatesTable
from collection.risk.unchecked import first_checks
from tests.collection.risk.builders import AS_OF, check, register


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
