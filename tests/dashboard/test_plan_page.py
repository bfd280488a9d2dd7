"""The page of the plan, run from the entry script: two numbers moved by hand, and what follows from them."""

import io
import json
import shutil
import threading
from html import unescape

import openpyxl
import pytest

from collection.documents.attachment import read_attached
from collection.documents.words import sheet_heading, sheet_name
from collection.plan.musts import MustsNotMet
from collection.plan.stability import stability
from collection.planning.asked import clear_by
from collection.planning.clearing import clearing
from collection.questions import plan_sentences, plan_tables, year_plan
from collection.store import Store
from dashboard import plan_work
from dashboard.views import papers
from tests.dashboard.conftest import FEW_DRAWS
from tests.dashboard.plans import planned, table

LONG = 60.0  # seconds that a page may wait for a plan: on a busy machine too
MONEY, HOURS = "plan_money", "plan_hours_enamel_conservator"


@pytest.fixture
def said(said):
    """Everything that a page says, as a person reads it."""
    return lambda app: unescape(said(app))


@pytest.fixture
def answer(answer):
    return lambda app: unescape(answer(app))


def test_sixty_hours_and_four_thousand_are_answered_in_two_moves(page, found, answer, said):
    app = page("plan")
    asked, first = planned(found)
    assert year_plan.sentence(first) in answer(app)
    assert plan_sentences.asked_sentence(asked, asked.question(found), "GBP") in said(app)

    app.number_input(key=MONEY).set_value(4000.0).run()
    app.number_input(key=HOURS).set_value(60.0).run()
    asked, plan = planned(found, **{MONEY: "4000", HOURS: "60"})

    assert (app.query_params[MONEY], app.query_params[HOURS]) in [("4000", "60"), (["4000"], ["60"])]
    assert year_plan.sentence(plan) in answer(app)
    words = said(app)
    for row in plan_tables.by_year(plan).iter_rows(named=True):
        assert plan_sentences.year_sentence(row) in words
    assert plan.lines.filter(year=2027)["hours"].sum() <= 60
    assert plan.prevented < first.prevented

    app.toggle(key="plan_clear").set_value(True).run()  # and in one more: what must I ask for?
    its = clearing(found, asked.question(found), clear_by(found.as_of))
    assert plan_sentences.clearing_sentence(its) in said(app)
    assert "ask for another 93 hours of enamel conservator" in said(app)
    assert "1979.177, L2026.1, 1991.3" in said(app)


def test_the_address_alone_gives_the_same_page_and_its_figures_are_those_of_the_frames(page, found, said, answer):
    app = page("plan", plan_money="1000", plan_years="2", plan_line="O0051", location_id="L2")
    asked, plan = planned(found, plan_money="1000", plan_years="2")
    rows, undone = year_plan.schedule(found, plan), year_plan.left_undone(found, plan)

    assert year_plan.sentence(plan) in answer(app)
    assert [n.value for n in app.number_input[:2]] == [2, 1000.0]
    shown = table(app, "Prevents [% of value]")
    assert shown["Proposal"].to_list() == rows["option_id"].to_list()
    assert shown["Prevents [% of value]"].to_list() == pytest.approx((rows["worth"] * 100).round_sig_figs(2).to_list())
    draws = stability(plan, figures=FEW_DRAWS)
    share = dict(draws.rows.select("option_id", "in_draws").iter_rows())
    assert shown["In how many draws [%]"].to_list() == pytest.approx([100 * share[o] for o in rows["option_id"]])
    assert max(share.values()) == 1 > min(share.values())  # some line is in every draw, some is not
    assert year_plan.draws_sentence(draws) in said(app)
    assert "prices held, 50 draws" in said(app)
    left = table(app, "Why it is left undone")
    assert left["Why it is left undone"].to_list() == undone["why"].to_list()
    assert plan_sentences.undone_sentence(undone) in said(app)
    assert plan_sentences.better_sentence(plan) in said(app)
    assert "The month of March" in said(app)  # the line that the address names, explained
    assert "the estimate is 11 (7.7 to 16.5)" in said(app)
    assert len(table(app, "Takes with the plan [%]")) == 4
    links = [link.proto.query_string for link in app.sidebar.get("page_link")]
    assert all("plan_money=1000" in link and "location_id=L2" in link for link in links)  # nothing typed is lost


def test_page_workbook_and_paper_hold_the_same_figures(page, found):
    app = page("plan")
    _, plan = planned(found)
    for button in app.button:
        if button.label.startswith("Make: "):
            button.click()
    app.run()
    files = app.session_state[papers.FINISHED][1]
    (pdf,) = (data for data in files.values() if data[:4] == b"%PDF")
    (xlsx,) = (data for data in files.values() if data[:4] != b"%PDF")
    rows = year_plan.schedule(found, plan)
    head, *lines = openpyxl.load_workbook(io.BytesIO(xlsx))[sheet_name("schedule")].iter_rows(values_only=True)
    at = head.index(sheet_heading("worth_percent"))

    assert [line[at] for line in lines] == pytest.approx((rows["worth"] * 100).to_list())
    drawn = year_plan.with_draws(rows, stability(plan, figures=FEW_DRAWS))["in_draws"].to_list()
    assert [line[head.index(sheet_heading("in_draws"))] for line in lines] == pytest.approx(drawn)
    printed = read_attached(pdf, "plan").document
    assert printed.blocks[0].rows[0]["text"] == year_plan.sentence(plan)
    assert sorted(b.proto.label for b in app.get("download_button") if b.proto.label.startswith("Download: ")) == [
        "Download: Page for the director (PDF)", "Download: The whole plan (XLSX)"
    ]  # fmt: skip


