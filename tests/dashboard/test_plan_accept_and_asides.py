"""Under the plan, on a small invented house: it is accepted and followed, a sum is spent, a loan displaces."""

from datetime import date
from html import unescape

import pytest

from collection import pipeline
from collection.plan.plan import make_plan
from collection.planning.accepted import accepted_plan
from collection.planning.asides import unspent, with_loan
from collection.planning.asked import Asked
from collection.questions import loan_displaces, plan_followed, plan_sentences, year_plan
from collection.store import Change
from dashboard import plan_work
from dashboard.views import plan_accept
from schemas.errors import StoreBusy
from tests.collection.planning.house import AS_OF, house
from tests.dashboard.plans import planned, table


@pytest.fixture
def said(said):
    """Everything that a page says, as a person reads it."""
    return lambda app: unescape(said(app))


@pytest.fixture
def housed(store):
    """A small invented house in which a loan of two objects is asked for; and how it is assessed."""
    rows = house(
        setting=[{"name": "today", "value": str(AS_OF)}],
        loan=[{"loan_id": "LN 1", "direction": "out", "borrower": "Invented Gallery", "status": "asked_for"}],
        loan_leg=[{"loan_id": "LN 1", "leg": 1, "starts_on": date(2028, 5, 3), "ends_on": date(2028, 9, 1)}],
        loan_object=[{"loan_id": "LN 1", "object_id": o, "part": "whole"} for o in "AD"],
    )
    store.write(
        Change({n: f.drop("row_version", strict=False) for n, f in rows.frames.items() if f.height}), by="tester"
    )
    return store


def assessed(store):
    return pipeline.assess_store(store, lambda _: AS_OF)


def typed(app):
    return [app.text_input(key=key).value for key in (plan_accept.BY, plan_accept.NOTE)]


def test_a_plan_is_accepted_with_a_name_and_what_was_typed_stays_until_it_is_written(page, housed, monkeypatch, said):
    app = page("plan", housed)
    app.text_input(key=plan_accept.NOTE).input("as discussed").run()
    app.button(key=plan_accept.PRESSED).click().run()
    assert "First give your name." in said(app)
    app.text_input(key=plan_accept.BY).input("Ida").run()

    def busy(*_, **__):
        raise StoreBusy("the store", "another process writes to it", "", "Wait a little.")

    with monkeypatch.context() as patch:
        patch.setattr(plan_accept, "accept", busy)
        app.button(key=plan_accept.PRESSED).click().run()
    assert "another process writes to it" in said(app)
    assert typed(app) == ["Ida", "as discussed"]
    app.switch_page("views/loans.py").run()
    app.switch_page("views/plan.py").run()
    assert typed(app) == ["Ida", "as discussed"]
    assert "The accepted plan" not in said(app)
    _, plan = planned(assessed(housed))
    app.button(key=plan_accept.PRESSED).click().run()

    assert housed.read()["plan"].select("plan_id", "made_by", "note").rows() == [("PL1", "Ida", "as discussed")]
    its = accepted_plan(housed.read())
    assert its.prevented == plan.prevented
    assert "Accepted as PL1: " in said(app)
    assert typed(app) == ["Ida", ""]
    assert f"PL1, made on figures of 30 September 2026: 0 of {its.lines.height} lines done" in said(app)


