"""Rows by record are judged without any file: a form and a file go through the same function."""

import polars as pl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from collection.snapshot import Collection
from collection.validation.problems import rules
from collection.validation.validate import validate
from tests.collection.validation.rows import EMPTY, TODAY, outcomes, rows


def test_typed_rows_of_a_form_and_rows_as_text_become_the_same():
    form = rows(object_id=["V.1"], height_mm=[12.5], technique=[["painted", "grisaille"]], condition_remark_on=["1986"])
    text = rows(object_id=["V.1"], height_mm=["12,5 mm"], technique=["painted;grisaille"], condition_remark_on=["1986"])

    one, other = (validate({"object": frame}, EMPTY, today=TODAY).accepted["object"] for frame in (form, text))

    assert one.rows() == other.rows()
    assert one["height_mm"].to_list() == [12.5]


def test_each_row_has_one_outcome_and_problems_name_record_and_row():
    given_rows = {
        "observation": rows(check_id=["C.1", "C.9"], damage_id=["D.1", "D.1"], activity=["active", "active"]),
        "damage": rows(damage_id=["D.1"], object_id=["V.1"], kind=["lifting"]),
        "condition_check": rows(check_id=["C.1"], object_id=["V.1"], checked_on=["2026-05-02"], look=["sweep"]),
        "object": rows(object_id=["V.1", None]),
    }

    result = validate(given_rows, EMPTY, today=TODAY)

    assert sorted(outcomes(result)) == [
        ("condition_check", 1, "new"),
        ("damage", 1, "new"),
        ("object", 1, "new"),
        ("object", 2, "refused"),
        ("observation", 1, "new"),
        ("observation", 2, "refused"),
    ]
    refused = result.problems.filter(level="refuse").select("record", "row", "rule").rows()
    assert sorted(refused) == [("object", 2, "missing_value"), ("observation", 2, "unknown_reference")]
    assert result.accepted["part"].select("object_id", "part").rows() == [("V.1", "whole")]


def test_a_value_that_is_wrong_and_may_be_lacking_is_asked_about_left_empty_and_the_rest_of_its_row_is_taken():
    given_rows = {
        "object": rows(
            object_id=["V.1", "V.2"], title=["Box", "Jug"], height_mm=[-5.0, 80.0],
            earliest_year=[1900, 1750], latest_year=[1800, 1760],
        )
    }  # fmt: skip

    result = validate(given_rows, EMPTY, today=TODAY)

    taken = result.accepted["object"].select("object_id", "title", "height_mm", "earliest_year", "latest_year")
    assert taken.rows() == [("V.1", "Box", None, None, None), ("V.2", "Jug", 80.0, 1750, 1760)]
    assert set(result.problems.select("row", "column", "rule", "level").rows()) >= {
        (1, "height_mm", "impossible_number", "ask"),
        (1, "earliest_year", "years_reversed", "ask"),
        (1, "latest_year", "years_reversed", "ask"),
    }


def test_new_changed_and_unchanged_are_told_apart_with_the_cells_that_change():
    held = Collection.of({"object": pl.DataFrame({"object_id": ["V.1", "V.2"], "title": ["Box", "Jug"]})})
    given_rows = rows(object_id=["V.1", "V.2", "V.3"], title=["Casket", "Jug", "Dish"], height_mm=["9", None, "5"])

    result = validate({"object": given_rows}, held, today=TODAY)

    assert [o for _, _, o in outcomes(result)] == ["changed", "unchanged", "new"]
    assert sorted(result.changes.select("key", "column", "before", "after").rows()) == [
        ("V.1", "height_mm", None, "9.0"),
        ("V.1", "title", '"Box"', '"Casket"'),
    ]


def test_a_whole_part_that_is_brought_in_takes_the_place_of_the_one_that_comes_with_the_object():
    parts = rows(object_id=["V.1"], part=["whole"], enamel_area_mm2=["9000"])

    result = validate({"part": parts, "object": rows(object_id=["V.1"])}, EMPTY, today=TODAY)

    assert result.accepted["part"].select("part", "enamel_area_mm2").rows() == [("whole", 9000.0)]
    assert result.problems.is_empty()


@pytest.mark.parametrize("day", ["0001", "2563-01-01", "2099", "1650-05"])
def test_a_day_on_which_nobody_can_have_looked_is_asked_about(day):
    checks = rows(check_id=["C.1"], object_id=["V.1"], checked_on=[day], look=["sweep"])

    result = validate({"object": rows(object_id=["V.1"]), "condition_check": checks}, EMPTY, today=TODAY)

    assert result.problems.select("rule", "column", "level").rows() == [("unlikely_date", "checked_on", "ask")]
    assert result.accepted["condition_check"]["checked_on"].to_list() == [day]


