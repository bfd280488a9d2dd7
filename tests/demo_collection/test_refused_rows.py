"""What is refused is what was put in on purpose, and nothing else."""

import json

import polars as pl

from collection.validation.problems import rules

CANNOT_STAND_IN_A_FILE = {
    "changed_here_since",  # needs a value that a person changed in the register after the file came in
    "changed_meanwhile",  # needs somebody else who writes while the file is read
}
# Broken by a file of its own in tests/collection/intake, so that the demonstration's places and sizes stay as they are.
BROKEN_ELSEWHERE = {
    "reading_in_future",
    "reading_without_value",
    "within_itself",
    "line_too_long",
    "unusable_setting",
    "unknown_rate",
    "years_out_of_order",
    "unknown_zone",
    "several_numbers",  # tests/collection/intake/test_what_cells_stand_for.py
    "second_table",  # tests/collection/intake/test_sheets_as_they_are.py
    # tests/collection/validation/test_plan_rules.py
    "option_of_nothing",
    "option_of_another_kind",
    "hours_out_of_order",
    "unknown_option_named",
    "needs_in_a_circle",
    "unknown_hazard_group",
    "hours_without_skill",
    "must_of_nothing",
    "must_without_loan",
    "frozen_plan_changed",
}
# Cells that may be empty: the row is accepted without them and the question is listed.
ODD_CELLS = {
    ("catalogue.csv", 273, "impossible_date", "condition_remark_on"),
    ("catalogue.csv", 460, "unknown_term", "status"),
    ("catalogue.csv", 330, "unreadable_letters", "title"),
    ("recent_acquisitions.csv", 32, "year_zero", "earliest_year"),
    ("recent_acquisitions.csv", 27, "years_reversed", "earliest_year"),
    ("recent_acquisitions.csv", 27, "years_reversed", "latest_year"),
    ("recent_acquisitions.csv", 30, "impossible_number", "height_mm"),
    ("recent_acquisitions.csv", 28, "unknown_unit", "width_mm"),
    ("recent_acquisitions.csv", 16, "wrong_form", "currency"),
    ("loans.xlsx", 9, "formula_without_value", "crate_no"),
}


def test_the_rows_set_aside_are_those_listed_apart(brought_in, listed_mistakes):
    refused = {
        (row["file"], row["sheet"], str(row["source_row"]), reason["rule"])
        for row in brought_in.refused.iter_rows(named=True)
        for reason in json.loads(row["problems"])
    }

    assert refused == {(m["file"], m["sheet"], m["source_row"], m["rule"]) for m in listed_mistakes}


def test_every_rule_that_a_file_can_break_is_broken_once(listed_mistakes):
    refusing = {name for name, rule in rules().items() if rule.level in ("refuse", "outside") and not rule.optional}

    assert refusing - {m["rule"] for m in listed_mistakes} == CANNOT_STAND_IN_A_FILE | BROKEN_ELSEWHERE


def test_one_odd_cell_is_left_empty_and_its_row_is_accepted(brought_in):
    cells = brought_in.problems.join(pl.DataFrame({"rule": sorted({c[2] for c in ODD_CELLS})}), on="rule", how="semi")

    assert set(cells.select("file", "source_row", "rule", "column").rows()) == ODD_CELLS
    assert set(cells["level"]) == {"ask"}


def test_some_rows_are_asked_about(brought_in):
    asked = set(brought_in.problems.filter(level="ask")["rule"])

    assert {"kept_with_a_flag", "numbers_as_a_range", "shares_do_not_sum", "treatment_without_authorisation"} <= asked
    assert not {"grade_above_floor", "grade_without_cause", "stable_without_comparison"} & asked


def test_bringing_in_the_catalogue_again_changes_nothing(brought_in):
    from collection.intake import pipeline as path
    from demo_collection import manifest

    held = brought_in.store.read()
    opened = path.open_files([manifest.FILES / "bequest_list.csv"], held, "object")
    again = path.intake(brought_in.store, opened, held, by="demonstration", dry_run=True)

    assert again.files.select("new", "changed", "unchanged").row(0) == (0, 0, again.files["rows"][0])
