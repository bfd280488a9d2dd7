"""What nobody has looked at, worked by hand from section 2 and the figures of unseen.toml."""

import math
from datetime import date

import polars as pl
import pytest

from collection.questions.order import in_order
from collection.risk import unchecked
from tests.collection.risk.builders import assessed, check, register

# The row for unknown technique: chance 0.1, loss 0.001 a year if active, new 0.003 a year; the prior is worth 10 objects.


def losses(**records):
    return dict(assessed(register(**records)).objects.select("object_id", "unchecked_loss").iter_rows())


def test_never_checked_is_chance_times_loss():
    assert losses(object=[{"object_id": "O"}])["O"] == pytest.approx(0.1 * 0.001)


def test_the_museums_own_checked_objects_teach_the_chance():
    """One of the group checked, nothing active: (10 x 0.1 + 0) / (10 + 1)."""
    told = losses(object=[{"object_id": o} for o in "AB"], condition_check=[check("k", "A", "2026-11-01")])

    assert told["B"] == pytest.approx(1 / 11 * 0.001)
    assert told["A"] == 0


def test_the_chance_comes_back_with_time_since_the_look():
    told = losses(object=[{"object_id": "A"}], condition_check=[check("k", "A", "2016-11-01")])

    years = (date(2026, 11, 1) - date(2016, 11, 1)).days / 365.25
    assert told["A"] == pytest.approx(1 / 11 * 0.001 * (1 - math.exp(-years * 0.003 * 11)))


def test_sides_not_seen_count_as_never_seen():
    told = losses(
        object=[{"object_id": "A"}],
        part=[{"object_id": "A", "part": "whole"}],
        condition_check=[check("k", "A", "2026-11-01")],
        coverage=[
            {"check_id": "k", "part": "whole", "side": side, "seen": seen}
            for side, seen in (("front", "seen"), ("reverse", "not_examined"))
        ],
    )

    assert told["A"] == pytest.approx(0.5 * 1 / 11 * 0.001)


def test_a_remark_that_names_damage_raises_the_chance_and_one_understood_that_names_none_lowers_it():
    """Odds 1/9 times 3 and times 0.5; a remark that was not understood says nothing: times 1."""
    told = losses(
        object=[{"object_id": o} for o in "ABC"],
        condition_check=[
            check("a", "A", look="remark"),
            check("b", "B", look="remark", grade="good"),
            check("c", "C", look="remark"),
        ],
        damage=[{"damage_id": "d", "object_id": "A", "part": "whole", "kind": "chip"}],
        observation=[{"check_id": "a", "damage_id": "d", "activity": "unknown"}],
    )

    assert told["A"] == pytest.approx(0.001 * (1 / 3) / (1 + 1 / 3))
    assert told["B"] == pytest.approx(0.001 * (1 / 18) / (1 + 1 / 18))
    assert told["C"] == pytest.approx(0.001 * (1 / 9) / (1 + 1 / 9))


def test_a_remark_without_a_day_is_a_remark_too():
    told = losses(
        object=[{"object_id": "A"}],
        condition_check=[check("a", "A", look="remark") | {"checked_on": None}],
        damage=[{"damage_id": "d", "object_id": "A", "part": "whole", "kind": "chip"}],
        observation=[{"check_id": "a", "damage_id": "d", "activity": "unknown"}],
    )

    assert told["A"] == pytest.approx(0.001 * (1 / 3) / (1 + 1 / 3))


def test_a_sweep_that_says_nothing_of_sides_does_not_make_the_reverse_seen():
    told = losses(
        object=[{"object_id": "A"}],
        part=[{"object_id": "A", "part": "whole"}],
        condition_check=[check("k", "A", "2026-10-01"), check("s", "A", "2026-11-01", look="sweep")],
        coverage=[
            {"check_id": "k", "part": "whole", "side": side, "seen": seen}
            for side, seen in (("front", "seen"), ("reverse", "not_examined"))
        ],
    )

    assert told["A"] == pytest.approx(0.5 * 1 / 11 * 0.001)


def test_a_chance_of_none_is_no_loss_and_no_gap(monkeypatch):
    rows = tuple(row.model_copy(update={"chance_active": 0.0}) for row in unchecked._rows())
    monkeypatch.setattr(unchecked, "_rows", lambda: rows)
    told = losses(object=[{"object_id": "A"}, {"object_id": "B"}], condition_check=[check("k", "A", "2016-11-01")])

    assert told == {"A": 0.0, "B": 0.0}


def test_the_group_is_the_first_row_that_fits_and_narrower_techniques_count():
    """Limoges painted before 1530: 0.3 x 0.003; musen, a narrower cloisonne: 0.03 x 0.001; steel out of doors 0.3 x 0.003."""
    told = losses(
        object=[
            {"object_id": "L", "technique": ["painted_limoges"], "culture": "French, Limoges", "latest_year": 1510},
            {"object_id": "M", "technique": ["musen"]},
            {"object_id": "S", "base_metal": "steel", "provenance_class": "outdoor"},
        ]
    )

    assert told == pytest.approx({"L": 0.3 * 0.003, "M": 0.03 * 0.001, "S": 0.3 * 0.003})


def test_the_unseen_have_an_order_of_their_own_and_stay_at_the_end_of_the_ranking():
    collection = register(
        object=[{"object_id": "B"}, {"object_id": "A"}, {"object_id": "S", "base_metal": "steel"}, {"object_id": "C"}],
        condition_check=[check("k", "C")],
        damage=[{"damage_id": "d", "object_id": "C", "part": "whole", "kind": "chip"}],
        observation=[{"check_id": "k", "damage_id": "d", "activity": "stable"}],
    )
    objects = assessed(collection).objects.with_columns(attention=pl.lit("in_order"))

    ordered = in_order(objects.sort("object_id", descending=True))

    assert ordered["object_id"].to_list() == ["C", "S", "A", "B"]
    assert ordered["unchecked_loss"][1:].is_sorted(descending=True)


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
