"""Settings: a bad value is refused where it comes in, and one that is stored ends no command."""

import pytest

from collection.environment import Environment
from collection.settings import Settings, as_of_day, problem, unusable
from schemas.errors import WrongUsage
from schemas.records.house import Setting
from tests.collection.risk.builders import assessed, register

BAD = [
    ("treat_from", "high"),
    ("treat_from", "0"),
    ("treat_from", "nan"),
    ("treat_from", "1"),
    ("unsure_from_times", "1"),
    ("value_basis", "points"),
    ("hours_a_week", "some"),
    ("hours_a_week", "inf"),
    ("today", "30/09/2026"),
    ("today", "not a day"),
    ("time_zone", "Vellmouth"),
    ("currency", "pounds"),
    ("magnitude_lime", "12"),
]


@pytest.mark.parametrize(("name", "value"), BAD)
def test_a_value_that_cannot_be_used_is_named_and_its_default_stands(name, value):
    collection = register(object=[{"object_id": "O"}], setting=[{"name": name, "value": value}])

    assert problem(name, value)
    assert Settings.of(collection) == Settings()
    assert [sentence for sentence in unusable(collection) if f"{name} = '{value}'" in sentence]
    assert assessed(collection).objects.height == 1


@pytest.mark.parametrize(("name", "value"), [(n, v) for n, v in BAD if n != "magnitude_lime"])
def test_a_setting_that_cannot_be_used_is_refused_when_it_comes_in(answer_to, write_csv, name, value):
    result = answer_to(write_csv("s.csv", "name,value", f"{name},{value}", "museum,Museum of Fire"), record="setting")

    assert result.files["refused"].to_list() == [1]
    assert result.files["new"].to_list() == [1]
    assert "unusable_setting" in result.problems["rule"].to_list()


def test_every_setting_that_a_row_may_name_is_one_the_register_reads():
    assert set(Setting.model_fields["name"].annotation.__args__) == set(Settings.model_fields)


@pytest.mark.parametrize(
    ("row", "rule"),
    [
        ("damage,liftin,active,1,2,3", "unknown_rate"),
        ("damges,lifting,active,1,2,3", "unknown_rate"),
        ("damage,lifting,sound,1,2,3", "unknown_rate"),
        ("damage,lifting,active,1,500,3", "years_out_of_order"),
        ("damage,lifting,active,5,,3", "years_out_of_order"),
    ],
)
def test_an_own_rate_that_would_change_nothing_or_cannot_be_is_refused(answer_to, write_csv, row, rule):
    heading = "rate_table,term,state,years_short,years_likely,years_long,chosen"

    result = answer_to(write_csv("r.csv", heading, f"{row},own"), record="own_rate")

    assert result.files["refused"].to_list() == [1]
    assert rule in result.problems["rule"].to_list()


def test_a_reading_in_a_zone_there_is_none_of_is_refused_alone(bring_in, write_csv):
    heading = "logger_id,location_id,read_at,source_zone,rh_percent"
    rows = [f"L,R,2026-07-0{day}T12:00:00,{zone},40" for day, zone in ((1, "Europe/Berlin"), (2, "Europe/Atlantis"))]
    bring_in(write_csv("l.csv", "location_id,name", "R,Room"), record="location")

    result = bring_in(write_csv("c.csv", heading, *rows), record="climate_reading")

    assert result.files.select("new", "refused").row(0) == (1, 1)
    assert "unknown_zone" in result.problems["rule"].to_list()


def test_no_day_is_wrong_usage():
    with pytest.raises(WrongUsage):
        as_of_day("30/09/2026", register())


@pytest.mark.parametrize("name", ["ENAMELS_LANGUAGES", "ENAMELS_FONTS"])
def test_a_folder_of_the_environment_that_is_not_there_is_said(monkeypatch, name):
    monkeypatch.setenv(name, "/nowhere/at/all")

    with pytest.raises(WrongUsage, match="there is no folder /nowhere/at/all"):
        Environment.read()