def test_what_must_be_done_and_cannot_is_named_with_the_least_that_would_do(page, found, said):
    app = page("plan", plan_money="0")
    _, why = planned(found, plan_money="0")

    assert isinstance(why, MustsNotMet)
    assert year_plan.not_met_sentence(why) in said(app)
    assert plan_sentences.together_sentence(why) in said(app)
    assert "M1 cannot be met; this alone would do: another 113 GBP in 2027." in said(app)
    assert "M1: 1959.1 (Tafel), by 31 March 2028." in said(app)
    assert app.number_input(key=MONEY).value == 0.0  # what was typed stays


def test_what_cannot_be_planned_or_read_is_said_and_the_fields_stay(page, said):
    app = page("plan", plan_years="5", plan_money="much")

    assert "no money set for 2030" in said(app)
    assert "plan_money" in said(app)
    assert app.number_input(key="plan_years").value == 5
    app.number_input(key=MONEY).set_value(100.0).run()
    assert "no hours of enamel_conservator set for 2030" in said(app)
    assert app.number_input(key=MONEY).value == 100.0


def test_while_a_plan_is_worked_out_the_last_one_stays_and_it_can_be_stopped(page, found, monkeypatch, said, answer):
    app = page("plan")
    _, first = planned(found)
    go, begun = threading.Event(), threading.Event()

    def steps(triage, question):
        def held(task):
            task.words = "Working out the plan"
            begun.set()
            assert go.wait(LONG)
            yield plan_work.PLAN, first

        return held

    monkeypatch.setattr("dashboard.data.plan_steps", steps)
    monkeypatch.setattr("dashboard.plan_work.PATIENCE_S", 0.0)
    app.number_input(key=MONEY).set_value(4321.0).run()
    assert begun.wait(LONG)
    app.run()

    assert "What follows is the plan that was asked for before" in said(app)
    assert year_plan.sentence(first) in answer(app)
    assert "Working out the plan" in said(app)
    assert app.number_input(key=MONEY).value == 4321.0
    stop = next(b for b in app.button if b.label == "Stop")
    stop.click().run()
    assert "Stopping; what is best so far stays" in said(app)
    go.set()
    monkeypatch.setattr("dashboard.plan_work.PATIENCE_S", LONG)
    app.run()
    assert "4,321 GBP a year" in said(app)
    assert "Stop" not in [b.label for b in app.button]
    monkeypatch.setattr("dashboard.data.plan_steps", plan_work.plan_steps)
    next(b for b in app.button if b.label == "Go on with this plan").click().run()
    assert year_plan.sentence(planned(found, **{MONEY: "4321"})[1]) in answer(app)


def test_what_other_judgements_would_change_is_worked_out_when_unfolded(page, found, said):
    app = page("plan")
    app.session_state["otherwise"] = True
    app.run()

    shown = table(app, "If judged otherwise")
    assert shown["If judged otherwise"].to_list() == [
        "2 times the years ahead", "all years 3 times longer", "all years 3 times shorter"
    ]  # fmt: skip
    assert "1959.9" in shown["Objects that come in"][0]
    app.selectbox(key="group_of_rates").select("lifting").run()
    assert table(app, "If judged otherwise")["If judged otherwise"].to_list()[3:] == ["rates of lifting 3 times higher"]


def test_without_proposals_it_says_so(page, store, bring_in, write_csv, answer):
    bring_in(write_csv("c.csv", "Accession No,Title,Material and technique", "1,Bowl,Painted enamel on copper"))
    app = page("plan", store)

    assert not app.exception
    assert "no money set for" in "".join(h.proto.body for h in app.main.get("html"))


def test_a_round_of_checks_follows_the_hours_and_is_noted_when_a_person_says_so(page, demonstration, tmp_path, said):
    store = Store(tmp_path / "enamels.duckdb")
    shutil.copyfile(demonstration.path, store.path)
    app = page("not_yet_checked", store, plan_round_hours="5")
    assert "In 5 hours check these 10 objects first" in said(app)

    app.number_input(key="plan_round_hours").set_value(10.0).run()
    assert app.query_params["plan_round_hours"] in ("10", ["10"])
    assert "In 10 hours check these 20 objects first" in said(app)
    app.button(key="round_note").click().run()
    assert "First give your name." in said(app)
    app.text_input(key="round_by").input("Ida")
    app.button(key="round_note").click().run()

    assert "20 objects. Their checks name this survey." in said(app)
    assert store.read()["survey"].tail(1).select("selection", "design").row(0)[0] == "worst_first"
    assert "which cannot be planned" in said(page("not_yet_checked", plan_round_hours="soon"))


def test_what_is_to_come_stands_where_no_filter_is_set(page, found, said):
    assert "the hours on record, 190 a year, it starts to shrink in 2027" in said(page("work_waiting"))
    assert "stands here where no filter is set" in said(page("work_waiting", location_id="L2"))


def test_sums_of_money_are_written_out_and_small_shares_keep_their_digits(page, found):
    app = page("plan")
    schedule = next(t for t in app.dataframe if "What is done" in t.value.columns and "Year" in t.value.columns)
    formats = {name: its["type_config"]["format"] for name, its in json.loads(schedule.proto.columns).items()
               if its.get("type_config", {}).get("type") == "number"}  # fmt: skip
    assert schedule.value["Money"].max() >= 1000, "else the test says nothing"
    assert formats["Money"] == "localized"
    assert formats["Hours [h]"] == "compact"
