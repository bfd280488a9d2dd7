"""Nothing dropped, nothing twice: outcomes sum to the rows, and the same file again changes nothing."""

import csv
import hashlib
import random
from datetime import date
from pathlib import Path

import polars as pl
import pytest
import xlsxwriter
from hypothesis import given, settings
from hypothesis import strategies as st

from collection.intake import pipeline as way_in
from collection.intake.files.refused_workbook import write_workbook
from collection.snapshot import stored_schema
from collection.store import Change, Store, journal, package

HEAD = ["object_id", "title", "Material", "Date", "height_mm", "Condition"]
ROWS = [
    ["V.1", "Plaque", "painted enamel on copper", "c. 1750", "120", "chipped at corner 1986"],
    ["V.2", "Bowl", "cloisonné enamel on copper, gilt", "19th century", "80", ""],
    ["V.3", "Vase", "porcelain, overglaze enamel", "1800", "200", ""],
    ["../V.4", "Box", "enamel on gold", "1780", "95", ""],
    ["V.5", "Cross", "champlevé enamel on copper", "13th century", "210", "losses"],
    ["V.6", "Dish", "painted enamel on copper", "1890", "30", ""],
]


def write(path: Path, rows: list[list[str]]) -> Path:
    with path.open("w", newline="", encoding="utf-8") as out:
        csv.writer(out).writerows([HEAD, *rows])
    return path


def counts(result: way_in.Intake) -> dict[str, int]:
    return result.files.row(0, named=True)


def state(store: Store, folder: Path) -> tuple[str, int]:
    """SHA-256 over the published package, and the last number of the journal."""
    listed = store.publish(folder, "csv")
    whole = hashlib.sha256("".join(listed["sha256"]).encode()).hexdigest()
    return whole, store.read_journal()["seq"].max()  # type: ignore[return-value]


def test_outcomes_are_what_they_should_be(tmp_path, bring_in):
    result = bring_in(write(tmp_path / "a.csv", ROWS))

    assert counts(result) == {
        "file": "a.csv",
        "rows": 6,
        "blank": 0,
        "new": 4,
        "changed": 0,
        "unchanged": 0,
        "outside": 1,
        "refused": 1,
        "between": 0,
    }


def test_the_same_file_again_shuffled_or_as_a_workbook_changes_nothing(tmp_path, bring_in, store):
    bring_in(write(tmp_path / "a.csv", ROWS))
    before = state(store, tmp_path / "p1")

    bring_in(tmp_path / "a.csv")
    assert state(store, tmp_path / "p2") == before

    bring_in(write(tmp_path / "b.csv", random.Random(3).sample(ROWS, len(ROWS))))
    assert state(store, tmp_path / "p3") == before

    with xlsxwriter.Workbook(tmp_path / "a.xlsx") as book:
        sheet = book.add_worksheet()
        for line, row in enumerate([HEAD, *ROWS]):
            for column, cell in enumerate(row):
                sheet.write_string(line, column, cell)
    bring_in(tmp_path / "a.xlsx")
    assert state(store, tmp_path / "p4") == before


@pytest.fixture(scope="module")
def as_they_are(tmp_path_factory) -> tuple[dict[str, int], pl.DataFrame]:
    """Counts and readings of the rows before anything moves."""
    return judged(tmp_path_factory.mktemp("as_they_are"), "a.csv", ROWS)


@given(st.data())
@settings(max_examples=50, deadline=None)
def test_deletions_repetitions_and_blank_rows_move_the_right_counter_by_one(tmp_path_factory, as_they_are, data):
    folder = tmp_path_factory.mktemp("moved")
    act = data.draw(st.sampled_from(["delete", "repeat", "blank"]))
    at = data.draw(st.integers(0, len(ROWS) - 1))
    to = data.draw(st.integers(0, len(ROWS)))
    before, plain = as_they_are
    rows = list(ROWS)
    if act == "delete":
        rows.pop(at)
    elif act == "repeat":
        rows.insert(to, ROWS[at])
    else:
        rows.insert(to, [""] * len(HEAD))

    after, readings = judged(folder, "b.csv", rows)

    outcome = plain.filter(pl.col("source_row") == at + 2)["outcome"].item()
    moved = {"delete": {outcome: -1, "rows": -1}, "blank": {"blank": 1}}.get(act) or {
        "unchanged" if outcome == "new" else outcome: 1,
        "rows": 1,
    }
    assert {k: after[k] - before[k] for k in before if k != "file" and after[k] != before[k]} == moved
    assert after["rows"] == sum(after[k] for k in ("new", "changed", "unchanged", "outside", "refused", "between"))
    with (folder / "b.csv").open(encoding="utf-8", newline="") as file:
        numbered = [n for n, row in enumerate(csv.reader(file), start=1) if n > 1 and any(row)]
    assert readings["source_row"].to_list() == numbered


def judged(folder: Path, name: str, rows: list[list[str]]) -> tuple[dict[str, int], pl.DataFrame]:
    store = Store(folder / f"{name}.duckdb")
    kept = way_in.held_or_empty(store)
    opened = way_in.open_files([write(folder / name, rows)], kept)
    result = way_in.intake(store, opened, kept, by="t", dry_run=True, with_readings=True)
    return counts(result), result.readings


