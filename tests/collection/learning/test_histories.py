"""Intervals worked by hand: what starts one, what ends one, what drops one, and what counts as an event."""

from datetime import date

import polars as pl
import pytest

from collection.as_of import as_known
from collection.learning.new_damage import new_damage
from collection.risk.inspections import inspections
from tests.collection.learning.builders import history, one_damage, one_repair, years
from tests.collection.risk.builders import check, register

Y = [f"20{n}-01-01" for n in (10, 12, 14, 16, 18)]
STILL = {"activity": "stable", "change": "unchanged"}


def line(on: str, **more: object) -> dict[str, object]:
    return {"on": on, **STILL, **more}


def test_a_first_line_has_nothing_to_compare_with_and_starts_a_history():
    found = history(one_damage(line(Y[0], change="not_comparable"), line(Y[1]), line(Y[2])))

    assert years(found) == [(2010, 2012), (2012, 2014)]
    assert found["cell"].unique().to_list() == ["damage/lifting/stable"]
    assert found["exposure_years"].to_list() == pytest.approx([730 / 365.25, 731 / 365.25])
    assert found["loss_event"].to_list() == [False, False]


@pytest.mark.parametrize(
    "between",
    [{"look": "sweep"}, {"look": "remark"}, {"change": "not_examined"}, {"change": "not_found"},
     {"change": "not_comparable"}, {"no_line": True}, {"visit": "not_reachable"}],
    ids=str,
)  # fmt: skip
def test_what_did_not_cover_the_place_starts_and_ends_nothing(between):
    found = history(one_damage(line(Y[0]), line(Y[1], **between), line(Y[2])))

    assert years(found) == [(2010, 2014)]


@pytest.mark.parametrize("changed", [{"look": "examination"}, {"definitions_version": "2"}], ids=str)
def test_a_change_of_look_or_definitions_makes_no_interval(changed):
    lines = [line(Y[0], definitions_version="1"), line(Y[1], definitions_version="1")]
    later = {"definitions_version": "1", **changed}
    found = history(one_damage(*lines, line(Y[2], **later), line(Y[3], **later)))

    assert years(found) == [(2010, 2012), (2014, 2016)]


@pytest.mark.parametrize(
    ("started", "finished", "kept"),
    [
        ("2012-01-20", "2012-03-01", [(2010, 2012), (2014, 2016)]),  # after a check, which ends what went before
        ("2013-06-01", "2013-06-30", [(2010, 2012), (2014, 2016)]),  # long after one: the time since is dropped
        ("2013-12-01", "2014-06-01", [(2010, 2012)]),  # a check in the midst of it starts nothing
        ("2012-01-01", "2012-01-01", [(2010, 2012), (2014, 2016)]),  # a check of that day comes before it
    ],
)
def test_a_treatment_drops_what_it_falls_into(started, finished, kept):
    treatment = [{"treatment_id": "T", "object_id": "O", "started_on": date.fromisoformat(started),
                  "finished_on": date.fromisoformat(finished)}]  # fmt: skip
    found = history(one_damage(*(line(day) for day in Y[:4]), treatment=treatment))

    assert years(found) == kept


def test_a_check_after_a_treatment_of_its_day_starts_a_history():
    treatment = [{"treatment_id": "T", "object_id": "O", "started_on": date(2012, 1, 1)}]
    found = history(one_damage(line(Y[0]), line(Y[1], occasion="after_treatment"), line(Y[2]), treatment=treatment))

    assert years(found) == [(2012, 2014)]


def test_after_a_treatment_growth_is_measured_anew():
    sizes = (100.0, 100.0, 200.0, 201.0)
    treatment = [{"treatment_id": "T", "object_id": "O", "started_on": date(2013, 1, 1)}]
    lines = [line(day, area_mm2=size, measurement_error=5.0) for day, size in zip(Y, sizes, strict=False)]

    assert history(one_damage(*lines, treatment=treatment))["loss_event"].to_list() == [False, False]
    assert history(one_damage(*lines))["loss_event"].to_list() == [False, True, False]


def test_what_is_closed_as_superseded_ends_at_the_check_before():
    closed = {"closed_on": date(2014, 1, 1), "closed_by": "D9"}

    assert years(history(one_damage(*(line(d) for d in Y[:3]), of_damage=closed))) == [(2010, 2012)]


def test_a_flaw_of_manufacture_has_no_history():
    assert history(one_damage(line(Y[0]), line(Y[1]), of_damage={"origin": "manufacture"})).is_empty()


def test_the_register_as_known_on_a_day_knows_no_later_check():
    assert years(history(one_damage(*(line(d) for d in Y)), day=date(2015, 1, 1))) == [(2010, 2012), (2012, 2014)]


GROWTH = [  # areas, error, words: events. 4.37 s is 43.7 with s 10, 3.4 s is 34.
    ((100, 143, 100), 10, "unchanged", [False, False]),
    ((100, 144, 100), 10, "unchanged", [True, False]),
    ((100, 135, 135), 10, "unchanged", [False, True]),  # beyond 3.4 s at two successive checks
    ((100, 135, 120, 135), 10, "unchanged", [False, False, False]),  # not successive
    ((100, 120, 140, 160), 10, "unchanged", [False, False, True]),  # slow growth adds up
    ((100, 150, 160, 190), 10, "unchanged", [True, False, False]),  # measured from the last event, 150
    ((100, 150, 160, 195), 10, "unchanged", [True, False, True]),
    ((100, 110, 110), 10, "grown", [False, False]),  # measured: the rule decides
    ((100, 110, 110), None, "grown", [True, True]),  # no error on record: the words decide
    ((None, None, None), None, "grown", [True, True]),
    ((None, None, None), None, "unchanged", [False, False]),
    ((None, 100, 150), 10, "unchanged", [False, True]),
    ((100, 240), None, "unchanged", [True]),  # far beyond what a measurement without an error can miss
]


