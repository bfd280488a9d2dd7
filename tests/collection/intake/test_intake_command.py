"""`enamels intake` as a person uses it: what it asks, what it says, what it counts."""

import json
import os
from pathlib import Path

import polars as pl
import pytest

from collection.commands.intake_answer import count, shown
from collection.store import Change, Store
from schemas.errors import SourceRefused, WrongUsage


@pytest.fixture
def at_a_terminal(monkeypatch):
    """Answers typed one after another."""

    def answers(*typed: str) -> None:
        left = list(typed)
        monkeypatch.setattr("collection.commands.intake.sys.stdin.isatty", lambda: True)
        monkeypatch.setattr("click.confirm", lambda *_, **__: left.pop(0) == "y")
        monkeypatch.setattr("click.prompt", lambda *_, **__: left.pop(0))

    return answers


CHECKS = ("c.csv", "Date;Inv. no.;Examiner;Condition", "12.03.2019;K 108;Ada;good")


@pytest.mark.parametrize("agreed", [(), ("--yes",), ("--dry-run",)])
def test_without_a_terminal_a_doubtful_sheet_gives_both_suggestions_and_code_2(agreed, enamels, write_csv, tmp_path):
    write_csv(*CHECKS)

    code, out, err = enamels("intake", "c.csv", *agreed)

    assert code == WrongUsage.code
    assert 'record = "object"' in out
    assert 'record = "condition_check"' in out
    assert "--as condition_check" in err
    assert not (tmp_path / "enamels.duckdb").exists()


def test_at_a_terminal_a_person_says_catalogue_or_checks(enamels, write_csv, at_a_terminal):
    write_csv("o.csv", "object_id,title", "K 108,Summer")
    write_csv(*CHECKS)
    enamels("intake", "o.csv", "--yes")
    at_a_terminal("checks", "y")

    code, _, _ = enamels("intake", "c.csv")

    held = Store(Path("enamels.duckdb")).read()
    assert code == 0
    assert held["condition_check"]["check_id"].to_list() == ["K 108/2019-03-12"]
    assert held["object"]["earliest_year"].to_list() == [None]


def test_cells_that_would_change_are_shown_before_they_are_written(enamels, write_csv, at_a_terminal):
    write_csv("o.csv", "object_id,title,culture", "K 108,Summer,", "K 109,Bowl,")
    write_csv("p.csv", "object_id,title,culture", "K 108,Late summer,Vellmouth", "K 110,Jug,")
    enamels("intake", "o.csv", "--yes")
    at_a_terminal("y", "n", "y", "y")

    _, shown_first, _ = enamels("intake", "p.csv")
    before = Store(Path("enamels.duckdb")).read()["object"]["title"].to_list()
    code, _, _ = enamels("intake", "p.csv")
    after = Store(Path("enamels.duckdb")).read()["object"]["title"].to_list()

    assert 'object K 108, title: "Summer" -> "Late summer"' in shown_first
    assert before == ["Summer", "Bowl"]
    assert (code, after) == (0, ["Late summer", "Bowl", "Jug"])


def test_new_changed_and_unchanged_are_counted_apart_in_words_and_in_the_document(enamels, write_csv):
    write_csv("o.csv", "object_id,title", "K 108,Summer", "K 109,Bowl")
    write_csv("p.csv", "object_id,title,culture", "K 108,Late summer,Vellmouth", "K 109,Bowl,", "K 110,Jug,")
    enamels("intake", "o.csv", "--yes")

    code, out, err = enamels("intake", "p.csv", "--yes", "--json")

    document = json.loads(out)
    (file,) = document["files"]
    assert (code, file["new"], file["changed"], file["unchanged"]) == (0, 1, 1, 1)
    assert document["changed_cells"] == [
        {"record": "object", "column": "culture", "filled": 1, "replaced": 0, "first_key": None, "before": None, "after": None},
        {"record": "object", "column": "title", "filled": 0, "replaced": 1, "first_key": "K 108", "before": '"Summer"', "after": '"Late summer"'},
    ]  # fmt: skip
    assert document["delivery_id"]
    assert "3 rows: 1 new, 1 changed, 1 unchanged" in err
    assert '1 filled cell changed (first K 108: "Summer" -> "Late summer")' in err


