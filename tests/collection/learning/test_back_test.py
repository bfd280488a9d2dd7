"""What was expected beside what was seen: formulas by hand, and the whole path on a small register."""

from datetime import date

import numpy as np
import polars as pl
import pytest

from collection import pipeline
from collection.as_of import as_known
from collection.learning.back_test import AT_RISK, back_test, later_day, with_learned
from collection.learning.expected_losses import expected_losses
from collection.learning.inspected_lines import inspected_lines
from collection.learning.learned import LEARNED, starting
from collection.learning.parameters import learning
from collection.learning.seen_losses import seen_losses, seen_total, spans
from collection.risk.inspections import inspections
from collection.risk.rates import RatesTable
from collection.snapshot import Collection
from collection.store.engines import PolarsEngine
from tests.collection.learning.builders import one_damage, one_repair
from tests.collection.risk.builders import register

FIGURES = learning().model_copy(update={"draws": 4000})
CUT, UNTIL = date(2021, 9, 30), date(2026, 9, 30)
AREA = {"object": [{"object_id": "O", "enamel_area_mm2": 1000.0, "value_points": 3}]}


def hazard(**more):
    plain = {"object_id": "O", "part": "p", "cell": "1", "hazard_id": "damage:D", "years": 5.0, "value_share": 1.0,
             "part_share": 1.0, "reach": 0.3, "loss_depth": 1.0, "years_short": 3.0, "years_likely": 3.0,
             "years_long": 3.0, "factor": 1.0, "handling_rate": 0.0}  # fmt: skip
    return plain | more


def rows(*hazards):
    return pl.DataFrame(list(hazards), schema=AT_RISK)


def test_where_the_rate_is_sure_the_expected_loss_is_the_formula():
    got = expected_losses(rows(hazard()), FIGURES, 0.5, 3.0)

    assert got.loss == pytest.approx(0.3 * (1 - np.exp(-5 / 3)))
    assert (got.low, got.high) == pytest.approx((0.0, 0.3))  # one event takes all: none with chance 0.19


def test_places_of_a_part_fall_independently_and_parts_add():
    two = expected_losses(rows(hazard(), hazard(hazard_id="damage:E")), FIGURES, 0.5, 3.0)
    apart = expected_losses(rows(hazard(part_share=0.5), hazard(part="q", part_share=0.5)), FIGURES, 0.5, 3.0)
    one = 0.3 * (1 - np.exp(-5 / 3))

    assert two.loss == pytest.approx(1 - (1 - one) ** 2)
    assert apart.loss == pytest.approx(one)


def test_what_is_shared_by_a_row_of_the_rates_widens_the_limits():
    many = [hazard(object_id=f"O{n}", value_share=0.02, years_short=1.0, years_long=10.0) for n in range(50)]

    apart, common = (expected_losses(rows(*many), FIGURES, share, 3.0) for share in (0.0, 1.0))

    assert apart.loss == pytest.approx(common.loss, rel=0.05)
    assert common.high - common.low > 1.5 * (apart.high - apart.low)


def test_nothing_at_risk_expects_nothing():
    assert expected_losses(rows(), FIGURES, 0.5, 3.0).high == 0


def seen(collection: Collection):
    later = as_known(collection, UNTIL)
    checks, rates = inspections(later), starting(later)
    return seen_losses(later, inspected_lines(later, checks, rates), spans(checks, CUT), rates)


def measured(*areas, **more):
    days = ("2019-01-01", "2023-01-01", "2025-01-01")
    lines = [
        {"on": day, "activity": "active", "change": "unchanged", "area_mm2": area, "measurement_error": 5.0}
        for day, area in zip(days, areas, strict=False)
    ]
    return one_damage(*lines, **AREA, **more)


def test_growth_beyond_error_counts_from_the_last_check_before_to_the_last_after():
    got = seen(measured(100.0, 120.0, 200.0)).row(0, named=True)

    assert got["grown_share"] == pytest.approx(0.1)
    assert seen(measured(100.0, 120.0, 121.0)).is_empty()  # 21 is less than 4.37 x 5


@pytest.mark.parametrize(("visibility", "lost"), [("face", 1 - 0.9**2), ("side", 0.1), ("hidden", 1 - 0.9**0.5)])
def test_what_shows_plainly_counts_more(visibility, lost):
    got = seen(measured(100.0, 200.0, of_damage={"visibility": visibility}))

    assert seen_total(got, pl.DataFrame({"object_id": ["O"], "value_share": [0.5]})) == pytest.approx(0.5 * lost)


