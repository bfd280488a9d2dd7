"""The tiny plan: four objects, five options, a place, a set-up, a must, two years; 270 plans, 120 of them feasible."""

from datetime import date

from tests.collection.plan.builders import hazard, hours, money, must, obj, option, place_option, situation_of

DONE_BY_THE_SECOND_YEAR = date(2028, 12, 31)


def tiny(money_a_year=500.0, *, shuffled=lambda rows: rows, **other):
    given = {
        "objects": [obj("A", 10), obj("B", 30), obj("C", 10), obj("D", 3)],
        "hazards": [
            hazard("A", "a1", reach=0.3, loss_depth=0.3, years=3, climate="mech"),
            hazard("B", "b1", reach=0.2, loss_depth=0.3, years=3, climate="damp"),
            hazard("B", "b2", reach=0.1, loss_depth=0.1, years=10, climate="mech"),
            hazard("C", "c1", part_share=0.5, reach=0.4, loss_depth=0.1, years=3, climate="damp"),
            hazard("D", "d1", reach=0.05, loss_depth=1.0, years=1),
        ],
        "options": [
            option("A1", "A", 200, setup_group="g"),
            option("B1", "B", 400, setup_group="g", loss_in_doing=0.01, excludes=["B2"]),
            option("B2", "B", 100),
            option("C1", "C", 150),
            option("D1", "D", 50),
        ],
        "option_hours": [
            (o, "bench", h) for o, h in (("A1", 10.0), ("B1", 20.0), ("B2", 4.0), ("C1", 8.0), ("D1", 6.0))
        ],
        "effects": [("A1", "a1", 0.1), ("B1", "b1", 0.1), ("B2", "b1", 0.5), ("C1", "c1", 0.1), ("D1", "d1", 0.1)],
        "setups": [("g", "bench", 4.0, 0.0)],
        "place_options": [place_option("P", "store", 300)],
        "place_effects": [("P", "damp", 0.4)],
        "protected": [("P", "B"), ("P", "C")],
        "musts": [must("m", of="D", by=DONE_BY_THE_SECOND_YEAR)],
        "money": money(money_a_year, money_a_year),
        "hours": hours("bench", 24, 24),
    }
    given |= other
    return situation_of(years=2, horizon=6, **{name: shuffled(rows) for name, rows in given.items()})