def test_an_accepted_plan_stands_next_to_what_was_done(page, housed, said):
    plan = {"plan_id": "PL1", "made_on": AS_OF, "first_year": 2026, "years": 2, "horizon": 10.0, "status": "accepted",
            "unit": "share", "prevented": 0.02, "bound": 0.02}  # fmt: skip
    line = {"plan_id": "PL1", "hours": 4.6, "money": 100, "worth": 0.01}
    treatment = {"treatment_id": "T1", "option_id": "A1", "object_id": "A", "started_on": date(2026, 9, 1),
                 "finished_on": date(2026, 9, 20), "hours": 6.0, "materials_cost": 80, "authorised_by": "Ida"}  # fmt: skip
    lines = [{**line, "option_id": "A1", "year": 2026}, {**line, "option_id": "B1", "year": 2027}]
    records = house(plan=[plan], plan_line=lines, treatment=[treatment]).frames
    names = ("plan", "plan_line", "treatment")
    housed.write(Change({n: records[n].drop("row_version", strict=False) for n in names}), by="tester")
    app = page("plan", housed, plan_money="0")

    found = assessed(housed)
    its = accepted_plan(found.collection)
    rows = plan_followed.followed(found, its)
    for words in (plan_followed.sentence(found, its, rows), plan_followed.worth_sentence(its, rows)):
        assert words in said(app)
    assert "they took 6 hours (planned 5) and 80 EUR (planned 100)" in said(app)
    assert "Not done: 1 (its year is still to come)." in said(app)
    shown = table(app, "How it stands")
    assert shown["How it stands"].to_list() == ["done 20 September 2026", "its year is still to come"]
    assert shown["Hours planned [h]"].to_list() == [4.6, 4.6]
    assert shown["Hours taken [h]"].to_list()[0] == 6.0


def test_what_a_sum_can_finish_is_worked_out_when_asked_and_stays_in_the_address(page, housed, monkeypatch, said):
    asked_for, real = [], plan_work.sum_steps
    monkeypatch.setattr(plan_work, "sum_steps", lambda *of: asked_for.append(of) or real(*of))
    app = page("plan", housed)
    assert asked_for == []
    app.session_state["left_of_money"] = True
    app.run()
    assert "Give the sum that is left and its last day." in said(app)
    app.number_input(key="plan_sum").set_value(100.0).run()
    app.date_input(key="plan_until").set_value(date(2027, 3, 31)).run()

    found = assessed(housed)
    plan = make_plan(unspent(found, 100, date(2027, 3, 31)))
    assert plan.lines["option_id"].to_list() == ["B1"]  # 100 pay for one, and 5.98 hours are left for its 4.6
    words = plan_sentences.sum_sentence(found, plan, 100, date(2027, 3, 31))
    assert words in said(app)
    query = {key: value if isinstance(value, str) else value[0] for key, value in app.query_params.items()}
    assert query == {"plan_sum": "100", "plan_until": "2027-03-31"}
    assert words in said(page("plan", housed, **query))  # unfolded by the address alone
    assert "2026-01-01 is not after 2026-09-30" in said(page("plan", housed, plan_sum="5", plan_until="2026-01-01"))
    assert "plan_until = \u2018soon\u2019, which cannot be read" in said(page("plan", housed, plan_until="soon"))


def test_what_saying_yes_to_a_loan_displaces(page, housed, said):
    app = page("plan", housed, plan_years="1")
    app.session_state["if_we_lend"] = True
    app.run()
    assert "Choose a loan to see what saying yes displaces." in said(app)
    app.selectbox(key="plan_loan").set_value("LN 1").run()

    found = assessed(housed)
    promise = with_loan(found, Asked.of_query({"plan_years": "1"}).question(found), "LN 1")
    without, together = make_plan(promise.without), make_plan(promise.together)
    rows = loan_displaces.displaced(found, without, together, promise.asked)
    words = loan_displaces.sentence("LN 1", promise.leaves_on, rows, without, together, promise.no_option)
    assert words in said(app)
    assert f"With it: {year_plan.sentence(together)}" in said(app)
    assert table(app, "With the loan")["Proposal"].to_list() == rows["option_id"].to_list()
    assert app.query_params["plan_loan"] in ("LN 1", ["LN 1"])
    short = page("plan", housed, plan_years="1", plan_hours_technician="5", plan_loan="LN 1")
    assert "LN 1, leaves 3 May 2028: it cannot be made ready." in said(short)
    assert "there is no loan LN 9. Choose one of them." in said(page("plan", housed, plan_loan="LN 9"))
