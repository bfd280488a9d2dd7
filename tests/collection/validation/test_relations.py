"""Rules over several records: each broken by one row, with a good row beside it that is taken."""

import shutil

import polars as pl
import pytest

from collection.store import Store

REGISTER = {
    "o.csv": ["object_id,title", "V.1,Casket", "V.2,Bowl"],
    "p.csv": ["object_id,part,part_kind,value_share", "V.1,gable,enamel,0.6", "V.1,hinge,metal_mount,0.4"],
    "c.csv": [
        "check_id,object_id,checked_on,look,grade,signed_on",
        "C.1,V.1,2024-05-02,inspection,,2024-05-03",
        "C.2,V.2,2024-05-02,sweep,,",
        "C.3,V.1,2024-06-01,sweep,,",
    ],
    "d.csv": [
        "damage_id,object_id,part,kind,closed_on",
        "D.1,V.1,gable,lifting,",
        "D.2,V.2,,crack,",
        "D.3,V.2,,weeping,",
        "D.4,V.2,,chip,2020-01-01",
    ],
    "r.csv": ["repair_id,object_id,part,function,material", "R.1,V.2,,fills,wax"],
}
# name, file, heading, bad row, good row, rule, column
CASES = [
    ("an observation of another object's check", "observation", "check_id,damage_id,activity", "C.3,D.2,active", "C.2,D.2,active", "check_of_another_object", "check_id"),
    ("a state of another object's repair", "repair_state", "check_id,repair_id,stability", "C.3,R.1,sound", "C.2,R.1,sound", "check_of_another_object", "check_id"),
    ("a damage on a part the object has not", "damage", "damage_id,object_id,part,kind", "D.9,V.1,lid,chip", "D.10,V.1,hinge,chip", "part_unknown", "part"),
    ("weeping is never stable", "observation", "check_id,damage_id,activity", "C.2,D.3,stable", "C.2,D.2,active", "not_offered", "activity"),
    ("a closed damage seen again", "observation", "check_id,damage_id,activity", "C.2,D.4,unknown", "C.2,D.2,active", "closed_damage_observed", "damage_id"),
    ("a check of an object nobody has", "condition_check", "check_id,object_id,checked_on,look", "C.9,V.9,2024,sweep", "C.10,V.1,2024,sweep", "unknown_reference", "object_id"),
    ("a check without its day", "condition_check", "check_id,object_id,checked_on,look", "C.9,V.1,,sweep", "C.10,V.1,2024,sweep", "undated_check", "checked_on"),
    ("a signed check changed", "condition_check", "check_id,object_id,checked_on,look,grade", "C.1,V.1,2024-05-02,inspection,poor", "C.10,V.1,2024,sweep,", "signed_check_changed", "check_id"),
    ("a line of a signed check", "observation", "check_id,damage_id,activity", "C.1,D.1,active", "C.2,D.2,active", "signed_check_changed", "check_id"),
    ("a place within nowhere", "location", "location_id,within", "E1,Attic", "E2,", "unknown_reference", "within"),
]  # fmt: skip


@pytest.fixture(scope="module")
def brought_in(tmp_path_factory, bring_into):
    folder = tmp_path_factory.mktemp("register")
    made = Store(folder / "enamels.duckdb")
    for name, lines in REGISTER.items():
        (folder / name).write_text("\n".join(lines), "utf-8")
        result = bring_into(made, folder / name)
        assert result.files["refused"].to_list() == [0], result.problems
    return made


@pytest.fixture(scope="module")
def held(brought_in):
    """What the register holds."""
    return brought_in.read()


@pytest.fixture
def register(store, brought_in):
    shutil.copyfile(brought_in.path, store.path)


@pytest.mark.parametrize(
    ("record", "head", "bad", "good", "rule", "column"), [c[1:] for c in CASES], ids=[c[0] for c in CASES]
)
def test_a_row_that_breaks_a_rule_is_refused_by_it(record, head, bad, good, rule, column, held, write_csv, judge):
    result = judge(write_csv("case.csv", head, bad, good), record=record, held=held).answer

    refused = result.problems.filter(pl.col("level") == "refuse").select("source_row", "rule", "column").rows()
    assert refused == [(2, rule, column)]
    assert result.files["new"].to_list() == [1]


