"""A small delivery is judged alike whether the whole register was read or only what is related to it."""

from datetime import date

import polars as pl
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from polars.testing import assert_frame_equal

from collection.intake import languages
from collection.intake.derived import lines_from_words
from collection.intake.ticks import TICKS
from collection.snapshot import Collection
from collection.store import Change, Store, related
from collection.store.related import HANGING
from collection.validation.problems import ROW
from collection.validation.validate import validate
from schemas.tables import RECORDS
from tests.benchmarks.made_up import made_up

AWKWARD = pl.DataFrame(
    {
        "object_id": ["V. 1", "Ä.1", "ﬁn 3", "İ.4", "V.\t7"],
        "title": ["spaced", "umlaut", "ligature", "dotted", "tabbed"],
    }
)


@pytest.fixture(scope="module")
def filled(tmp_path_factory: pytest.TempPathFactory) -> Store:
    """Objects with checks, damage, observations and repairs, and some with awkward numbers."""
    store = Store(tmp_path_factory.mktemp("related") / "enamels.duckdb")
    frames = {n: f.drop("row_version") for n, f in made_up(60, 160, 40).frames.items() if f.height}
    store.write(Change(frames), by="ada")
    store.write(Change({"object": AWKWARD}), by="ada")
    parts = pl.DataFrame({"object_id": ["Ä.1", "Ä.1"], "part": ["lid", "box"], "value_share": [0.5, 0.5]})
    loans = {
        "loan": pl.DataFrame({"loan_id": ["L1"], "starts_on": ["2026-01"], "ends_on": ["2026-05"]}),
        "loan_object": pl.DataFrame({"loan_id": ["L1"], "object_id": ["O0000003"], "part": ["whole"]}),
    }
    store.write(Change({"part": parts, **loans}), by="ada")
    return store


def judged(rows: dict[str, pl.DataFrame], held: Collection) -> dict[str, pl.DataFrame]:
    result = validate(
        rows,
        held,
        today=date(2026, 9, 30),
        follows=lines_from_words(languages.load(), held, pl.DataFrame(schema=TICKS), pl.Series([], dtype=pl.Int64)),
    )
    named = {n: getattr(result, n) for n in ("outcomes", "problems", "changes")}
    return named | {f"accepted {n}": f for n, f in result.accepted.items()}


def compare(store: Store, whole: Collection, record: str, rows: list[dict[str, str]]) -> None:
    filled_in = [{n: v or None for n, v in row.items()} for row in rows]
    frame = pl.DataFrame(filled_in, schema=dict.fromkeys(rows[0], pl.String)).with_row_index(ROW, 2)
    incoming = {record: frame.with_columns(pl.col(ROW).cast(pl.Int64))}
    expected, related_only = judged(incoming, whole), judged(incoming, store.read_related(incoming))
    assert expected.keys() == related_only.keys()
    for name in expected:
        assert_frame_equal(expected[name], related_only[name], check_row_order=False)


