"""Ditto marks, several numbers in a cell, lines that are no rows, and findings told in words in a list of checks."""

from datetime import date

import polars as pl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from collection.intake.written_by_hand import last_cells, several_numbers, with_cells_above

HEADINGS = "Inv. no.,Title,Material,Height cm"
BOWL, TRAY, CUP = "Painted enamel on copper", "Cloisonné enamel on brass", "Champlevé enamel on copper"


def test_a_ditto_mark_takes_the_cell_above_through_others_and_says_where():
    cells = pl.DataFrame(
        {"row": [1, 2, 3, 4, 5], "a": ["\u3003", "wax", '"', "Do.", None], "b": ["x", "y", "idem", "z", '"']}
    )
    filled, places = with_cells_above(cells, ["a", "b"], {})

    assert filled["a"].to_list() == ["\u3003", "wax", "wax", "wax", None], "nothing stands above the first"
    assert filled["b"].to_list() == ["x", "y", "y", "z", "z"]
    assert places.select("row", "heading", "value").rows() == [
        (3, "a", "wax"),
        (4, "a", "wax"),
        (3, "b", "y"),
        (5, "b", "z"),
    ]


def test_the_part_of_a_sheet_before_is_above():
    marks = pl.DataFrame({"a": ["do.", "tar", "do."]})

    assert with_cells_above(marks, ["a"], {"a": "wax"})[0]["a"].to_list() == ["wax", "tar", "tar"]
    assert last_cells(marks, ["a", "b"]) == {"a": "do."}


@given(st.lists(st.sampled_from(["wax", "tar", None]), min_size=1, max_size=8))
def test_cells_without_a_mark_stay_as_they_are(texts):
    cells = pl.DataFrame({"a": texts}, schema={"a": pl.String})

    assert with_cells_above(cells, ["a"], {})[0].equals(cells)


@pytest.mark.parametrize(
    ("cell", "several"),
    [
        ("1993.4, 1993.5", True), ("1993.4; 1993.5; 1993.6", True), ("1993.4 & 5", True), ("1993.4/5", True),
        ("1993.4-7", True), ("1993.4 (a,b)", True), ("1993.4 and 1993.5", True), ("1993.4\n1993.5", False),
        ("1993.12", False), ("1993.4a", False), ("1993.7-4", False), ("lost, 1993", False), ("", False), (None, False),
    ],
)  # fmt: skip
def test_several_numbers_are_told_from_one_by_how_the_others_are_spelt(cell, several):
    column = pl.Series([f"1993.{n}" for n in range(1, 9)] + [cell], dtype=pl.String)

    assert several_numbers(column).to_list() == [False] * 8 + [several]


@given(st.sampled_from(["VH {}/{}", "{}-{}", "{}, {}", "A {} & {}", "{}.{}a"]), st.integers(2, 30))
def test_a_scheme_with_such_signs_is_no_list(scheme, number):
    column = pl.Series([scheme.format(40 + n % 7, n) for n in range(number)])

    assert not several_numbers(column).any()


def test_what_a_sheet_by_hand_holds_comes_in_or_is_said(judge, write_csv):
    judged = judge(write_csv(
        "list.csv", HEADINGS, f"B.1,Bowl,{BOWL},4", "B.2,Tray,do.,do.", 'B.3,Cup,"""",5', f'"B.4, B.5",Pair,{CUP},6',
        "CASE 1,,,", "Total,,,", HEADINGS, f"B.6,Box,{TRAY},7",
    ))  # fmt: skip

    objects = judged.rows("object").sort("object_id")
    assert objects["object_id"].to_list() == ["B.1", "B.2", "B.3", "B.6"]
    assert objects["height_mm"].to_list() == [40.0, 40.0, 50.0, 70.0]
    assert objects["technique"].to_list()[:3] == [["painted"]] * 3
    rules = judged.answer.problems.group_by("rule").len()
    assert dict(rules.iter_rows()) == {"ditto": 3, "several_numbers": 1}
    assert judged.answer.files["between"].sum() == 3