def test_what_was_closed_in_between_is_left_out():
    closed = {"closed_on": date(2024, 1, 1), "closed_by": "T1"}

    assert seen(measured(100.0, 150.0, 200.0, of_damage=closed)).is_empty()


def test_a_new_loss_counts_by_its_area_and_an_old_one_does_not():
    def fresh(onset):
        lines = [{"on": "2019-01-01", "no_line": True}, {"on": "2023-01-01", "area_mm2": 50.0, "activity": "stable"}]
        return one_damage(*lines, kind="loss", of_damage={"onset": onset}, **AREA)

    assert seen(fresh("since_last_look"))["grown_share"].to_list() == pytest.approx([0.05])
    assert seen(fresh("before_register")).is_empty()


def test_what_nobody_measured_counts_as_nothing_and_is_said():
    failed = one_repair({"on": "2019-01-01", "stability": "failing"}, {"on": "2023-01-01", "stability": "failed"})

    assert seen(failed).select("grown_share", "unmeasured").rows() == [(0.0, True)]


def test_a_learned_rate_that_was_chosen_is_what_the_model_reads():
    row = {"cell": "damage/lifting/active", "events": 1, "intervals": 1, "objects": 1, "exposure_years": 9.0,
           "years_short": 2.0, "years_likely": 5.0, "years_long": 11.0, "mean_rate": 0.2, "chance_of_spread": 0.5,
           "spread": 0.25}  # fmt: skip
    rates = RatesTable.of(with_learned(register(), pl.DataFrame([row], schema=LEARNED)))

    got = rates.damage.filter(cell="damage/lifting/active").row(0, named=True)

    assert (got["years_short"], got["years_likely"], got["years_long"]) == (2.0, 5.0, 11.0)
    assert (got["learned"], got["spread"]) == (True, 0.25)


def many_objects(number: int = 60) -> Collection:
    """Objects with a damage each, checked four times before the cut and once after; every third grew after it."""
    days = ("2012-06-01", "2015-06-01", "2018-06-01", "2021-06-01", "2024-06-01")
    objects, checks, damage, lines = [], [], [], []
    for n in range(number):
        objects.append({"object_id": f"O{n}", "enamel_area_mm2": 1000.0})
        damage.append({"damage_id": f"D{n}", "object_id": f"O{n}", "part": "whole", "kind": "lifting"})
        for k, day in enumerate(days):
            grown = k == len(days) - 1 and n % 3 == 0
            checks.append({"check_id": f"C{n}.{k}", "object_id": f"O{n}", "checked_on": day, "look": "inspection"})
            lines.append({"check_id": f"C{n}.{k}", "damage_id": f"D{n}", "activity": "active",
                          "change": "grown" if grown else "unchanged", "area_mm2": 200.0 if grown else 100.0,
                          "measurement_error": 5.0})  # fmt: skip
    return register(object=objects, condition_check=checks, damage=damage, observation=lines)


@pytest.fixture(scope="module")
def tested():
    return back_test(many_objects(), CUT, UNTIL, lambda c, r: pipeline.assess(c, r, PolarsEngine()))


def test_each_damage_gives_one_forecast_over_its_own_interval(tested):
    forecasts = tested.judged["starting"].forecasts

    assert forecasts.height == 60
    assert forecasts["exposure_years"].to_list() == pytest.approx([1096 / 365.25] * 60)
    assert forecasts["loss_event"].sum() == 20
    assert forecasts["chance"].is_between(0, 1).all()


def test_learning_reads_only_what_was_known_before_the_cut(tested):
    (row,) = tested.learned.rows(named=True)

    assert (row["cell"], row["events"], row["intervals"], row["objects"]) == ("damage/lifting/active", 0, 180, 60)
    assert tested.base_rate == 0


def test_nine_quiet_years_make_the_learned_forecast_lower(tested):
    start, learned = (tested.judged[n].forecasts["chance"].max() for n in ("starting", "learned"))

    assert learned < start


def test_found_beside_expected(tested):
    assert tested.objects == 60
    assert tested.seen_loss == pytest.approx(20 / 60 * 0.1)
    expected = tested.judged["starting"].expected
    assert 0 < expected.low < expected.loss < expected.high


def test_a_day_so_many_years_on():
    assert later_day(date(2021, 9, 30), 5) == UNTIL
    assert later_day(date(2024, 2, 29), 1) == date(2025, 2, 28)
