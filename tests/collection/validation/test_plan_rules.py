"""What a plan rests on, brought in by a file: each rule broken by one row, with a good row beside it that is taken."""

import shutil

import polars as pl
import pytest

from collection.store import Store

REGISTER = {
    "l.csv": ["location_id,name", "E1,East Store"],
    "o.csv": ["object_id,title", "V.1,Casket", "V.2,Bowl"],
    "p.csv": ["object_id,part,part_kind", "V.1,gable,enamel", "V.1,hinge,metal_mount"],
    "option.csv": ["option_id,object_id,location_id,hours_likely", "K1,V.1,,4", "K2,V.2,,6", "K3,,E1,8"],
    "n.csv": ["loan_id,direction,borrower", "LN 1,out,Invented Museum"],
    "plan.csv": [
        "plan_id,made_on,first_year,years,horizon,status,unit,prevented,bound",
        "PL1,2026-10-01,2027,3,10,accepted,share,0.1,0.1",
        "PL2,2026-10-01,2027,3,10,draft,share,0.1,0.1",
    ],
}
RECORDS = {"l": "location", "o": "object", "p": "part", "option": "option", "n": "loan", "plan": "plan"}
PLAN_HEAD = REGISTER["plan.csv"][0]
HOURS = "option_id,object_id,hours_low,hours_likely,hours_high"
# name, record, heading, bad row, good row, rule, column
CASES = [
    ("a share of the rate above 1", "option_effect", "option_id,hazard_id,rate_left", "K1,damage:D1,1.5", "K1,damage:D2,0.5", "impossible_number", "rate_left"),
    ("a factor of a place above 1", "location_effect", "option_id,hazard_group,rate_factor", "K3,cu_fe,2", "K3,chloride,0.5", "impossible_number", "rate_factor"),
    ("a group that no rate is of", "location_effect", "option_id,hazard_group,rate_factor", "K3,rust,0.5", "K3,cu_fe,0.5", "unknown_hazard_group", "hazard_group"),
    ("a treatment that would mend a place", "location_effect", "option_id,hazard_group,rate_factor", "K1,cu_fe,0.5", "K3,cu_fe,0.5", "option_of_another_kind", "option_id"),
    ("a case that would leave a fill", "option_adds", "option_id,part,material,function", "K3,,wax,fills", "K1,,wax,fills", "option_of_another_kind", "option_id"),
    ("a fill on a part the object has not", "option_adds", "option_id,part,material,function", "K1,lid,wax,fills", "K1,hinge,wax,fills", "part_unknown", "part"),
    ("a fill of nobody knows what", "option_adds", "option_id,part,material,function", "K1,,chewing gum,fills", "K1,,wax,fills", "unknown_term", "material"),
    ("an option for nothing", "option", "option_id,object_id,location_id", "K9,,", "K8,V.1,", "option_of_nothing", "object_id"),
    ("an option for an object and a place", "option", "option_id,object_id,location_id", "K9,V.1,E1", "K8,,E1", "option_of_nothing", "object_id"),
    ("hours that do not rise", "option", HOURS, "K9,V.1,5,4,6", "K8,V.1,3,4,6", "hours_out_of_order", "hours_likely"),
    ("low hours of 0", "option", HOURS, "K9,V.1,0,4,6", "K8,V.1,,4,", "hours_out_of_order", "hours_likely"),
    ("an option that excludes itself", "option", "option_id,object_id,excludes", "K9,V.1,K9", "K8,V.1,K1", "unknown_option_named", "excludes"),
    ("an option that needs one there is not", "option", "option_id,object_id,needs", "K9,V.1,K77", "K8,V.1,K1", "unknown_option_named", "needs"),
    ("hours of nobody", "setup_group", "setup_group,skill,hours", "bath,,4", "frame,technician,4", "hours_without_skill", "skill"),
    ("a must for nothing", "must", "must_id,object_id,option_id,done_by,because", "M1,,,2028-01-31,decision", "M2,V.1,,2028-01-31,decision", "must_of_nothing", "object_id"),
    ("a must for an object and an option", "must", "must_id,object_id,option_id,done_by,because", "M1,V.1,K1,2028-01-31,decision", "M2,,K1,2028-01-31,decision", "must_of_nothing", "object_id"),
    ("a must for no loan", "must", "must_id,object_id,done_by,because,loan_id", "M1,V.1,2028-01-31,loan,", "M2,V.1,2028-01-31,loan,LN 1", "must_without_loan", "loan_id"),
    ("an accepted plan changed", "plan", PLAN_HEAD, "PL1,2026-10-01,2027,3,10,accepted,share,0.2,0.2", "PL3,2026-10-01,2027,3,10,draft,share,0.2,0.2", "frozen_plan_changed", "plan_id"),
    ("a line of an accepted plan", "plan_line", "plan_id,option_id,year", "PL1,K1,2027", "PL2,K1,2027", "frozen_plan_changed", "plan_id"),
]  # fmt: skip


