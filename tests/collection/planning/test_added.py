"""What an option leaves behind, how far a hazard reaches on the average, and the price of an hour, in a plan."""

import math
from datetime import date

import numpy as np
import polars as pl
import pytest

from collection.plan.exposure import Jobs, PlaceStates
from collection.plan.hazard_table import hazard_table
from collection.plan.parameters import planning
from collection.plan.situation import ADDED
from collection.plan.worth import losses
from collection.planning.hazards import mean_reach, plan_added
from collection.planning.situation import Question, situation_of
from tests.collection.plan import builders
from tests.collection.risk.builders import check, register, triaged

NO_PLACE = PlaceStates(np.array([[-1]]), np.array([[0]]))


def added(**figures):
    """A fill of part `whole`, in likely years alone."""
    row = {
        "option_id": "o", "part": "whole", "part_share": 1.0, "reach": 0.02, "loss_depth": 0.1, "ageing_depth": 0.1,
        "years_short": 30.0, "years_likely": 30.0, "years_long": 30.0, "ageing_short": 10.0, "ageing_likely": 10.0,
        "ageing_long": 10.0, "modifier": 1.0, "chance_per_move": 0.0, "moves_a_year": 0.0, "climate": None,
        "handling": None,
    }  # fmt: skip
    return pl.DataFrame([row | figures], schema=ADDED)


def test_a_treatment_is_worth_less_by_what_it_leaves_behind():
    """Worked by hand: 20 years ahead, done at .5; the fill is sound to 10.5 and ages from then on.

    Hazard: 0.5 of 10 years before it is ended. Fill: .1 x 10 / 30 sound and .1 x 9.5 / 10 ageing.
    """
    its = builders.situation_of(
        years=1, horizon=20, objects=[builders.obj("x")], options=[builders.option("o", "x")], effects=[("o", "h", 0.0)],
        hazards=[builders.hazard("x", "h", reach=0.3, loss_depth=1.0, years=10)], added=added().rows(),
    )  # fmt: skip
    jobs = Jobs(np.array([0, 0]), np.array([[-1], [0]]), np.array([[0], [1]]))
    lost = losses(hazard_table(its, planning()), jobs, NO_PLACE, 20.0)[:, 0]

    before, fill = math.exp(-0.05), math.exp(-(0.1 * 10 / 30 + 0.1 * 9.5 / 10))
    nothing, treated = 0.3 * (1 - math.exp(-2)), 1 - (1 - 0.3 * (1 - before)) * (1 - 0.02 * (1 - fill))
    assert lost.tolist() == pytest.approx([nothing, treated], abs=1e-12)
    assert nothing - treated == pytest.approx(0.2424, abs=5e-5)


ADDS = {"option_id": "K1", "part": "whole", "material": "epoxy", "function": "fills", "area_mm2": 100.0}


def consolidated(**more):
    """A plaque of 10,000 mm² with a lifting place, and an option that leaves a fill of epoxy."""
    return triaged(
        register(
            object=[{"object_id": "O", "enamel_area_mm2": 10_000.0}],
            part=[{"object_id": "O", "part": "whole"}],
            condition_check=[check("k", "O")],
            damage=[{"damage_id": "D", "object_id": "O", "part": "whole", "kind": "lifting", "visibility": "face"}],
            observation=[{"check_id": "k", "damage_id": "D", "activity": "active", "area_mm2": 300.0}],
            option=[{"option_id": "K1", "object_id": "O", "hours_likely": 4.0, "skill": "technician", "status": "open"}],
            option_effect=[{"option_id": "K1", "hazard_id": "damage:D", "rate_left": 0.1}],
            option_adds=[ADDS],
            **more,
        ),
        date(2026, 11, 1),
    )  # fmt: skip


def test_years_depth_and_what_is_at_risk_are_those_of_the_repair_table():
    """Epoxy: sound 10, 30, 100 years, ageing 3, 10, 30; a fill costs .1 of its edge.

    Edge of a round 100 mm²: 2 sqrt(pi x 100) mm long and 2 mm wide, of 10,000 mm²; an area is right within a factor.
    """
    row = plan_added(consolidated()).row(0, named=True)

    assert [row[n] for n in ("years_short", "years_likely", "years_long")] == [10, 30, 100]
    assert [row[n] for n in ("ageing_short", "ageing_likely", "ageing_long")] == [3, 10, 30]
    assert (row["loss_depth"], row["ageing_depth"], row["part_share"]) == (0.1, 0.1, 1)
    edge = 2 * math.sqrt(math.pi * 100) * 2 / 10_000
    assert edge < row["reach"] < 1.1 * edge


def test_an_option_that_adds_nothing_has_no_row():
    its = consolidated()

    assert situation_of(its, Question()).added.height == 1
    assert plan_added(triaged(register(object=[{"object_id": "O"}]), date(2026, 11, 1))).is_empty()


def test_the_price_of_an_hour_is_the_museums_own():
    assert situation_of(consolidated(), Question()).hour_price == 0
    priced = consolidated(setting=[{"name": "hour_price", "value": "42.5"}])
    assert situation_of(priced, Question()).hour_price == 42.5


def extent(low, likely, high, *, basis="measured", left=1.0, visibility=1.0):
    columns = {"affected_low": low, "affected_share": likely, "affected_high": high, "left_share": left}
    return mean_reach(pl.DataFrame([columns | {"visibility": visibility, "extent_basis": basis}]))[0]


def test_reach_is_the_mean_over_its_range():
    """The mean of a lognormal, in closed form; a band is cut at its ends, all at what is left."""
    spread = math.log(3) / 1.64485

    assert extent(0.01, 0.03, 0.09) == pytest.approx(0.03 * math.exp(spread**2 / 2), rel=1e-6)
    assert extent(0.03, 0.03, 0.03) == pytest.approx(0.03)
    assert extent(0.03, 0.03, 0.03, visibility=0.5) == pytest.approx(1 - math.sqrt(0.97))
    assert 0.03 < extent(0.01, 0.03, 0.09, basis="band") < extent(0.01, 0.03, 0.09)
    assert extent(0.01, 0.03, 0.09, left=0.02) < 0.02
