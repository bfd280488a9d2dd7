"""A plan accepted: written whole or not at all, frozen, followed by a later one."""

import shutil
from dataclasses import replace
from datetime import date

import polars as pl
import pytest

from collection import pipeline
from collection.plan.plan import make_plan
from collection.planning.accepted import accepted_plan
from collection.planning.situation import Question, situation_of
from collection.recording.plans import accept
from collection.store import Change, Store, journal
from tests.collection.planning.house import AS_OF, house

TODAY = date(2026, 9, 30)
QUESTION = Question(years=2)


@pytest.fixture(scope="module")
def furnished(tmp_path_factory):
    its = Store(tmp_path_factory.mktemp("house") / "enamels.duckdb")
    rows = {n: f.drop("row_version", strict=False) for n, f in house().frames.items() if f.height}
    its.write(Change(rows), by="tester")
    return its


@pytest.fixture
def held(store, furnished):
    shutil.copyfile(furnished.path, store.path)
    return store


@pytest.fixture(scope="module")
def first(furnished):
    """What the store was assessed as, and the plan of it, before anything changed."""
    return plan_in(furnished)


@pytest.fixture(scope="module")
def accepted_once(tmp_path_factory, furnished, first):
    """The store after Ida accepted the plan; to be copied and never written to."""
    its = Store(tmp_path_factory.mktemp("accepted") / "enamels.duckdb")
    shutil.copyfile(furnished.path, its.path)
    accept(its, first[0].collection, first[1], by="Ida", today=TODAY)
    return its


@pytest.fixture
def accepted(store, accepted_once):
    shutil.copyfile(accepted_once.path, store.path)
    return store


def plan_in(store, **asked):
    triage = pipeline.assess_store(store, lambda _: AS_OF)
    return triage, make_plan(situation_of(triage, replace(QUESTION, **asked)))


def statuses(store):
    return dict(store.read()["option"].select("option_id", "status").iter_rows())


def test_it_is_written_with_its_lines_and_journalled_by_whoever_accepted_it(held, first):
    triage, plan = first
    words = accept(held, triage.collection, plan, by=" Ida ", today=TODAY, note="as discussed")

    its = accepted_plan(held.read())
    lines = pl.concat([plan.lines.select("option_id", "year"), plan.places.select("option_id", "year")])
    assert words.startswith("Accepted as PL1: ")
    assert its.made_on == AS_OF
    assert (its.prevented, its.bound, its.unit) == (plan.prevented, plan.bound, "share")
    assert its.lines.select("option_id", "year").rows() == lines.sort("year", "option_id").rows()
    assert {statuses(held)[o] for o in lines["option_id"]} == {"accepted"}
    mine = held.read_record("journal").filter(pl.col("changed_by") == "Ida")
    assert set(mine["record_name"]) == {"plan", "plan_line", "option"}
    assert held.read()["plan"]["note"].to_list() == ["as discussed"]


def test_hours_and_money_of_each_line_are_those_of_the_plan(accepted, first):
    _, plan = first

    kept = {
        o: (h, float(m), w)
        for o, h, m, w in accepted.read()["plan_line"].select("option_id", "hours", "money", "worth").iter_rows()
    }
    for row in plan.lines.iter_rows(named=True):
        assert kept[row["option_id"]] == (row["hours"], row["money"], row["worth"])
    for row in plan.places.iter_rows(named=True):
        assert kept[row["option_id"]] == (pytest.approx(2 * 1.15), row["money"], row["worth"])


def test_a_later_plan_supersedes_it_whole_and_gives_back_what_it_no_longer_plans(accepted, first):
    _, plan = first
    earlier = accepted.read()["plan"].row(0, named=True)
    triage, smaller = plan_in(accepted, money={2027: 100.0, 2028: 0.0})
    words = accept(accepted, triage.collection, smaller, by="Bo", today=TODAY)

    rows = {row["plan_id"]: row for row in accepted.read()["plan"].iter_rows(named=True)}
    assert words.endswith("It follows PL1, which is superseded.")
    assert (rows["PL1"]["status"], rows["PL2"]["status"]) == ("superseded", "accepted")
    changed = {n for n in earlier if rows["PL1"][n] != earlier[n]}
    assert changed - {"set_here"} == {"status", "row_version"}
    planned = set(smaller.lines["option_id"]) | set(smaller.places["option_id"])
    before = set(plan.lines["option_id"]) | set(plan.places["option_id"])
    assert before - planned
    assert {o: s for o, s in statuses(accepted).items() if o in before} == {
        o: "accepted" if o in planned else "open" for o in before
    }


