"""Options that nobody estimated, as a list, a workbook to fill and what comes back; how far past estimates were off."""

from datetime import date

import openpyxl
import pytest

from collection.questions.estimates import bias, bias_sentence, to_estimate, to_estimate_sentence
from collection.store import Change
from tests.collection.planning.house import assessed_house, house, option

pytestmark = pytest.mark.usefixtures("assessed_once")

WITHOUT = [
    option("A1", "A", None, None), option("B1", "B"), option("C1", "C", None, status="dropped"),
    option("P1", None, None, 150, location_id="E1", steps=["rehouse"]),
]  # fmt: skip


def test_open_options_without_hours_those_to_act_on_now_first():
    triage = assessed_house(option=WITHOUT)
    rows = to_estimate(triage)

    assert rows.select("option_id", "name", "what").rows() == [
        ("A1", "Plaque A", "Consolidation"), ("P1", "East Store", "Rehousing"),
    ]  # fmt: skip
    assert to_estimate_sentence(triage, rows) == (
        "Get an estimate for these 2 options, 1 of them to act on now: `enamels estimates` writes a workbook to fill."
    )
    assert to_estimate_sentence(triage, to_estimate(assessed_house())) == ""


def treatments(*hours, step="consolidate"):
    return {
        "option": [option(f"A{n}", "A", 4.0, status="done", steps=[step]) for n in range(len(hours))],
        "option_effect": [],
        "treatment": [
            {"treatment_id": f"T{n}", "option_id": f"A{n}", "object_id": "A", "started_on": date(2026, 1, 1),
             "finished_on": date(2026, 2, 1), "hours": h, "steps": [step], "authorised_by": "Ida"}
            for n, h in enumerate(hours)
        ],
    }  # fmt: skip


def test_bias_is_on_the_average_of_logarithms_by_first_step_with_how_many():
    """Twice as long and half as long are even; 5.6 for 4 hours is 1.4 times."""
    assert bias(assessed_house(**treatments(8.0, 2.0)))["times"].to_list() == pytest.approx([1.0])
    rows = bias(assessed_house(**treatments(5.6, 5.6)))

    assert rows.select("first_step", "n").rows() == [("consolidate", 2)]
    assert bias_sentence(rows) == (
        "Past estimates, which the hours here allow for: consolidation took 1.4 times the hours planned (2 treatments)."
    )
    assert bias_sentence(bias(assessed_house())) == ""


@pytest.mark.parametrize("named", [True, False], ids=["named as options", "recognised"])
def test_the_workbook_filled_comes_back_through_the_way_in(named, store, enamels, tmp_path):
    rows = {n: f.drop("row_version", strict=False) for n, f in house(option=WITHOUT).frames.items() if f.height}
    store.write(Change(rows), by="tester")
    code, out, _ = enamels("estimates", "--out", "e.xlsx", "--as-of", "2026-09-30")
    assert code == 0, out
    assert "enamels intake e.xlsx --as option" in out
    book = openpyxl.load_workbook(tmp_path / "e.xlsx")
    headings = [cell.value for cell in book.active[1]]
    for heading, value in (("hours_low", 3), ("hours_likely", 5), ("hours_high", 9), ("materials_cost", 12.5)):
        book.active.cell(2, headings.index(heading) + 1, value)
    book.save(tmp_path / "filled.xlsx")

    code, out, err = enamels("intake", "filled.xlsx", "--yes", *(("--as", "option") if named else ()))

    assert code == 0, out + err
    assert "1 changed, 1 unchanged" in out
    kept = {row["option_id"]: row for row in store.read()["option"].iter_rows(named=True)}
    assert (kept["A1"]["hours_low"], kept["A1"]["hours_likely"], kept["A1"]["hours_high"]) == (3, 5, 9)
    assert float(kept["A1"]["materials_cost"]) == 12.5
    assert (kept["A1"]["steps"], kept["P1"]["hours_likely"], kept["P1"]["location_id"]) == (["consolidate"], None, "E1")
    again = enamels("estimates", "--as-of", "2026-09-30")[1]
    assert again.startswith("Get an estimate for this option: ")
    assert "P1: East Store: Rehousing" in again
