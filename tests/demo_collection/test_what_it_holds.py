"""The counts that the demonstration promises; 640 counts the rows of record object that were accepted."""

from datetime import datetime

import polars as pl
import pytest

from demo_collection.generator.museum import STRICT
from schemas.vocabularies import vocabulary


def of_source(register, source):
    return register["condition_check"].filter(source=source)


def test_640_objects_in_the_places_of_one_invented_museum(register):
    settings = dict(register["setting"].select("name", "value").iter_rows())

    assert register["object"].height == 640
    assert "Vellmouth" in settings["museum"]
    assert "Invented" in settings["invented"]
    assert settings["today"] == "2026-09-30"
    assert register["object"].join(register["location"], on="location_id", how="anti").is_empty()


def test_180_never_checked_60_known_by_a_remark_25_not_found(register):
    checks = register["condition_check"]
    seen = checks.filter(pl.col("look") != "remark")["object_id"].unique()
    remarked = checks.filter(look="remark")["object_id"].unique()
    numbers = register["object"]["object_id"]
    unseen = numbers.filter(~numbers.is_in(seen.implode()))

    assert unseen.is_in(remarked.implode()).sum() == 60
    assert (~unseen.is_in(remarked.implode())).sum() == 180
    assert checks.filter(visit="not_found")["object_id"].n_unique() == 25


def test_eleven_years_of_two_to_three_thousand_checks_by_five(register):
    own = of_source(register, "own")

    assert 2000 <= own.height <= 3000
    assert own["examiner"].n_unique() == 5
    assert own["checked_on_latest"].dt.year().n_unique() == 11
    assert set(own["look"]) == {"sweep", "inspection", "examination"}


def test_one_examiner_is_stricter_by_a_grade_for_three_years(register):
    rank = {"good": 0, "fair": 1, "poor": 2, "unacceptable": 3}
    close = of_source(register, "own").filter(look="inspection").with_columns(rank=pl.col("grade").replace_strict(rank))
    his = close.filter(examiner=STRICT)
    others = close.filter(pl.col("examiner") != STRICT, pl.col("checked_on_latest").dt.year().is_between(2020, 2022))

    assert set(his["checked_on_latest"].dt.year()) == {2020, 2021, 2022}
    assert his["rank"].mean() - others["rank"].mean() > 0.5


def test_thirty_objects_in_parts_some_without_shares(register):
    named = register["part"].filter(pl.col("part") != "whole")

    assert named["object_id"].n_unique() == 30
    assert named["value_share"].null_count() > 0


def test_six_plaques_whose_reverse_nobody_saw(register):
    hidden = register["coverage"].filter(seen="not_accessible").join(register["condition_check"], on="check_id")

    assert hidden["object_id"].n_unique() == 6


def test_fourteen_coatings_of_one_campaign_some_harmful_now(register):
    coats = register["repair"].filter(material="polyurethane")
    harmful = register["repair_state"].filter(stability="harmful").join(coats, on="repair_id", how="semi")

    assert coats["object_id"].n_unique() == 14
    assert harmful.height > 0
    assert harmful["signs"].list.contains("salt_beneath").all()


def test_repairs_of_every_named_kind_and_modern_fills_with_their_treatment(register):
    repairs = register["repair"]
    modern = repairs.filter(pl.col("treatment_id").is_not_null())

    assert {"plaster", "wax", "shellac", "epoxy", "polyester", "polyurethane"} <= set(repairs["material"])
    assert modern["material"].unique().to_list() == ["acrylic_b72"]
    assert modern.height > 10


def test_ninety_options_and_55_treatments_that_ran_over_on_old_repairs(register):
    options, done = register["option"], register["treatment"]
    both = done.join(options, on="option_id", suffix="_planned").with_columns(
        over=pl.col("hours") / pl.col("hours_likely")
    )
    removal = pl.col("steps").list.eval(pl.element().str.contains("removal")).list.any()

    assert options["object_id"].drop_nulls().len() == 90
    assert done.height == done["finished_on"].count() == 55
    assert both.filter(removal)["over"].mean() > 1.3 > both.filter(~removal)["over"].mean()


def test_a_loan_at_every_step_one_with_lifting_enamel_to_be_treated_before_packing(register):
    of_loan = register["loan_object"].filter(loan_id="LN 2026/2")
    waiting = of_loan.filter(pl.col("conditions_before_packing").is_not_null())
    lifting = register["damage"].filter(kind="lifting").join(waiting, on="object_id", how="semi")
    planned = register["option"].filter(status="accepted").join(waiting, on="object_id", how="semi")

    assert set(register["loan"]["status"]) == set(vocabulary("loan_status").term)
    assert lifting["closed_on"].null_count() > 0
    assert planned.height == 1


@pytest.mark.parametrize(
    ("wanted", "count"),
    [("pair", 2), ("suite", 3), ("lot", 1)],
)
def test_groups(register, wanted, count):
    assert register["object_group"].filter(kind=wanted).height == count


def test_awkward_things(register):
    objects = register["object"]
    dangers = set(register["danger_to_people"]["agent"])

    assert {"radium", "uranium", "asbestos", "use"} <= dangers
    assert set(objects["status"]) >= {"loan_in", "private", "missing"}
    assert objects.filter(pl.col("technique").list.contains("totai")).height == 1
    assert register["part"].filter(part="lid", location_id="E1-1-1-B1").height == 1
    assert register["refused_row"].filter(pl.col("cells").str.contains("garnet cloisonne"))["outcome"].to_list() == [
        "outside"
    ]


def test_both_events_stand_in_the_readings(brought_in):
    hours = brought_in.store.read_hours(["E1", "L2", "GW"], datetime(2022, 9, 1).date(), datetime(2026, 9, 30).date())
    autumn = hours.filter(pl.col("hour").is_between(datetime(2022, 11, 1), datetime(2022, 12, 1)))
    fortnight = hours.filter(pl.col("hour").is_between(datetime(2024, 7, 16), datetime(2024, 7, 29)))

    assert (
        autumn.filter(location_id="L2")["rh_percent"].mean()
        > 60
        > 50
        > autumn.filter(location_id="E1")["rh_percent"].mean()
    )
    assert (
        fortnight.filter(location_id="GW")["temperature_c"].max()
        > 30
        > fortnight.filter(location_id="E1")["temperature_c"].max()
    )


def test_hourly_for_26_months_daily_before(brought_in):
    last = brought_in.store.read_hours(["E2"], datetime(2024, 8, 1).date(), datetime(2026, 9, 30).date())
    early = brought_in.store.read_hours(["E2"], datetime(2018, 1, 1).date(), datetime(2018, 12, 31).date())

    assert last.height == (datetime(2026, 10, 1) - datetime(2024, 8, 1)).days * 24
    assert early.height == 365
