"""The year in measures: counts and rates by hand, flags of changed definitions, and the page."""

from dataclasses import replace
from datetime import date

import polars as pl
import pytest

from collection.documents.year_page import statement_page
from collection.questions import statement as of_year
from collection.questions.statement import (
    MEASURES,
    changed_words,
    defined,
    figure_words,
    sentence,
    statement,
    two_years,
)
from collection.questions.triage import Triage
from tests.collection.risk.builders import check, register, triaged

DAY = date(2025, 12, 31)


@pytest.fixture(scope="module")
def year() -> Triage:
    """Five objects, four checked in 2021 and again in 2025: a has a new chip, b began to move; a join failed in 2025."""
    checks = [check(f"{o}{y}", o, f"{y}-06-01") for o in "abcd" for y in (2021, 2025)]
    damage = [
        {"damage_id": "A", "object_id": "a", "part": "whole", "kind": "chip", "onset": "since_last_look"},
        {"damage_id": "B", "object_id": "b", "part": "whole", "kind": "lifting", "onset": "before_register"},
    ]
    lines = [("a2025", "A", "stable"), ("b2021", "B", "stable"), ("b2025", "B", "active")]
    repairs = [
        {"repair_id": r, "object_id": o, "part": "whole", "function": "holds", "material": "wax"}
        for r, o in (("R", "c"), ("S", "d"))
    ]
    states = [("c2021", "R", "sound"), ("c2025", "R", "failed"), ("d2021", "S", "sound"), ("d2025", "S", "sound")]
    treatments = [
        {"treatment_id": "T", "object_id": "a", "started_on": date(2025, 7, 1), "finished_on": date(2025, 7, 2), "hours": 3.5},
        {"treatment_id": "U", "object_id": "b", "started_on": date(2025, 7, 1), "finished_on": date(2025, 7, 2)},
        {"treatment_id": "V", "object_id": "c", "started_on": date(2024, 7, 1), "finished_on": date(2024, 7, 2), "hours": 9.0},
    ]  # fmt: skip
    collection = register(
        object=[{"object_id": o} for o in "abcde"], condition_check=checks, damage=damage, repair=repairs,
        observation=[{"check_id": c, "damage_id": d, "activity": a, "change": "unchanged"} for c, d, a in lines],
        repair_state=[{"check_id": c, "repair_id": r, "stability": s} for c, r, s in states], treatment=treatments,
    )  # fmt: skip
    return triaged(collection, DAY)


@pytest.fixture(scope="module")
def rows(year) -> pl.DataFrame:
    return statement(year, 2025)


def figures(rows: pl.DataFrame, measure: str) -> tuple:
    return rows.filter(measure=measure).select("value", "low", "high", "n").row(0)


def test_what_is_counted_has_no_limits_but_itself(rows):
    assert figures(rows, "checked") == (80.0, 80.0, 80.0, 5)
    assert figures(rows, "checked_in_year") == (4.0, 4.0, 4.0, 4)
    assert figures(rows, "treatments") == (2.0, 2.0, 2.0, 2)
    assert figures(rows, "hours") == (3.5, 3.5, 3.5, 1)


def test_rates_have_exact_limits(rows):
    """One new damage in four objects over 1,461 days each; one damage watched began to move; limits of a count of 1."""
    years = 1461 / 365.25

    new, moved = figures(rows, "new_damage"), figures(rows, "activation")
    assert new == pytest.approx((100 / (4 * years), 2.5318 / (4 * years), 557.1643 / (4 * years), 1), rel=1e-4)
    assert moved == pytest.approx((100 / years, 2.5318 / years, 557.1643 / years, 1), rel=1e-4)


def test_repairs_that_failed_of_those_assessed(rows):
    """1 of 2: exact limits 1.26 to 98.74 % (Clopper and Pearson 1934)."""
    assert figures(rows, "repairs_failed") == pytest.approx((50.0, 1.2579, 98.7421, 2), abs=1e-3)


def test_every_measure_is_defined_and_every_definition_measured(rows):
    assert list(MEASURES) == list(defined()) == rows["measure"].to_list()
    stated = rows.filter(pl.col("refused").is_null())
    assert (stated["low"] <= stated["value"]).all()
    assert (stated["value"] <= stated["high"]).all()
    assert stated["method"].str.len_chars().min() > 0


def test_where_there_is_nothing_the_reason_stands():
    bare = statement(triaged(register(object=[{"object_id": "a"}]), DAY), 2025)

    reasons = dict(bare.drop_nulls("refused").select("measure", "refused").rows())
    assert reasons == {
        "new_damage": "nobody looked twice", "activation": "nobody looked twice",
        "repairs_failed": "there is none to count", "value_lost": "no object has been checked",
    }  # fmt: skip
    assert figure_words(bare.filter(measure="new_damage").row(0, named=True)) == "nobody looked twice"


def test_a_changed_definition_is_flagged(rows, year):
    before = rows.with_columns(
        definitions_version=pl.when(pl.col("measure") == "new_damage")
        .then(pl.lit("0"))
        .otherwise("definitions_version")
    )
    table = two_years(rows, before)

    assert table.filter(pl.col("changed") != "").select("measure", "changed").rows() == [
        ("new_damage", "defined otherwise then: version 0, now 1")
    ]
    assert sentence(year, 2025, table).endswith("All 9 measures follow. 1 of them was defined otherwise before.")
    assert changed_words({"definitions_version": "1"}, None) == ""


def test_other_rates_are_another_definition_of_what_is_expected(year, rows):
    other = year.rates.damage.with_columns(pl.col("years_likely") * 2)
    changed = Triage(year.collection, year.risk, replace(year.rates, damage=other), year.classes)

    assert of_year.rates_digest(changed) != of_year.rates_digest(year)
    version = rows.filter(measure="value_lost")["definitions_version"].item()
    assert version == f"1, rates {of_year.rates_digest(year)}"


def test_an_unfinished_year_says_until_when(year):
    early = Triage(year.collection, year.risk, year.rates, year.classes)
    words = sentence(early, 2026, two_years(statement(early, 2026), statement(early, 2025)))

    assert words.startswith("The year 2026, until 31 December 2025: objects checked in the year 0, the year before ")


def test_the_page_has_figures_and_definitions(year, rows):
    lines = list(statement_page(year, 2025, rows, rows).lines())

    assert "The year 2025" in lines
    assert "New damage [per 100 object-years]" in lines
    assert any(line.startswith("Damage that was not there at the check before") for line in lines)
    assert "1" in lines