@pytest.mark.parametrize(("areas", "error", "words", "events"), GROWTH)
def test_growth_beyond_error(areas, error, words, events):
    lines = [
        line(day, area_mm2=area and float(area), measurement_error=error and float(error), change=words)
        for day, area in zip(Y, areas, strict=False)
    ]

    assert history(one_damage(*lines))["loss_event"].to_list() == events


def test_a_length_is_not_compared_with_an_area():
    lines = [line(Y[0], length_mm=10.0, measurement_error=1.0), line(Y[1], area_mm2=90.0, measurement_error=1.0)]

    assert history(one_damage(*lines))["loss_event"].to_list() == [False]


ACTIVATION = [
    ("stable", "active", True), ("appears_stable", "active", True), ("unknown", "active", True),
    ("stable", "stable", False), ("stable", "suspected", False), ("active", "active", None), ("suspected", "active", None),
    ("stable", "unknown", None),
]  # fmt: skip


@pytest.mark.parametrize(("before", "after", "event"), ACTIVATION)
def test_activation_is_at_rest_or_not_assessed_before_and_moving_after(before, after, event):
    found = history(one_damage(line(Y[0], activity=before), line(Y[1], activity=after)))

    assert found["activation_event"].to_list() == [event]
    assert found["loss_event"].to_list() == [False]  # never mixed


REPAIRS = [  # state before and after: loss, activation, row of the start
    ("sound", "ageing", False, False, "repair_material/wax/sound"),
    ("ageing", "failing", True, True, "repair_material/wax/ageing"),
    ("ageing", "failed", True, True, "repair_material/wax/ageing"),
    ("failing", "failed", True, None, "repair/holds/failing"),
    ("failing", "harmful", True, None, "repair/holds/failing"),
    ("failing", "failing", False, None, "repair/holds/failing"),
    ("failing", "sound", False, None, "repair/holds/failing"),
    ("failed", "failed", None, None, "repair/holds/failed"),  # nobody measured: nothing is known
    ("failed", "harmful", True, None, "repair/holds/failed"),
    ("harmful", "failed", None, None, "repair/holds/harmful"),
    ("unknown", "failed", None, True, "repair/holds/unknown"),
    ("sound", "unknown", None, None, "repair_material/wax/sound"),
]


@pytest.mark.parametrize(("before", "after", "loss", "activation", "cell"), REPAIRS)
def test_events_of_a_repair(before, after, loss, activation, cell):
    found = history(one_repair({"on": Y[0], "stability": before}, {"on": Y[1], "stability": after}))

    assert found.select("loss_event", "activation_event", "cell").rows() == [(loss, activation, cell)]


@pytest.mark.parametrize(("areas", "loss"), [((100.0, 110.0), False), ((100.0, 300.0), True)])
def test_harm_that_was_measured_at_both_ends_tells(areas, loss):
    lines = [{"on": d, "stability": "harmful", "harmed_mm2": a} for d, a in zip(Y, areas, strict=False)]

    assert history(one_repair(*lines))["loss_event"].to_list() == [loss]


def test_a_repair_grows_from_check_to_check_as_a_damage_does():
    assert years(history(one_repair(*({"on": d, "stability": "sound"} for d in Y[:3])))) == [(2010, 2012), (2012, 2014)]


def test_an_accident_or_a_journey_between_is_no_time_at_rest():
    lines = [line(d) for d in Y[:4]]
    accident = one_damage(lines[0], line("2011-01-01", no_line=True, occasion="accident", look="sweep"), *lines[1:])
    lent = {
        "loan": [{"loan_id": "L"}],
        "loan_leg": [{"loan_id": "L", "leg_no": 1, "starts_on": date(2012, 2, 1), "ends_on": date(2012, 9, 1)}],
        "loan_object": [{"loan_id": "L", "object_id": "O"}],
    }

    assert history(accident)["handled"].to_list() == [True, False, False]
    assert history(one_damage(*lines, **lent))["handled"].to_list() == [False, True, False]


def test_exposure_is_in_the_climate_of_the_model():
    modifiers = pl.DataFrame({"hazard_id": ["damage:D"], "check_id": ["C2"], "modifier": [3.0]})
    found = history(one_damage(*(line(d) for d in Y[:3])), modifiers=modifiers)

    assert found["exposure_years"].to_list() == pytest.approx([730 / 365.25, 3 * 731 / 365.25])


def test_new_damage_is_counted_by_object_years():
    checks = [check(f"C{n}", "O", day) for n, day in enumerate(Y[:3])]
    damage = [{"damage_id": d, "object_id": "O", "part": "whole", "kind": "chip", "onset": onset}
              for d, onset in (("A", "before_register"), ("B", "since_last_look"), ("C", "since_last_look"))]  # fmt: skip
    lines = [("C0", "A"), ("C1", "A"), ("C1", "B"), ("C2", "B"), ("C2", "C")]
    collection = as_known(
        register(object=[{"object_id": "O"}], condition_check=checks, damage=damage,
                 observation=[{"check_id": c, "damage_id": d} for c, d in lines]), date(2030, 1, 1)
    )  # fmt: skip

    found = new_damage(collection, inspections(collection))

    assert found["events"].to_list() == [1, 1]
    assert found["exposure_years"].sum() == pytest.approx(1461 / 365.25)