def test_what_changes_later_leaves_it_as_it_was(accepted):
    """Rates, options, money and a withdrawn effect: the accepted plan reads the same, its own figures and day."""
    before = accepted_plan(accepted.read())
    options = accepted.read()["option"].select("option_id", "row_version").with_columns(hours_likely=pl.lit(40.0))
    accepted.write(Change({
        "option": options,
        "own_rate": pl.DataFrame([{"rate_table": "damage", "term": "lifting", "state": "active", "years_short": 30.0,
                                   "years_likely": 100.0, "years_long": 300.0, "chosen": "own"}]),
        "year_hours": pl.DataFrame({"year": [2027], "skill": ["technician"], "row_version": [1], "hours": [1.0]}),
    }), by="Bo")  # fmt: skip

    after = accepted_plan(accepted.read())
    assert after.lines.equals(before.lines)
    assert replace(after, lines=before.lines) == before
    assert plan_in(accepted)[1].prevented != before.prevented


def test_where_an_option_changed_meanwhile_nothing_is_written(held, first):
    triage, plan = first
    option = plan.lines["option_id"][0]
    held.write(
        Change({"option": pl.DataFrame({"option_id": [option], "row_version": [1], "status": ["dropped"]})}), by="Bo"
    )
    last = held.read_record("journal")["seq"].max()

    words = accept(held, triage.collection, plan, by="Ida", today=TODAY)

    assert words == f"Nothing was written: somebody else changed {option} meanwhile. Make the plan again."
    assert held.read()["plan"].is_empty()
    assert held.read()["plan_line"].is_empty()
    assert held.read_record("journal")["seq"].max() == last


def test_of_two_who_accept_at_once_the_second_is_told(accepted, first):
    triage, plan = first

    words = accept(accepted, triage.collection, plan, by="Bo", today=TODAY)

    assert words == "Nothing was written: PL1 was accepted meanwhile. Make the plan again."
    assert accepted.read()["plan"].height == 1


def test_the_plan_that_is_followed_already_is_not_written_again(accepted, first):
    _, plan = first
    triage, again = plan_in(accepted)

    words = accept(accepted, triage.collection, again, by="Ida", today=TODAY)

    assert words == "Nothing was written: PL1, which is followed already, has the same lines."
    assert accepted.read()["plan"]["plan_id"].to_list() == ["PL1"]


def test_of_two_who_read_the_same_state_only_one_writes(held, first, monkeypatch):
    """Both have read before either wrote: the number is the same, and the second write is withheld whole."""
    triage, plan = first
    stale = held.read()
    accept(held, triage.collection, plan, by="Ida", today=TODAY)
    monkeypatch.setattr(Store, "read", lambda _: stale)

    words = accept(held, triage.collection, plan, by="Bo", today=TODAY)

    monkeypatch.undo()
    assert words.startswith("Nothing was written: somebody else changed PL1")
    assert held.read()["plan"]["made_by"].to_list() == ["Ida"]


def test_stopped_in_the_middle_it_leaves_nothing_half_written(held, first, monkeypatch):
    triage, plan = first
    before, journalled = held.read(), held.read_record("journal").height
    real = journal.note

    def note(con, entries):
        real(con, entries)
        if "plan_line" in entries["record_name"].to_list():
            raise KeyboardInterrupt

    monkeypatch.setattr(journal, "note", note)
    with pytest.raises(KeyboardInterrupt):
        accept(held, triage.collection, plan, by="Ida", today=TODAY)
    monkeypatch.undo()

    after = Store(held.path).read()
    assert all(after.frames[n].equals(before.frames[n]) for n in ("plan", "plan_line", "option"))
    assert held.read_record("journal").height == journalled


def test_a_name_is_needed_and_an_empty_plan_is_none(held, first):
    triage, plan = first
    _, empty = plan_in(held, money={2027: 0.0, 2028: 0.0}, hours={(2027, "technician"): 0.0, (2028, "technician"): 0.0})

    assert accept(held, triage.collection, plan, by="  ", today=TODAY) == "First give your name."
    assert accept(held, triage.collection, empty, by="Ida", today=TODAY) == "Nothing was written: the plan is empty."


def test_it_goes_out_with_the_package_and_comes_back(accepted, first, tmp_path):
    _, plan = first
    accepted.publish(tmp_path / "package", "csv")
    other = Store(tmp_path / "other.duckdb")
    other.import_package(tmp_path / "package")

    assert other.read()["plan_line"].rows() == accepted.read()["plan_line"].rows()
    assert accepted_plan(other.read()).prevented == plan.prevented
