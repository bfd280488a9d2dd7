"""What is refused is what was put in on purpose, and nothing else."""

import json

from collection.validation.problems import rules

CANNOT_STAND_IN_A_FILE = {
    "changed_here_since",  # needs a value that a person changed in the register after the file came in
}


def test_the_rows_set_aside_are_those_listed_apart(brought_in, listed_mistakes):
    found = {
        (row["file"], row["sheet"], str(row["source_row"]), reason["rule"])
        for row in brought_in.refused.iter_rows(named=True)
        for reason in json.loads(row["problems"])
    }

    assert found == {(m["file"], m["sheet"], m["source_row"], m["rule"]) for m in listed_mistakes}


def test_every_rule_that_a_file_can_break_is_broken_once(listed_mistakes):
    refusing = {name for name, rule in rules().items() if rule.level == "refuse"}

    assert refusing - {m["rule"] for m in listed_mistakes} == CANNOT_STAND_IN_A_FILE


def test_some_rows_are_asked_about(brought_in):
    asked = set(brought_in.problems.filter(level="ask")["rule"])

    assert {"kept_with_a_flag", "numbers_as_a_range", "shares_do_not_sum", "treatment_without_authorisation"} <= asked
    assert not {"grade_above_floor", "grade_without_cause", "stable_without_comparison"} & asked


def test_bringing_in_the_catalogue_again_changes_nothing(brought_in):
    from collection.intake import pipeline as path
    from demo_collection import manifest

    kept = brought_in.store.read()
    opened = path.open_files([manifest.FILES / "bequest_list.csv"], kept, "object")
    again = path.intake(brought_in.store, opened, kept, by="demonstration", dry_run=True)

    assert again.files.select("accepted", "unchanged").row(0) == (0, again.files["rows"][0])
