"""Growth of one damage: the worked case, repeatability from a published example, changes of look, the straight line."""

from datetime import date

import numpy as np
import polars as pl
import pytest
from scipy.stats import linregress, t

from collection.as_of import as_known
from collection.learning.limits import normal_deviate
from collection.learning.parameters import lines
from collection.risk.inspections import inspections
from collection.trends.growth_of_one import (
    GROWN,
    HARDER,
    LESS_CLOSELY,
    MEASURED,
    OTHERWISE,
    PERHAPS,
    SAME,
    SMALLER,
    TREATED,
    Line,
    Repeatability,
    growth_of_one,
    least_detectable,
    measurements,
    repeatability,
    straight_line,
    within_error,
)
from collection.trends.parameters import trends
from collection.trends.visits import visits
from tests.collection.learning.builders import one_damage

NOTHING, ASSUMED = Repeatability(None, 0), 0.1


def measured(*sizes: float, error: float | None = 0.1, **more: list[object]) -> pl.DataFrame:
    """Sizes in mm on 1 January every second year."""
    n = len(sizes)
    plain: dict[str, list[object]] = {
        "damage_id": ["D"] * n, "check_id": [f"C{i}" for i in range(n)], "look": ["inspection"] * n,
        "unit": ["length_mm"] * n, "seen_on": [date(2010 + 2 * i, 1, 1) for i in range(n)], "treated": [0] * n,
        "measured": list(sizes), "error": [error] * n, "grown": [False] * n, "blind": [None] * n,
    }  # fmt: skip
    return pl.DataFrame({name: (plain | more).get(name, [None] * n) for name in MEASURED}, schema=MEASURED)


def grown(rows: pl.DataFrame, repeated: Repeatability = NOTHING) -> pl.DataFrame:
    return growth_of_one(rows, repeated, lines(), trends(), ASSUMED)


def test_slow_growth_adds_up_to_one_event():
    """Worked case: s 0.1; 4.0, 4.2, 4.35, 4.5 at 0, 2, 4, 6 years: one event, within (2, 4]; then 4.5 is the reference."""
    result = grown(measured(4.0, 4.2, 4.35, 4.5, 4.6))

    assert result["change"].to_list()[1:] == pytest.approx([0.2, 0.35, 0.5, 0.1])
    assert result["what"].to_list()[1:] == [SAME, PERHAPS, GROWN, SAME]
    assert result.filter(what=GROWN).select("grown_after", "grown_by").row(0) == (date(2012, 1, 1), date(2014, 1, 1))


def test_once_beyond_the_smaller_limit_is_perhaps():
    assert grown(measured(4.0, 4.2, 4.35))["what"].to_list()[-1] == PERHAPS


def test_one_leap_lies_between_the_last_two_checks():
    row = grown(measured(4.0, 4.1, 4.9)).row(2, named=True)

    assert (row["what"], row["grown_after"], row["grown_by"]) == (GROWN, date(2012, 1, 1), date(2014, 1, 1))


def test_repeatability_of_a_published_example():
    """Peak flow in 20 children: s 21.46 gives 59.48 (Bland and Altman, BMJ 313 (1996) 744, figures from memory)."""
    assert least_detectable(21.46, 0.95) == pytest.approx(59.48, abs=0.005)
    assert least_detectable(1.0, 0.95) == pytest.approx(2.7719, abs=1e-4)


def test_error_of_one_measurement_from_two():
    """By hand: differences 1, 1, 2 of three items: the root of 6 / 6."""
    assert within_error(np.array([1.0, -1.0, 2.0])) == pytest.approx(1.0)


@pytest.mark.parametrize(
    ("size", "what"), [(10.27, SAME), (9.73, SAME), (9.72, SMALLER), (10.29, "larger, but not yet growth")]
)
def test_below_the_least_detectable_no_change_is_detected(size, what):
    """s 0.1: 0.277 is the least; a change of 0.28 is more than error, and less than growth (0.34)."""
    result = grown(measured(10.0, size))

    assert result["detectable"].to_list()[1] == pytest.approx(0.27719, abs=1e-5)
    assert result["what"].to_list()[1] == what


