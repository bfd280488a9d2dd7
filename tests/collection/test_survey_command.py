"""`enamels survey`, from planning to the filled sheet that comes back, on a small register and on the demonstration."""

import json
import shutil
from datetime import date

import openpyxl
import polars as pl
import pytest

from collection.store import Change, Store
from tests.collection.questions.test_surveys import records
from tests.collection.risk.builders import register

pytestmark = pytest.mark.usefixtures("assessed_once")

AS_OF = ("--as-of", "2026-07-01")


@pytest.fixture(scope="module")
def house_once(tmp_path_factory):
    its = register(**records(survey=[], survey_unit=[], condition_check=[], damage=[], observation=[]))
    store = Store(tmp_path_factory.mktemp("house") / "enamels.duckdb")
    store.write(
        Change({n: f.drop("row_version", strict=False) for n, f in its.frames.items() if f.height}), by="tester"
    )
    return store


@pytest.fixture
def house(store, house_once):
    shutil.copyfile(house_once.path, store.path)
    return store


@pytest.fixture
def asked(enamels, house):
    def ask(*arguments):
        code, out, err = enamels("survey", *arguments, "--store", str(house.path), *AS_OF)
        return code, (json.loads(out) if "--json" in arguments else out), err

    return ask


def test_from_the_plan_to_the_sheet_that_comes_back(asked, enamels, house, tmp_path):
    _, plan, _ = asked("plan", "--size", "6", "--design", "stratified", "--groups", "place", "--json")
    assert [(g["stratum"], g["held"], g["drawn"]) for g in plan["groups"]] == [("L2", 6, 3), ("Lower room", 6, 3)]

    code, drawn, _ = asked(
        "draw", "--size", "6", "--question", "Is it loose?", "--location", "L1", "--by", "Ida", "--json"
    )
    assert code == 0
    number = drawn["survey_id"]
    row = house.read()["survey"].row(0, named=True)
    assert (row["question"], row["frame"], row["size"], row["sampling"]) == ("Is it loose?", "place: L1", 6, "simple")
    assert {unit["unit_id"] for unit in drawn["units"]} == {f"O{n:02}" for n in range(0, 12, 2)}

    code, out, _ = asked("list", number, "--out", str(tmp_path / "walk"))
    assert code == 0
    assert f"enamels intake survey_{number}.xlsx --as condition_check" in out
    sheet = tmp_path / "walk" / f"survey_{number}.xlsx"
    book = openpyxl.load_workbook(sheet)
    page = book.active
    at = {cell.value: cell.column for cell in page[1]}
    for n in range(2, page.max_row + 1):
        for name, value in (
            ("checked_on", date(2026, 6, 20)),
            ("examiner", "Ida"),
            ("grade", "good"),
            ("visit", "examined"),
        ):
            page.cell(n, at[name]).value = value
    book.save(sheet)
    code, out, err = enamels("intake", str(sheet), "--as", "condition_check", "--yes", "--store", str(house.path))
    assert code == 0, out + err

    _, found, _ = asked("estimate", number, "--json")
    rows = {r["measure"]: r for r in found["estimates"]}
    assert (rows["graded poor or worse"]["n"], rows["graded poor or worse"]["value"]) == (6, 0.0)
    assert rows["graded poor or worse"]["method"] == "exact limits"
    assert "Nothing waits." in asked("list", number)[1]


def test_what_is_missing_or_not_there_is_said(asked, house):
    code, _, err = asked("draw", "--question", " ", "--by", "Ida")
    assert (code, "First say what is asked." in err) == (2, True)
    code, _, err = asked("estimate", "S9")
    assert (code, "there is no survey 'S9'" in err) == (5, True)
    assert house.read()["survey"].is_empty()


def test_the_demonstration_tells_what_its_surveys_found_and_who_agrees(enamels, demonstration):
    store = str(demonstration.path)
    code, out, _ = enamels("survey", "list", "--store", store, "--json")
    assert code == 0
    assert {r["survey_id"] for r in json.loads(out)["surveys"]} >= {
        "S16",
        "S17",
        "S19",
        "S21",
        "S23",
        "S24",
        "S25",
        "S26",
    }

    _, out, _ = enamels("survey", "agree", "--store", store, "--json")
    its = json.loads(out)["agreement"]
    assert its["n"] >= 20
    assert its["low"] <= its["value"] <= its["high"]
    assert its["method"] == "Krippendorff's alpha, ordinal"


def test_a_survey_and_its_objects_go_out_and_come_back_in_a_package(house, tmp_path):
    house.write(
        Change({
            "survey": pl.DataFrame({"survey_id": ["S"], "sampling": ["simple"], "size": [1], "margin": [0.05]}),
            "survey_unit": pl.DataFrame({"survey_id": ["S"], "unit_id": ["O01"], "chance": [0.5], "draw_order": [1]}),
        }), by="Ida",
    )  # fmt: skip
    house.publish(tmp_path / "p", "csv")
    other = type(house)(tmp_path / "other.duckdb")
    other.import_package(tmp_path / "p")

    for name in ("survey", "survey_unit"):
        assert (
            other.read()[name]
            .drop("row_version", "entry_no", strict=False)
            .equals(house.read()[name].drop("row_version", "entry_no", strict=False))
        )
