"""What was stated of a year is frozen once, stands beside the next, and its changed definitions are flagged."""

import shutil
from datetime import date

import polars as pl
import pytest

from collection.questions.statement import frozen, two_years
from collection.recording.statements import YearlyStatement, freeze, yearly_statement
from collection.store import Change, Store

TODAY = date(2026, 9, 30)


@pytest.fixture(scope="module")
def filled_once(tmp_path_factory: pytest.TempPathFactory) -> Store:
    """Two objects checked in 2023 and 2025."""
    checks = [(f"{o}{y}", o, date(y, 6, 1)) for o in "ab" for y in (2023, 2025)]
    frame = pl.DataFrame(checks, schema=["check_id", "object_id", "day"], orient="row")
    dated = frame.select(
        "check_id", "object_id", checked_on=pl.col("day").cast(pl.String), checked_on_earliest="day",
        checked_on_latest="day", look=pl.lit("inspection"), visit=pl.lit("examined"),
    )  # fmt: skip
    rows = {
        "object": pl.DataFrame({"object_id": ["a", "b"]}),
        "condition_check": dated,
        "setting": pl.DataFrame({"name": ["today"], "value": [TODAY.isoformat()]}),
    }
    store = Store(tmp_path_factory.mktemp("museum") / "enamels.duckdb")
    store.write(Change(rows), by="tester")
    return store


@pytest.fixture
def museum(store: Store, filled_once: Store) -> Store:
    shutil.copyfile(filled_once.path, store.path)
    return store


@pytest.fixture(scope="module")
def of_2025(filled_once: Store) -> YearlyStatement:
    """The figures of 2025 before they are frozen."""
    return yearly_statement(filled_once, 2025)


@pytest.fixture(scope="module")
def frozen_once(
    filled_once: Store, of_2025: YearlyStatement, tmp_path_factory: pytest.TempPathFactory
) -> tuple[Store, str]:
    """A museum whose figures of 2025 Ida froze, and what she was answered; to be copied and never written to."""
    store = Store(tmp_path_factory.mktemp("frozen") / "enamels.duckdb")
    shutil.copyfile(filled_once.path, store.path)
    return store, freeze(store, of_2025, by="Ida", today=TODAY)


@pytest.fixture
def frozen_museum(store: Store, frozen_once: tuple[Store, str]) -> Store:
    shutil.copyfile(frozen_once[0].path, store.path)
    return store


def frozen_now(museum: Store, year: int, by: str = "Ida") -> str:
    return freeze(museum, yearly_statement(museum, year), by=by, today=TODAY)


def test_a_year_that_is_over_is_frozen_once(frozen_museum, frozen_once):
    museum = frozen_museum
    assert frozen_once[1] == "The figures of 2025 are frozen: 9 measures."
    assert frozen_now(museum, 2025) == (
        "The figures of 2025 are as they were frozen on 30 September 2026 by Ida. Nothing was written."
    )
    assert museum.read()["statement"].height == 9
    assert set(museum.read_journal(record="statement")["changed_by"]) == {"Ida"}


def test_a_year_that_is_not_over_and_nobody_freeze_nothing(museum, of_2025):
    assert frozen_now(museum, 2026) == "The year 2026 is not over before 31 December 2026: nothing was frozen."
    assert freeze(museum, of_2025, by=" ", today=TODAY) == "First give your name."
    assert museum.read()["statement"].is_empty()


def test_frozen_figures_stay_when_records_change(frozen_museum):
    museum = frozen_museum
    museum.write(Change({"object": pl.DataFrame({"object_id": ["c", "d"]})}), by="tester")

    its = yearly_statement(museum, 2025)
    assert its.now.filter(measure="checked")["value"].item() == 100.0
    assert its.frozen == "The figures of 2025 are as they were frozen on 30 September 2026 by Ida."
    following = yearly_statement(museum, 2026)
    assert following.now.filter(measure="checked")["value"].item() == 50.0
    assert following.before.filter(measure="checked")["value"].item() == 100.0


def test_a_definition_changed_since_is_flagged_beside_the_next_year(frozen_museum):
    museum = frozen_museum
    rows = museum.read()["statement"].filter(measure="hours")
    museum.write(
        Change({"statement": rows.select("year", "measure", "row_version", definitions_version=pl.lit("0"))}),
        by="tester",
    )

    its = yearly_statement(museum, 2026)
    table = two_years(its.now, its.before)
    assert table.filter(pl.col("changed") != "").select("measure", "changed").rows() == [
        ("hours", "defined otherwise then: version 0, now 1")
    ]


def test_nothing_frozen_is_nothing(museum, of_2025):
    assert frozen(museum.read(), 2025).is_empty()
    assert of_2025.frozen == ""


def test_the_command_freezes_and_says_so(museum, enamels):
    code, out, err = enamels("statement", "2025", "--freeze", "--by", "Ida", "--store", str(museum.path))

    assert code == 0, err
    assert out.startswith("The figures of 2025 are frozen: 9 measures.")
    assert "frozen on 30 September 2026 by Ida" in out
    assert museum.read()["statement"].height == 9