def test_a_row_of_several_lines_counts_once(tmp_path, answer_to):
    result = answer_to(write(tmp_path / "a.csv", [["V.1", "one\ntwo\nthree", "enamel on gold", "", "1", ""], ROWS[1]]))

    assert result.readings.select("source_row", "object_id").rows() == [(2, "V.1"), (3, "V.2")]


def test_a_known_row_is_updated_where_the_file_says_more(tmp_path, bring_in, store):
    bring_in(write(tmp_path / "a.csv", ROWS[:2]))

    bring_in(write(tmp_path / "b.csv", [["V.1", "Plaque with a fox", "", "", "", ""], ROWS[1]]))

    kept = store.read()["object"]
    assert kept["title"].to_list() == ["Plaque with a fox", "Bowl"]
    assert kept["height_mm"].to_list() == [120.0, 80.0]  # an empty cell empties nothing


def test_what_a_person_changed_here_is_not_overwritten_by_a_file(tmp_path, bring_in, store):
    bring_in(write(tmp_path / "a.csv", ROWS[:2]))
    store.write(
        Change({"object": pl.DataFrame({"object_id": ["V.1"], "title": ["Fox plaque"], "row_version": [1]})}), by="ada"
    )

    result = bring_in(write(tmp_path / "b.csv", [["V.1", "Plaque of a dog", "", "", "", ""]]))

    (problem,) = result.problems.filter(pl.col("level") == "refuse").to_dicts()
    assert (problem["rule"], problem["column"], problem["value"]) == (
        "changed_here_since",
        "title",
        '"Plaque of a dog"',
    )
    assert "Fox plaque" in problem["expected"]
    assert store.read()["object"]["title"][0] == "Fox plaque"


def test_refused_rows_are_kept_exported_corrected_and_settled(tmp_path, bring_in, store):
    first = bring_in(write(tmp_path / "a.csv", ROWS))
    write_workbook(first.refused, tmp_path / "refused.xlsx")
    assert store.read()["refused_row"]["outcome"].to_list() == ["outside", "refused"]

    corrected = correct(tmp_path / "refused.xlsx", {"../V.4": "V.4"}, take_anyway="V.3")
    result = bring_in(corrected)

    assert counts(result)["new"] == 2
    assert store.read()["object"].filter(pl.col("object_id") == "V.4")["height_mm"].to_list() == [95.0]
    assert store.read()["refused_row"]["settled_by"].to_list() == ["tester, 2026-09-30"] * 2


def correct(path: Path, replaced: dict[str, str], *, take_anyway: str) -> Path:
    import openpyxl

    book = openpyxl.load_workbook(path)
    sheet = book.active
    take = next(c.column for c in sheet[1] if c.value == "take it anyway")
    for row in sheet.iter_rows(min_row=2):
        for cell in row:
            cell.value = replaced.get(cell.value, cell.value)
        if row[0].value == take_anyway:
            sheet.cell(row[0].row, take).value = "yes"
    book.save(path.with_name("corrected.xlsx"))
    return path.with_name("corrected.xlsx")


def test_a_dry_run_writes_nothing(tmp_path, bring_in, store):
    bring_in(write(tmp_path / "a.csv", ROWS), dry_run=True)

    assert not store.exists()


def test_a_remark_becomes_a_check_with_the_damage_it_names(tmp_path, bring_in, store):
    bring_in(write(tmp_path / "a.csv", ROWS))

    collection = store.read()
    checks = collection["condition_check"].select("object_id", "look", "checked_on")
    assert checks.rows() == [("V.1", "remark", "1986"), ("V.5", "remark", None)]
    assert collection["damage"].select("object_id", "kind").rows() == [("V.1", "chip"), ("V.5", "loss")]
    assert collection["observation"]["activity"].to_list() == ["unknown", "unknown"]


def test_the_journal_replayed_publishes_the_same_bytes_after_every_kind_of_write(tmp_path, bring_in, store):
    """An intake, a form, a withdrawal, a corrected refused row and a settlement (restore and package bring journals along)."""
    first = bring_in(write(tmp_path / "a.csv", ROWS))
    write_workbook(first.refused, tmp_path / "refused.xlsx")
    bring_in(correct(tmp_path / "refused.xlsx", {"../V.4": "V.4"}, take_anyway="V.3"))
    form = {"object_id": ["V.1", "V.2"], "row_version": [1, 1], "title": ["By hand", None]}
    store.write(Change({"object": pl.DataFrame(form, schema_overrides={"title": pl.String})}), by="ada")
    gone = {"object_id": ["V.6"], "row_version": [1], "withdrawn_on": [date(2026, 1, 2)], "withdrawn_reason": ["twice"]}
    store.write(Change({"object": pl.DataFrame(gone)}), by="ben")
    journal_rows = store.read_journal()
    replayed = journal.replay(journal_rows)

    kept = store.publish(tmp_path / "kept", "csv").filter(~pl.col("file").is_in(["journal.csv", "datapackage.json"]))
    told = package.publish(
        lambda spec: replayed.get(spec.name, pl.DataFrame(schema=stored_schema(spec))), tmp_path / "told", "csv"
    ).filter(pl.col("file") != "datapackage.json")

    assert kept.rows() == told.rows()
    assert set(journal_rows["changed_by"]) == {"tester", "ada", "ben"}