def test_numbers_that_differ_only_by_folded_letters_are_one_number():
    result = validate({"object": rows(object_id=["Straße 1", "Strasse 1"])}, EMPTY, today=TODAY)

    assert result.problems.select("row", "rule", "expected").rows() == [(2, "number_differs_in_case", "Straße 1")]


def test_parts_of_one_object_differ_in_more_than_case_and_parts_of_two_objects_need_not():
    parts = rows(object_id=["V.1", "V.2", "V.2"], part=["lid", "Lid", "lid"])

    result = validate({"object": rows(object_id=["V.1", "V.2"]), "part": parts}, EMPTY, today=TODAY)

    problems = result.problems.select("record", "row", "rule", "expected").rows()
    assert problems == [("part", 3, "number_differs_in_case", "V.2 / Lid")]


# The level of every rule that can set a row aside or empty a cell: a rule made milder or harder shows here.
REFUSES = {
    "reading_in_future", "reading_without_value",
    "ragged_row", "stray_quote", "line_too_long", "cell_too_long", "missing_value", "control_character",
    "number_as_path", "number_repeated", "number_differs_in_case", "within_itself", "changed_meanwhile",
    "unusable_setting", "unknown_rate", "years_out_of_order", "unknown_zone",
    "changed_here_since", "unknown_reference", "row_of_refused_parent", "check_of_another_object",
    "signed_check_changed", "closed_damage_observed", "part_in_two_places", "part_unknown", "not_offered",
    "undated_check", "option_of_nothing", "option_of_another_kind", "hours_out_of_order", "unknown_option_named",
    "needs_in_a_circle", "unknown_hazard_group", "hours_without_skill", "must_of_nothing", "must_without_loan",
    "frozen_plan_changed", "several_numbers", "second_table",
}  # fmt: skip
REFUSES_ONLY_WHERE_NEEDED = {
    "unreadable_letters", "formula_without_value", "error_cell", "cell_lost", "impossible_number", "colour_only", "year_zero",
    "impossible_date", "unknown_unit", "unknown_term", "wrong_form", "years_reversed",
}  # fmt: skip
NOTES = {
    "unit_not_stated", "encoding_guessed", "trailing_zeros_lost", "place_made", "place_moved", "sheet_hidden",
    "same_meaning", "legacy_grade", "sheet_left_out", "ditto", "sheet_on_its_side", "remark_not_read",
    "remark_partly_read", "second_table_read",
}  # fmt: skip


def test_every_rule_has_the_level_that_was_decided():
    levels = {name: (rule.level, rule.optional) for name, rule in rules().items()}

    assert {n for n, level in levels.items() if level == ("refuse", None)} == REFUSES
    assert {n for n, level in levels.items() if level == ("refuse", "ask")} == REFUSES_ONLY_WHERE_NEEDED
    assert {n for n, level in levels.items() if level == ("outside", None)} == {"outside_this_collection"}
    assert {n for n, level in levels.items() if level == ("note", None)} == NOTES
    assert {n for n, level in levels.items() if level[0] == "ask"} == set(levels) - REFUSES - NOTES - (
        REFUSES_ONLY_WHERE_NEEDED | {"outside_this_collection"}
    )


@given(
    st.dictionaries(st.sampled_from(["object_id", "title", "height_mm", "technique", "status"]), st.text(max_size=12))
)
@settings(max_examples=80, deadline=None)
def test_no_row_makes_validation_fail(cells):
    frame = rows(**{name: [text] for name, text in cells.items()}) if cells else rows(object_id=[None])
    result = validate({"object": frame.cast(dict.fromkeys(cells, pl.String))}, EMPTY, today=TODAY)

    assert result.outcomes.height == 1


@pytest.mark.parametrize(
    ("written", "meant"), [("1961.112", "'1961.12'"), ("k 108", "'K 108'"), ("quite another", "in the register")]
)
def test_an_unknown_number_is_answered_with_the_one_most_like_it(written, meant):
    held = Collection.of({"object": pl.DataFrame({"object_id": ["1961.12", "1975.3", "K 108"]})})

    result = validate({"damage": rows(damage_id=["D"], object_id=[written], kind=["chip"])}, held, today=TODAY)

    assert meant in result.problems["expected"][0]