def test_what_a_terminal_would_obey_is_shown(enamels, write_csv):
    write_csv("o.csv", "object_id,height_mm", "V.1,\x1b[2Jtall")

    _, out, _ = enamels("intake", "o.csv", "--yes")

    assert "\x1b" not in out
    assert "\\x1b[2Jtall" in out
    assert shown("a\x1bb\u202ec") == "a\\x1bb\\x202ec"


def test_the_loser_of_two_writers_is_told_both_values_and_what_to_do(enamels, write_csv, monkeypatch):
    write_csv("o.csv", "object_id,title", "V.1,Box", "V.2,Jug")
    write_csv("p.csv", "object_id,title", "V.1,Late summer", "V.2,Jug")
    enamels("intake", "o.csv", "--yes")
    from collection.intake import pipeline

    def first(store, examined, *, by, write=pipeline.write):
        frame = pl.DataFrame({"object_id": ["V.1"], "title": ["Reliquary"], "row_version": [1]})
        store.write(Change({"object": frame}), by="ida")
        return write(store, examined, by=by)

    monkeypatch.setattr("collection.commands.intake.pipeline.write", first)

    code, out, err = enamels("intake", "p.csv", "--yes", "--json")

    document = json.loads(out)
    assert code == SourceRefused.code
    assert (document["files"][0]["changed"], document["files"][0]["refused"]) == (0, 1)
    assert document["conflicts"][0]["yours"] == '"Late summer"'
    assert document["conflicts"][0]["theirs"] == '"Reliquary"'
    for part in ("ida", '"Late summer"', '"Reliquary"', "Look at both values"):
        assert part in err
    held = Store(Path("enamels.duckdb")).read()["refused_row"]
    assert held.select("source_row", "outcome", "settled_by").rows() == [(2, "refused", None)]
    assert "changed_meanwhile" in held["problems"][0]
    assert "Reliquary" in held["problems"][0]


def test_a_file_name_that_is_no_utf_8_or_holds_an_escape_ends_in_words(enamels, tmp_path):
    for name in (b"o\xff.csv", b"o\x1b[2J.csv"):
        path = Path(os.fsdecode(os.fsencode(tmp_path) + b"/" + name))
        path.write_text("object_id,title\nV.1,Box\n", "utf-8")
        code, out, err = enamels("intake", str(path), "--yes")
        assert code in (0, SourceRefused.code), err
        assert "\x1b" not in out
        assert "fault of the register" not in err


def test_plurals_are_right():
    assert [count(n, "row") for n in (0, 1, 2, 1_000)] == ["0 rows", "1 row", "2 rows", "1,000 rows"]


def test_a_file_that_gave_no_row_ends_with_3(enamels, write_csv):
    write_csv("o.csv", "object_id,title", "../x,Box")

    assert enamels("intake", "o.csv", "--yes")[0] == SourceRefused.code


def test_logger_files_are_counted_one_by_one_and_read_again_they_are_unchanged(enamels, write_csv):
    for name in ("A", "B"):
        write_csv(
            f"{name}.csv",
            "logger_id,read_at,rh_percent",
            f"{name},2026-01-01T00:00:00,44",
            f"{name},2026-01-01T01:00:00,45",
        )

    _, first, _ = enamels("intake", "A.csv", "B.csv", "--yes", "--json")
    _, again, _ = enamels("intake", "A.csv", "B.csv", "--yes", "--json")

    assert [(f["new"], f["unchanged"]) for f in json.loads(first)["files"]] == [(2, 0), (2, 0)]
    assert [(f["new"], f["unchanged"]) for f in json.loads(again)["files"]] == [(0, 2), (0, 2)]