@pytest.fixture(scope="module")
def brought_in(tmp_path_factory, bring_into):
    folder = tmp_path_factory.mktemp("register")
    its = Store(folder / "enamels.duckdb")
    for name, lines in REGISTER.items():
        (folder / name).write_text("\n".join(lines), "utf-8")
        result = bring_into(its, folder / name, record=RECORDS[name.removesuffix(".csv")])
        assert result.files["refused"].to_list() == [0], result.problems
    return its


@pytest.fixture
def register(store, brought_in):
    shutil.copyfile(brought_in.path, store.path)


@pytest.mark.parametrize(
    ("record", "head", "bad", "good", "rule", "column"), [c[1:] for c in CASES], ids=[c[0] for c in CASES]
)
def test_a_row_that_breaks_a_rule_is_refused_by_it(
    record, head, bad, good, rule, column, register, write_csv, bring_in
):
    result = bring_in(write_csv("case.csv", head, bad, good), record=record)

    refused = result.problems.filter(pl.col("level") == "refuse").select("source_row", "rule", "column").rows()
    assert refused == [(2, rule, column)]
    assert result.files["new"].to_list() == [1]


@pytest.mark.parametrize(
    ("column", "value"),
    [("loss_in_doing", "1.2"), ("materials_cost", "-5"), ("hours_likely", "-4"), ("bench_days", "-1"), ("lasts_years", "0")],
)  # fmt: skip
def test_a_figure_that_cannot_be_is_left_empty_and_asked(column, value, register, write_csv, bring_in, store):
    """The option is taken without it: where it may be empty, a wrong cell does not lose the row."""
    result = bring_in(write_csv("case.csv", f"option_id,object_id,{column}", f"K9,V.1,{value}"), record="option")

    assert result.problems.select("rule", "column", "level").rows() == [("impossible_number", column, "ask")]
    assert store.read()["option"].filter(pl.col("option_id") == "K9")[column].to_list() == [None]


def test_options_that_need_each_other_in_a_circle_are_refused_with_the_one_that_closes_it(
    register, write_csv, bring_in
):
    circle = ["K7,V.1,K8", "K8,V.1,K9", "K9,V.1,K7", "K10,V.1,K1"]

    result = bring_in(write_csv("case.csv", "option_id,object_id,needs", *circle), record="option")

    assert result.problems.select("source_row", "rule").rows() == [(n, "needs_in_a_circle") for n in (2, 3, 4)]


def test_options_of_one_file_may_name_each_other_and_a_later_file_changes_one_column(register, write_csv, bring_in):
    rows = ["K8,V.1,K9;K2,", "K9,V.2,,K1"]
    assert bring_in(write_csv("a.csv", "option_id,object_id,needs,excludes", *rows)).problems.is_empty()

    result = bring_in(write_csv("b.csv", "option_id,bench_days", "K8,2", "K3,1"), record="option")

    assert result.files.select("changed", "refused").row(0) == (2, 0)