number = st.sampled_from(
    [
        "O0000001",
        "o0000001 ",
        "O0000059",
        "O 0000003",
        "V.1",
        "v. 1",
        "ä.1",
        "Ä.1",
        "fin 3",
        "i̇.4",
        "V. 7",
        "New.1",
        "V.2",
    ]
)
check = st.sampled_from(["C0000000", "c0000001", "C0000005", "C0000070", "C.new", "O0000001/remark"])
damage = st.sampled_from(["D0000000", "d0000001", "D0000030", "D0000079", "D.new"])
repair = st.sampled_from(["R0000000", "r0000001", "R0000039", "R.new"])
ROWS = {
    "object": {
        "object_id": number,
        "title": st.sampled_from(["Box", "umlaut", ""]),
        "location_id": st.sampled_from(["L0000001", "nowhere", ""]),
        "condition_remark": st.sampled_from(["chipped, a repair of wax", ""]),
    },
    "part": {
        "object_id": number,
        "part": st.sampled_from(["lid", "Lid", "box", "foot"]),
        "value_share": st.sampled_from(["0.5", "0.2", ""]),
    },
    "condition_check": {
        "check_id": check,
        "object_id": number,
        "checked_on": st.sampled_from(["2026-05-01", "2020", "2019-01"]),
        "look": st.sampled_from(["inspection", "glance"]),
        "grade": st.sampled_from(["good", "poor", ""]),
        "supersedes_check_id": st.sampled_from(["", "C0000002"]),
    },
    "damage": {
        "damage_id": damage,
        "object_id": number,
        "part": st.sampled_from(["whole", "lid"]),
        "kind": st.sampled_from(["loss", "exposed_metal", "crack"]),
        "side": st.sampled_from(["front", ""]),
    },
    "observation": {
        "check_id": check,
        "damage_id": damage,
        "activity": st.sampled_from(["active", "stable", "not_assessed"]),
        "severity": st.sampled_from(["minor", "severe", ""]),
    },
    "repair_state": {"check_id": check, "repair_id": repair, "stability": st.sampled_from(["sound", "failed"])},
    "repair": {"repair_id": repair, "object_id": number, "part": st.just("whole"), "function": st.just("fill")},
    "coverage": {
        "check_id": check,
        "part": st.sampled_from(["whole", "lid"]),
        "side": st.just("front"),
        "seen": st.just("yes"),
    },
    "loan_object": {"loan_id": st.sampled_from(["L1", "l1", "L9"]), "object_id": number, "part": st.just("whole")},
}


@pytest.mark.parametrize("record", ROWS)
def test_every_rule_gives_the_same_from_related_rows_as_from_the_register(record, filled):
    whole = filled.read()

    @given(st.lists(st.fixed_dictionaries(ROWS[record]), min_size=1, max_size=4))
    @settings(max_examples=4, deadline=None, suppress_health_check=list(HealthCheck))
    def examples(rows: list[dict[str, str]]) -> None:
        compare(filled, whole, record, rows)

    examples()


def test_of_a_large_register_only_the_rows_concerned_are_read(filled):
    asked = {"object": pl.DataFrame({"object_id": ["o0000003"]})}

    collection = filled.read_related(asked)

    whole = filled.read()
    assert list(collection.frames) == list(whole.frames)
    assert collection["object"]["object_id"].to_list() == ["O0000003"]
    for name in HANGING:
        assert name.startswith("loan") or collection.frames[name].height < max(whole.frames[name].height, 1)
        assert collection.frames[name].schema == whole.frames[name].schema
    mine = whole["condition_check"].filter(object_id="O0000003")
    assert_frame_equal(collection["condition_check"], mine)
    seen = whole["observation"].join(mine, on="check_id", how="semi")
    assert_frame_equal(collection["observation"].join(mine, on="check_id", how="semi"), seen)


def test_records_that_do_not_hang_on_objects_are_whole(filled):
    small = filled.read_related({})

    assert small["location"].height == 40
    assert small["object"].is_empty()
    assert {
        "location",
        "person",
        "survey",
        "setting",
        "own_rate",
        "intake_file",
        "refused_row",
        "delivery",
        "loan",
    }.isdisjoint(HANGING)


def test_where_very_many_rows_come_in_the_whole_register_is_read(filled, monkeypatch):
    monkeypatch.setattr(related, "MOST_ROWS", 1)
    rows = pl.DataFrame({"object_id": ["V.1", "V.2"]})

    assert filled.read_related({"object": rows})["object"].height == filled.read()["object"].height


def test_what_is_pointed_to_comes_before_what_points(filled):
    for place, name in enumerate(HANGING):
        for column in RECORDS[name].columns:
            targets = [
                m.record for m in column.marks if hasattr(m, "record") and m.record in HANGING and m.record != name
            ]
            assert all(HANGING.index(t) < place for t in targets)
