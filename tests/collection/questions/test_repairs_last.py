"""How long repairs last, in words: a curve where enough were watched from the start, else a rate, else why not."""

from datetime import date, timedelta

import pytest

from collection.questions.repairs_last import Lasting, curves, estimates_of, lasting, repairs_last, sentences
from collection.trends.repair_life import Curve
from tests.collection.risk.builders import check, register, triaged

DAY = date(2026, 1, 1)


@pytest.fixture(scope="module")
def its() -> list[Lasting]:
    """30 wax fills made in 2000 and seen every second year: 24 fail after 4, 6, ..., one every half year; 3 joins."""
    made = date(2000, 1, 1)
    objects, repairs, checks, states = [], [], [], []
    for n in range(30):
        name, fails = f"O{n:02}", made + timedelta(days=1500 + 180 * n)
        objects.append({"object_id": name})
        repairs.append(
            {
                "repair_id": f"R{n:02}",
                "object_id": name,
                "part": "whole",
                "function": "fills",
                "material": "wax",
                "done_on": "2000-01-01",
            }
        )
        for year in range(2000, 2014, 2):
            day, number = date(year, 1, 1), f"{name}/{year}"
            checks.append(check(number, name, day.isoformat()))
            states.append(
                {"check_id": number, "repair_id": f"R{n:02}", "stability": "failed" if day >= fails else "sound"}
            )
    repairs.append({"repair_id": "J", "object_id": "O00", "part": "whole", "function": "holds", "material": "epoxy"})
    states += [{"check_id": f"O00/{y}", "repair_id": "J", "stability": "sound"} for y in (2000, 2008)]
    triage = triaged(register(object=objects, repair=repairs, condition_check=checks, repair_state=states), DAY)
    return repairs_last(triage, triage.objects)


def test_groups_by_function_then_by_material_too(its):
    assert [one.name for one in its] == ["Every fill", "Every join", "Fill, wax", "Join, epoxy"]


def test_a_sentence_with_when_half_had_failed(its):
    """The 15th fails after 1,500 + 180 x 14 days: between the checks of 2010 and 2012."""
    words = sentences(its)

    assert words[0].startswith("Half of the 30 fills had failed by 10 to 12 years; nothing can be said beyond")
    assert words[1].startswith("Half of the 30 fills (wax) had failed by 10 to 12 years")
    assert words[2].startswith("2 other groups of repairs have no curve")


def test_the_curve_stands_with_its_band_where_it_can_be_said(its):
    frame = curves(its)

    assert set(frame["group"]) == {"Every fill", "Fill, wax"}
    assert (frame["lasting_low"] <= frame["lasting_high"]).all()
    assert frame["observed"].min() >= 5
    assert frame.filter(age_years=0)["lasting"].to_list() == [1.0, 1.0]


def test_a_group_without_a_curve_has_its_rate_or_the_reason(its):
    rows = lasting(its)
    join = rows.filter(group="Join, epoxy").row(0, named=True)

    assert (join["watched"], join["failures"]) == (1, 0)
    assert "no curve: it takes 20 repairs with a date of making (0 here) and 10 failures (0 here)" in join["words"]


def test_estimates_of_each_group(its):
    rows = {row["repairs"]: row for row in estimates_of(its)}

    assert set(rows["Fill, wax"]["rate"]) == {"value", "low", "high", "n", "method", "refused"}
    assert isinstance(its[0].curve, Curve)
    assert rows["Fill, wax"]["curve"][0]["value"] == 1.0
    assert "it takes 20 repairs" in rows["Join, epoxy"]["curve"]["refused"]


def test_nothing_to_tell_of():
    triage = triaged(register(object=[{"object_id": "a"}]), DAY)

    assert sentences(repairs_last(triage, triage.objects)) == [
        "No repair that held when it was first assessed was assessed again."
    ]
    assert curves([]).is_empty()