# name, record, heading, row, what is asked
QUESTIONS = [
    ("stable without anything to compare", "observation", "check_id,damage_id,activity,compared_with", "C.2,D.2,stable,", "stable_without_comparison"),
    ("shares that do not sum to 1", "part", "object_id,part,value_share", "V.1,foot,0.5", "shares_do_not_sum"),
    ("a coating over original", "repair", "repair_id,object_id,function,material,covers_original", "R.2,V.2,covers,wax,yes", "covers_original"),
    ("a treatment nobody allowed", "treatment", "treatment_id,object_id,finished_on", "T.1,V.1,2024-01-01", "treatment_without_authorisation"),
    ("poor for no reason", "condition_check", "check_id,object_id,checked_on,look,grade", "C.9,V.2,2025,sweep,poor", "grade_without_cause"),
    ("an old grade for no reason", "condition_check", "check_id,object_id,checked_on,look,grade,source", "C.9,V.2,1999,sweep,poor,legacy_report", "legacy_grade"),
    ("an inspection that forgot a damage", "condition_check", "check_id,object_id,checked_on,look", "C.9,V.1,2025,inspection", "open_damage_not_looked_at"),
]  # fmt: skip


@pytest.mark.parametrize(("record", "head", "row", "rule"), [q[1:] for q in QUESTIONS], ids=[q[0] for q in QUESTIONS])
def test_a_doubtful_row_is_taken_and_the_question_listed(record, head, row, rule, held, write_csv, judge):
    result = judge(write_csv("case.csv", head, row), record=record, held=held).answer

    assert result.files["new"].to_list() == [1]
    assert rule in result.problems.filter(pl.col("level") != "refuse")["rule"].to_list()


# activity and severity of the one damage, grade given, asked? (grade_floor.toml, worked by hand: active lifting is fast, 1 year)
GRADES = [
    ("active", "minor", "fair", True),
    ("active", "minor", "poor", False),
    ("active", "severe", "poor", True),
    ("suspected", "minor", "fair", False),
]


@pytest.mark.parametrize(("activity", "severity", "grade", "asked"), GRADES)
def test_a_grade_better_than_its_floor_asks_for_a_reason(
    activity, severity, grade, asked, register, write_csv, bring_in
):
    bring_in(write_csv("k.csv", "check_id,object_id,checked_on,look,grade", f"C.9,V.1,2025,inspection,{grade}"))
    lines = write_csv("l.csv", "check_id,damage_id,activity,severity", f"C.9,D.1,{activity},{severity}")
    again = write_csv(
        "k2.csv", "check_id,object_id,checked_on,look,grade,examiner", f"C.9,V.1,2025,inspection,{grade},Ada"
    )

    result = bring_in(lines, again)

    assert ("grade_above_floor" in result.problems["rule"].to_list()) is asked


def test_a_row_of_a_refused_parent_is_refused_with_it(write_csv, judge):
    objects = write_csv("o.csv", "object_id,title", "V.1,Bowl", "V.1,Another bowl", "V.2,Vase", "v.3,Jug", "V.3,Box")
    checks = write_csv("c.csv", "check_id,object_id,checked_on,look", "C.1,V.3,2024,sweep", "C.2,V.2,2024,sweep")

    result = judge(checks, objects).answer

    rules = result.problems.filter(pl.col("level") == "refuse").select("record", "rule").rows()
    assert sorted(rules) == [
        ("condition_check", "row_of_refused_parent"),
        ("object", "number_differs_in_case"),
        ("object", "number_repeated"),
    ]


def test_a_part_is_on_one_loan_at_a_time(register, write_csv, bring_in):
    bring_in(write_csv("l.csv", "loan_id,direction", "L.1,out", "L.2,out", "L.3,out"))
    bring_in(
        write_csv(
            "g.csv",
            "loan_id,leg,starts_on,ends_on",
            "L.1,1,2026-01-01,2026-03-01",
            "L.2,1,2026-02-01,2026-04-01",
            "L.3,1,2026-05-01,2026-06-01",
        )
    )
    bring_in(write_csv("a.csv", "loan_id,object_id,part", "L.1,V.1,gable"))

    result = bring_in(
        write_csv("b.csv", "loan_id,object_id,part", "L.2,V.1,gable", "L.2,V.1,hinge", "L.3,V.1,hinge", "L.1,V.1,hinge")
    )

    assert result.problems.filter(pl.col("level") == "refuse").select("source_row", "rule").rows() == [
        (2, "part_in_two_places"),
        (5, "part_in_two_places"),
    ]
