"""Commands on a small catalogue: intake, triage, explain, dashboard, export, backup, journal; and the demonstration."""

import json
import shutil
import socket

import polars as pl
import pytest

from collection.commands.triage import one_row_each_task
from collection.store import Store
from schemas.errors import NotFound, WrongUsage

LINES = [
    "object_id,title,Material,Date,Dimensions",
    "V.1,Plaque,painted enamel on copper,c. 1750,H. 12 cm",
    "V.2,Vase,porcelain,1800,H. 20 cm",
]


@pytest.fixture(scope="module")
def filled_once(tmp_path_factory, bring_into):
    """A folder with the file and the store it came into; to be copied."""
    folder = tmp_path_factory.mktemp("filled")
    (folder / "c.csv").write_text("\n".join(LINES), "utf-8")
    assert bring_into(Store(folder / "enamels.duckdb"), folder / "c.csv").code == 0
    return folder


@pytest.fixture
def filled(enamels, filled_once, tmp_path):
    shutil.copytree(filled_once, tmp_path, dirs_exist_ok=True)
    return enamels


def test_without_a_terminal_the_suggested_mapping_is_the_answer(enamels, write_csv, tmp_path):
    write_csv("c.csv", *LINES)

    code, out, err = enamels("intake", "c.csv")

    assert code == WrongUsage.code
    assert "--yes" in err
    (tmp_path / "m.toml").write_text(out, "utf-8")
    assert enamels("intake", "c.csv", "--mapping", "m.toml")[0] == 0


def test_intake_counts_and_names_the_rules(enamels, write_csv):
    write_csv("c.csv", *LINES, "V.3,Box,enamel on gold,1780,")

    code, out, err = enamels("intake", "c.csv", "--yes", "--json", "--readings", "r.csv", "--refused", "f.xlsx")

    (file,) = json.loads(out)["files"]
    assert code == 0
    assert file == {
        "file": "c.csv",
        "rows": 3,
        "blank": 0,
        "new": 2,
        "changed": 0,
        "unchanged": 0,
        "outside": 1,
        "refused": 0,
        "between": 0,
        "headings_not_used": [],
    }
    assert "2 new" in err
    readings = pl.read_csv("r.csv")
    assert readings["source_row"].to_list() == [2, 3, 4]
    assert readings["outcome"].to_list() == ["new", "outside", "new"]
    assert readings["height_mm"][0] == 120.0


def test_triage_puts_the_coverage_first_and_says_not_yet_checked(filled):
    code, out, _ = filled("triage")
    listed = json.loads(filled("triage", "--json")[1])

    assert code == 0
    assert out.startswith("The one object has not been checked yet")
    assert listed["coverage"] == {"objects": 1, "checked": 0, "not_checked": 1}
    assert listed["objects"][0]["attention"] == "not_checked"
    assert listed["objects"][0]["annual_loss"] == 0
    assert not {"magnitude", "width"} & set(listed["objects"][0])


def test_explain_names_what_is_not_there(filled):
    assert filled("explain", "V.1")[0] == 0

    code, out, err = filled("explain", "nothing", "--json")

    assert code == NotFound.code
    assert json.loads(out)["error"]["code"] == NotFound.code
    assert "no object of this number" in err


def test_an_object_number_may_begin_with_a_hyphen(enamels, write_csv):
    write_csv("c.csv", "object_id,title", "-12,Plaque")
    enamels("intake", "c.csv", "--yes")

    assert enamels("explain", "--", "-12")[0] == 0


@pytest.mark.parametrize("extra", [("--location", "nowhere"), ("--as-of", "yesterday")])
def test_what_is_asked_for_and_not_there_is_said(extra, filled):
    code, _, err = filled("triage", *extra)

    assert code in (NotFound.code, WrongUsage.code)
    assert extra[1] in err


def test_where_something_answers_already_the_pages_are_not_promised(filled):
    with socket.create_server(("127.0.0.1", 0)) as other:
        port = other.getsockname()[1]
        code, out, err = filled("dashboard", "--port", str(port))

    assert code == WrongUsage.code
    assert out == ""
    assert f"http://127.0.0.1:{port}: something answers there already" in err