@pytest.mark.parametrize(
    ("other", "what"),
    [
        ({"look": ["inspection", "examination"]}, HARDER),
        ({"look": ["examination", "inspection"]}, LESS_CLOSELY),
        ({"definitions_version": ["1", "2"]}, OTHERWISE),
        ({"unit": ["length_mm", "area_mm2"]}, OTHERWISE),
        ({"treated": [0, 1]}, TREATED),
    ],
    ids=["harder", "less closely", "definitions", "unit", "treated"],
)
def test_after_another_kind_of_check_there_is_no_growth(other, what):
    result = grown(measured(10.0, 20.0, **other))

    assert result["what"].to_list()[1] == what
    assert result["change"].to_list()[1] is None
    assert result["series"].to_list() == [0, 1]


def test_limits_stand_at_1_96_errors_and_an_error_of_0_is_not_known():
    known, unknown = grown(measured(10.0)).row(0, named=True), grown(measured(10.0, error=0.0)).row(0, named=True)

    assert (known["low"], known["high"]) == pytest.approx((10 - 0.1959964, 10 + 0.1959964))
    assert (unknown["error"], unknown["error_from"]) == (pytest.approx(1.0), "assumed")
    repeated = grown(measured(10.0, error=None), Repeatability(0.02, 12)).row(0, named=True)
    assert (repeated["error"], repeated["error_from"]) == (pytest.approx(0.2), "repeated measurements")


def test_what_is_measured_twice_on_a_day_and_blind_gives_the_error_of_the_house():
    rows = [
        measured(10.0, 11.0, seen_on=[date(2020, 1, 1)] * 2, blind=[None, True], damage_id=[f"D{n}"] * 2)
        for n in range(10)
    ]

    assert repeatability(pl.concat(rows), trends()) == Repeatability(pytest.approx(np.log(1.1) / np.sqrt(2)), 10)
    assert repeatability(pl.concat(rows[:9]), trends()) == Repeatability(None, 9)
    assert repeatability(pl.concat(rows).with_columns(blind=pl.lit(value=False)), trends()).pairs == 0


def test_the_straight_line_is_that_of_scipy():
    """Reference: `scipy.stats.linregress`, with Student's t for 90 %."""
    sizes = (4.0, 4.3, 4.2, 4.6, 4.9)
    line = straight_line(grown(measured(*sizes)), trends())
    days = [(date(2010 + 2 * i, 1, 1) - date(2010, 1, 1)).days / 365.25 for i in range(5)]
    other = linregress(days, sizes)

    assert isinstance(line, Line)
    assert line.slope == pytest.approx(other.slope)
    assert line.high - line.slope == pytest.approx(t.ppf(0.95, 3) * other.stderr)


def test_three_measurements_make_no_line():
    assert straight_line(grown(measured(4.0, 4.2, 4.3)), trends()) == (
        "3 comparable measurements, 4 are needed for a straight line"
    )


def test_nothing_measured():
    assert grown(measured()).is_empty()
    assert straight_line(grown(measured()), trends()) == "0 comparable measurements, 4 are needed for a straight line"


def test_measurements_of_the_register():
    """Length goes before area; a band alone is no measurement; what says nothing is left out; a treatment is counted."""
    collection = one_damage(
        {"on": "2010-01-01", "length_mm": 4.0, "area_mm2": 9.0, "measurement_error": 0.1},
        {"on": "2012-01-01", "extent_band": "under_1"},
        {"on": "2014-01-01", "length_mm": 5.0, "change": "not_comparable"},
        {"on": "2016-01-01", "area_mm2": 9.0, "change": "grown"},
        treatment=[{"treatment_id": "T", "object_id": "O", "started_on": date(2015, 1, 1), "finished_on": date(2015, 1, 2)}],
    )  # fmt: skip
    known = as_known(collection, date(2020, 1, 1))
    rows = measurements(known, visits(known, inspections(known)))

    assert rows.select("unit", "measured", "error", "treated").rows() == [
        ("length_mm", 4.0, 0.1, 0), ("length_mm", 5.0, None, 0), ("area_mm2", 9.0, None, 1),
    ]  # fmt: skip
    assert normal_deviate(0.95) == pytest.approx(1.959964)
