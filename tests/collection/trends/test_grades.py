"""Pairs of visits and what became of grades: the worked case of six objects, and limits from published tables."""

from datetime import date

import polars as pl
import pytest

from collection.as_of import as_known
from collection.risk.inspections import inspections
from collection.trends.grades import change, disagreements, matched, rate_of, transitions, worse_share
from collection.trends.parameters import trends
from collection.trends.visits import pairs, visits
from tests.collection.risk.builders import check, register

DAY = date(2021, 6, 1)
# object, year, grade, examiner, look
SIX = [
    ("a", 2016, "good", "E1"), ("a", 2018, "good", "E1"), ("a", 2021, "fair", "E2"),
    ("b", 2016, "good", "E1"), ("b", 2018, "fair", "E2"), ("b", 2021, "good", "E1"),
    ("c", 2016, "fair", "E1"), ("c", 2018, "poor", "E1"), ("c", 2021, "good", "E1"),
    ("d", 2016, "fair", "E1"), ("d", 2021, "poor", "E2"),
    ("e", 2016, "good", "E1"), ("e", 2018, "fair", "E1"), ("e", 2021, "fair", "E1"),
    ("f", 2018, "poor", "E1"), ("f", 2021, "poor", "E2"),
]  # fmt: skip


@pytest.fixture(scope="module")
def six() -> pl.DataFrame:
    """Visits of six objects, each on 1 March; e was only glanced at in 2016, c was treated in 2019."""
    checks = [
        check(f"{o}{y}", o, f"{y}-03-01", grade=g, examiner=e) | ({"look": "sweep"} if (o, y) == ("e", 2016) else {})
        for o, y, g, e in SIX
    ]
    treatment = {
        "treatment_id": "T1",
        "object_id": "c",
        "started_on": date(2019, 6, 1),
        "finished_on": date(2019, 6, 1),
    }
    objects = [{"object_id": o} for o in "abcdef"]
    known = as_known(register(object=objects, condition_check=checks, treatment=[treatment]), DAY)
    return visits(known, inspections(known))


def test_eight_pairs_four_worse_one_better_three_the_same(six):
    """Worked case of the register's method: 22.997947 object-years, 17.392857 worse per 100 (4.738968 to 44.532622)."""
    result = change(pairs(six), trends())

    assert (result.pairs, result.worse, result.same, result.better) == (8, 4, 3, 1)
    assert result.rate.years == pytest.approx(22.997947, abs=5e-7)
    assert result.rate.value == pytest.approx(17.392857, abs=5e-7)
    assert (result.rate.low, result.rate.high) == pytest.approx((4.738968, 44.532622), abs=5e-6)


def test_treated_and_looked_closer_stand_apart_and_better_is_disagreement(six):
    rows = pairs(six)

    assert rows["apart"].drop_nulls().value_counts().sort("apart").rows() == [("looked closer", 1), ("treated", 1)]
    assert rows.filter(apart="treated")["object_id"].to_list() == ["c"]
    assert rows.filter(apart="looked closer")["object_id"].to_list() == ["e"]
    assert disagreements(rows)["object_id"].to_list() == ["b"]


def test_a_sweep_between_two_inspections_parts_nothing(six):
    swept = check("a2019", "a", "2019-03-01", grade="poor", examiner="E1") | {"look": "sweep"}
    checks = [check(f"a{y}", "a", f"{y}-03-01", grade=g) for o, y, g, _ in SIX if o == "a"]
    known = as_known(register(object=[{"object_id": "a"}], condition_check=[*checks, swept]), DAY)
    rows = pairs(visits(known, inspections(known)))

    assert rows.filter(pl.col("apart").is_null()).select("check_id", "end_check_id").rows() == [
        ("a2016", "a2018"), ("a2018", "a2021"),
    ]  # fmt: skip
    assert set(rows["apart"].drop_nulls()) == {"looked less closely", "looked closer"}


def test_other_definitions_stand_apart():
    checks = [
        check("1", "a", "2019-03-01", grade="good", definitions_version="A"),
        check("2", "a", "2020-03-01", grade="fair", definitions_version="B"),
    ]
    known = as_known(register(object=[{"object_id": "a"}], condition_check=checks), DAY)

    assert pairs(visits(known, inspections(known)))["apart"].to_list() == ["other definitions"]


def test_matched_grades_at_both_ends(six):
    """2016 and 2021: a, b, c, d: good 2, fair 2 then good 2, fair 1, poor 1; c was treated."""
    both = matched(six, date(2016, 3, 1), date(2021, 3, 1), 30)

    assert both["object_id"].to_list() == ["a", "b", "c", "d"]
    assert sorted(both["grade"]) == [0, 0, 1, 1]
    assert sorted(both["end_grade"]) == [0, 0, 1, 2]
    assert both.filter("treated")["object_id"].to_list() == ["c"]


def test_every_cell_has_its_number(six):
    table = transitions(pairs(six))

    assert table.height == 16
    assert table["objects"].sum() == 8
    assert table.filter(grade=0, end_grade=1)["objects"].item() == 2
    value, low, high = worse_share(table, 0, trends())
    assert value == pytest.approx(2 / 3)
    assert low < value < high
    assert worse_share(table, 3, trends()) is None


@pytest.mark.parametrize(
    ("events", "low", "high"),
    [
        (0, 0, 3.688879),
        (1, 0.025318, 5.571643),
        (3, 0.618672, 8.767273),
        (5, 1.623486, 11.668332),
        (10, 4.795389, 18.390356),
    ],
)
def test_exact_limits_of_a_count(events, low, high):
    """Garwood 1936, as computed from chi-squared quantiles."""
    rate = rate_of(events, 100.0, 0.95)

    assert (rate.low, rate.high) == pytest.approx((low, high), abs=6e-6)
    assert rate.value == events


def test_nobody_looked_twice():
    rate = rate_of(0, 0.0, 0.95)

    assert rate.value is None
    assert rate.refused == "nobody looked twice"