def test_export_reads_back_and_a_backup_restores(filled, tmp_path):
    assert filled("export", "--to", "p")[0] == 0
    assert filled("intake", "p/datapackage.json", "--store", "other.duckdb")[0] == 0
    assert filled("backup", "--to", "copies")[0] == 0
    (copy,) = (tmp_path / "copies").glob("*.duckdb")
    assert filled("restore", str(copy))[0] == 0
    assert Store(tmp_path / "other.duckdb").read()["object"].height == 1


def test_every_writing_command_leaves_entries_with_content_in_the_journal(filled, tmp_path):
    journal = Store(tmp_path / "enamels.duckdb").read_journal()

    assert {"object", "part", "intake_file", "refused_row"} <= set(journal["record_name"])
    assert journal["after"].null_count() == 0


def test_the_journal_shows_who(filled):
    code, out, _ = filled("journal", "--last", "1", "--json")

    assert code == 0
    assert len(json.loads(out)["changes"]) == 1


def test_the_demonstration_is_built_once_ranked_and_never_into_a_strange_folder(enamels, built, tmp_path):
    first = built.answer  # of the command in a folder that held nothing
    shutil.copytree(built.folder, tmp_path / built.folder.name)
    code, out, _ = enamels("demo", "--no-open", "--json")
    again = json.loads(out)
    (tmp_path / "letters").mkdir()
    (tmp_path / "letters" / "a.txt").write_text("Dear colleague")

    assert code == 0
    assert first == again
    assert all(first["attention"].values())
    assert "do not exist" in enamels("demo", "--no-open")[1]
    assert enamels("demo", "--no-open", "--folder", "letters")[0] == WrongUsage.code


def test_a_place_is_found_by_number_or_name_and_a_near_number_is_offered(enamels, write_csv):
    write_csv("l.csv", "location_id,name,within", "E,East Store,", "E1,Room 1,E")
    write_csv("c.csv", "object_id,location_id", "V.10,E1", "V.20,")
    enamels("intake", "l.csv", "c.csv", "--yes")

    for place in ("E", "east store"):
        listed = json.loads(enamels("triage", "--location", place, "--json")[1])
        assert [o["object_id"] for o in listed["objects"]] == ["V.10"]
    assert "did you mean V.10" in enamels("explain", "V.1O")[2]


def test_of_a_class_that_is_cut_off_the_list_says_how_many_it_shows(enamels, write_csv):
    write_csv("c.csv", "object_id,title", *(f"V.{n},Box" for n in range(5)))
    enamels("intake", "c.csv", "--yes")

    assert "Not yet checked (2 of 5 objects)" in enamels("triage", "--top", "2")[1]
    assert "Not yet checked (5 objects)" in enamels("triage")[1]


def test_a_sheet_that_holds_no_record_is_said_to_be_left_out(enamels, write_xlsx):
    write_xlsx("b.xlsx", objects=[["object_id"], ["V.1"]], notes=[["Remember"], ["to buy tape"]])

    code, out, _ = enamels("intake", "b.xlsx", "--yes", "--json")

    assert code == 0
    assert json.loads(out)["left_out"] == ["b.xlsx, notes"]


def test_objects_of_one_place_with_one_reason_are_one_row_each_task():
    rows = pl.DataFrame(
        {
            "object_id": ["1", "2", "3", "4"],
            "heed": [None, None, None, "leaves 1 May 2027 for L 1"],
            "reasons": ["gives off acid", "salts", "gives off acid", "gives off acid"],
            "first_step": ["move it", "unwrap it", "move it", "move it"],
            "location_id": ["A", "A", "A", "A"],
            "title": ["Box", "Dish", "Bowl", "Cup"],
            "place": ["shelf A"] * 4,
        },
        schema_overrides={"heed": pl.String},
    )

    shown = one_row_each_task(rows).select("object_id", "objects", "title").rows()

    assert shown == [("1, 3", 2, "Box"), ("2", 1, "Dish"), ("4", 1, "Cup")]