def test_logger_files_of_one_name_from_two_folders_are_held_apart(enamels, tmp_path):
    for folder, logger in (("a", "A"), ("b", "B")):
        (tmp_path / folder).mkdir()
        (tmp_path / folder / "log.csv").write_text(
            f"logger_id,read_at,rh_percent\n{logger},2026-01-01T00:00:00,44\n", "utf-8"
        )

    code, out, _ = enamels("intake", "a/log.csv", "b/log.csv", "--yes", "--json")

    assert code == 0
    assert json.loads(out)["written"]["added"]["climate_reading"] == 2
    assert Store(Path("enamels.duckdb")).read()["intake_file"].height == 2


def test_a_file_whose_headings_say_nothing_gives_a_mapping_to_fill_in(enamels, write_csv, tmp_path):
    write_csv("o.csv", "Q1,Q2", "V.1,Box", "V.2,Jug", "V.3,Cup", "V.4,Pan")

    code, out, err = enamels("intake", "o.csv", "--yes")

    assert code == WrongUsage.code
    assert 'Q1 = "" # V.1 | V.2 | V.3\n' in out
    assert 'Q2 = "" # Box | Jug | Cup\n' in out
    assert "o.csv: no heading could be taken for the number of any record." in err
    filled = out.replace('record = ""', 'record = "object"').replace('Q1 = ""', 'Q1 = "object_id"')
    (tmp_path / "m.toml").write_text(filled.replace('Q2 = ""', 'Q2 = "title"'), "utf-8")
    code, _, _ = enamels("intake", "o.csv", "--mapping", "m.toml")
    assert code == 0
    assert Store(Path("enamels.duckdb")).read()["object"]["title"].to_list() == ["Box", "Jug", "Cup", "Pan"]


def test_with_the_record_named_the_known_headings_are_filled_in(enamels, write_csv):
    write_csv("o.csv", "Q1,Title", "V.1,Box")

    code, out, _ = enamels("intake", "o.csv", "--as", "object")

    assert code == WrongUsage.code
    assert 'record = "object"\n' in out
    assert 'Q1 = "" # V.1\n' in out
    assert 'Title = "title" # Box\n' in out


def test_sheets_whose_headings_say_nothing_are_listed_and_need_not_all_be_filled_in(enamels, write_xlsx, tmp_path):
    write_xlsx("o.xlsx", East=[["Q1"], ["V.1"]], West=[["Q2"], ["V.2"]])

    code, out, _ = enamels("intake", "o.xlsx")

    assert code == WrongUsage.code
    assert '[sheet.East.columns]\nQ1 = "" # V.1\n' in out
    assert '[sheet.West.columns]\nQ2 = "" # V.2\n' in out
    filled = out.replace('record = ""', 'record = "object"', 1).replace('Q1 = ""', 'Q1 = "object_id"')
    (tmp_path / "m.toml").write_text(filled, "utf-8")
    code, out, _ = enamels("intake", "o.xlsx", "--mapping", "m.toml")
    assert (code, "o.xlsx, West: left out" in out) == (0, True)
    assert Store(Path("enamels.duckdb")).read()["object"]["object_id"].to_list() == ["V.1"]


def test_headings_of_a_mapping_that_the_file_does_not_have_are_named(enamels, write_csv, tmp_path):
    write_csv("o.csv", "N,T", "V.1,Box")
    columns = '"N" = "object_id"\n"T" = "title"\n"Who" = "culture"\n"Spare" = ""\n'
    (tmp_path / "m.toml").write_text(f'record = "object"\n[columns]\n{columns}', "utf-8")

    code, out, _ = enamels("intake", "o.csv", "--mapping", "m.toml")

    assert code == 0
    assert "o.csv: headings of the mapping that it does not have: 'Who'." in out
    assert "Spare" not in out