def test_findings_in_words_become_damage_that_is_asked_for_and_no_object_changes(store, bring_in, write_csv):
    bring_in(write_csv("c.csv", HEADINGS, f"B.1,Bowl,{BOWL},4", f"B.2,Tray,{TRAY},5"))
    before = store.read()["object"]
    lines = ("Inventarnummer;Datum;Prüfer;Befund", "B.1;14.03.2024;Ida;Glaskrankheit, feucht", "B.2;15.03.2024;Ida;",
             "B.1;20.03.2025;Ida;Glaskrankheit", "B.11;15.03.2024;Ida;Riss")  # fmt: skip
    done = bring_in(write_csv("k.csv", *lines), record="condition_check")

    held = store.read()
    assert held["object"].equals(before)
    assert held["condition_check"]["check_id"].sort().to_list() == [
        "B.1/2024-03-14",
        "B.1/2025-03-20",
        "B.2/2024-03-15",
    ]
    assert held["damage"].select("object_id", "kind", "first_seen_on").sort("kind").rows() == [
        ("B.1", "crizzling", "2024-03-14"),  # one damage, seen twice
        ("B.1", "weeping", "2024-03-14"),  # sick glass that is wet
    ]
    seen = held["observation"].join(held["damage"], on="damage_id").sort("check_id", "kind")
    assert seen.select("check_id", "kind", "activity").rows() == [
        ("B.1/2024-03-14", "crizzling", "unknown"),
        ("B.1/2024-03-14", "weeping", "active"),
        ("B.1/2025-03-20", "crizzling", "unknown"),
    ]
    assert set(held["condition_check"]["look"]) == {"sweep"}
    (refused,) = done.problems.filter(rule="unknown_reference")["value"].to_list()
    assert refused == "B.11"

    store.undo(by="Ida")
    after = store.read()
    assert after["object"].equals(before)
    assert after["damage"].is_empty()
    assert after["condition_check"].is_empty()


def test_a_list_with_numbers_of_its_own_brings_its_own_lines(store, bring_in, write_csv):
    bring_in(write_csv("c.csv", HEADINGS, f"B.1,Bowl,{BOWL},4"))
    bring_in(write_csv("k.csv", "check_id,object_id,checked_on,look,summary_observed",
                       "K1,B.1,2024-03-14,inspection,enamel lifting"))  # fmt: skip

    assert store.read()["condition_check"]["checked_on"].to_list() == [date(2024, 3, 14).isoformat()]
    assert store.read()["damage"].is_empty()


def test_a_sheet_on_its_side_is_read_column_by_column_and_said(judge, write_xlsx):
    rows = [
        ["Inv. no.", "S.1", "S.2", "S.3"],
        ["Title", "Bowl", "Tray", None],
        ["Material", BOWL, TRAY, CUP],
        ["Height cm", 4, 5, 6],
    ]
    judged = judge(write_xlsx("side", Sheet=rows))

    objects = judged.rows("object").sort("object_id")
    assert objects.select("object_id", "title", "height_mm").rows() == [
        ("S.1", "Bowl", 40.0),
        ("S.2", "Tray", 50.0),
        ("S.3", None, 60.0),
    ]
    assert judged.answer.problems["rule"].to_list() == ["sheet_on_its_side"]


@pytest.mark.parametrize(
    "rows",
    [
        [["Inv. no.", "Title", "Material"], ["S.1", "Title", BOWL], ["S.2", "Material", TRAY]],
        [["Inv. no.", "Title"], ["S.1", "Bowl"], ["S.2", "Tray"]],
    ],
)
def test_an_upright_sheet_is_left_as_it_is(judge, write_xlsx, rows):
    judged = judge(write_xlsx("upright", Sheet=rows))

    assert judged.rows("object")["object_id"].sort().to_list() == ["S.1", "S.2"]


@pytest.mark.parametrize(("said", "share"), [("most", 0.75), ("Half", 0.5), ("tenth", 0.1), ("0.3", 0.3)])
def test_a_part_s_share_may_be_said_in_a_word(said, share, write_csv, bring_in, store):
    bring_in(write_csv("o.csv", "object_id", "V.1"))
    bring_in(write_csv("p.csv", "object_id,part,value_share", f"V.1,lid,{said}"))

    assert store.read()["part"].filter(pl.col("part") == "lid")["value_share"].to_list() == [share]
