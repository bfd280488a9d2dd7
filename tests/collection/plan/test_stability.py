"""How often lines stay in the plan over the draws: prices held, against plans solved again in full."""

from dataclasses import replace

import numpy as np
import polars as pl
import pytest

from collection.plan.parameters import planning
from collection.plan.plan import make_plan
from collection.plan.stability import Redraw, Stability, stability
from collection.questions.year_plan import draws_sentence
from tests.collection.plan.builders import hazard, hours, money, obj, option, situation_of
from tests.collection.plan.tiny import tiny

FIGURES = planning().model_copy(update={"draws": 200, "full_solves": 10})


def two(years, reach=(0.3, 0.3), money_there=100.0):
    """Two objects, money for one of them; what each may lose rests on its own row of the rates."""
    spans = [{}, {}] if len(reach) == 2 else [{"reach_low": reach[2], "reach_high": reach[3]}] * 2
    return situation_of(
        years=1, horizon=10,
        objects=[obj("A"), obj("B")],
        hazards=[
            hazard(o, o.lower(), reach=f, loss_depth=1.0, years=y, rate_row=o, **more)
            for o, f, y, more in zip("AB", reach, years, spans, strict=False)
        ],
        options=[option("A1", "A", 100), option("B1", "B", 100)],
        option_hours=[("A1", "bench", 1.0), ("B1", "bench", 1.0)],
        effects=[("A1", "a", 0.1), ("B1", "b", 0.1)],
        money=money(money_there), hours=hours("bench", 10),
    )  # fmt: skip


def shares(its, figures=FIGURES):
    return dict(stability(make_plan(its), figures=figures).rows.select("option_id", "in_draws").iter_rows())


def test_what_is_sure_is_in_every_draw():
    """No range at all: each draw is the plan itself."""
    its = stability(make_plan(tiny()), figures=FIGURES)

    assert set(its.rows.filter("planned")["in_draws"]) <= {0.0, 1.0}
    assert its.draws == 200
    assert not its.stopped
    assert its.solved == 10


def test_with_money_for_all_both_stay():
    assert shares(two([(3, 10, 30), (3, 10, 30)], money_there=200)) == {"A1": 1.0, "B1": 1.0}


def test_prices_held_are_the_plan_of_each_draw_where_nothing_limits():
    its = stability(make_plan(two([(3, 10, 30), (1, 3, 10)], money_there=200)), figures=FIGURES)

    assert its.agree == 1


def test_the_mean_over_the_draws_is_the_mean_of_the_plan():
    """Worth by quadrature over the years against the mean of 4,000 draws; without range in the extent."""
    figures = FIGURES.model_copy(update={"draws": 4000})
    plan = make_plan(two([(3, 10, 30), (10, 30, 300)], money_there=200))
    redraw = Redraw(plan.basis, figures)
    drawn = np.mean([redraw.program(n).worth[0][0] for n in range(figures.draws)], axis=0)

    assert drawn == pytest.approx(plan.basis.program.worth[0][0], rel=0.02)


def test_a_wider_range_makes_a_line_less_sure():
    """B is worth a little less than A: where years are known the money goes to A always, else now and then to B."""
    close = {"reach": (0.3, 0.28)}

    assert shares(two([10, 10], **close))["A1"] == 1.0
    assert 0.4 < shares(two([(1, 10, 100), (1, 10, 100)], **close))["A1"] < 1.0


def test_draws_are_keyed_by_names():
    """What A may lose in a draw does not change with the objects next to it."""
    years = [(1, 10, 100), (3, 10, 30)]
    one, other = two(years), two(years)
    alone = {n: getattr(one, n).filter(~pl.col("object_id").is_in(["B"])) for n in ("objects", "hazards", "options")}
    figures = FIGURES.model_copy(update={"draws": 3})

    def worth(its, block):
        program = Redraw(make_plan(its).basis, figures).program(2)
        return program.worth[0][0][program.starts[block] : program.starts[block + 1]] / program.scale

    assert worth(replace(one, **alone), 0).tolist() == worth(other, 0).tolist()


def test_a_clock_that_stops_the_draws_is_said():
    its = stability(make_plan(tiny()), figures=FIGURES, seconds=0.0)

    assert its.stopped
    assert its.draws == 1
    assert (its.solved, its.agree) == (0, None)


@pytest.mark.parametrize(("agree", "poor"), [(0.48, True), (0.8, False), (None, False)])
def test_few_full_solves_that_agree_make_the_draws_no_guide(agree, poor):
    rows = pl.DataFrame({"option_id": ["A"], "planned": [True], "in_draws": [1.0]})
    words = draws_sentence(Stability(rows, draws=1000, stopped=False, solved=20, agree=agree))

    assert ("too few for the draws to be a guide" in words) == poor
