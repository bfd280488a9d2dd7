"""The page of loans, and what the object and the storeroom say of travelling, run from the entry script."""

import io
import zipfile

import pytest
from pypdf import PdfReader

from collection.documents.attachment import read_attached
from collection.documents.typeset import typeset
from collection.questions import loan, loans, travel
from dashboard.views import papers
from schemas.errors import Unsettable

PROMISED, ASKED, IN = "LN 2026/2", "LN 2027/1", "LN 2026/IN"


def button(app, words):
    (one,) = (b for b in app.button if b.label == words)
    return one


def finished(app):
    """Files made on this visit, by what they are of."""
    return app.session_state[papers.FINISHED][1]


def lines_of(app):
    """Links of the page's own rows."""
    return [h.proto.body for h in app.main.get("html") if 'class="rows"' in h.proto.body]


def test_the_first_line_is_the_answer(to_read, found, answer):
    app = to_read("loans")

    assert answer(app) == f'<p class="answer">{loans.answer(loans.loans(found))}</p>'
    assert "1 loan is asked for and waits for an answer until 31 October 2026" in answer(app)
    assert "2 of its 4 objects are not to be packed as recorded" in answer(app)
    assert "due back with its lender 31 March 2027" in answer(app)


def test_loans_by_day_in_words(to_read, found):
    table = to_read("loans").dataframe[0].value

    assert table["Loan"].to_list() == loans.loans(found)["loan_id"].to_list()
    assert table["How far it is"].to_list() == ["Asked for", "Agreed", "Here", "Returned", "Refused"]
    assert table["What is next"][1] == "leaves 16 November 2026, in 47 days"


@pytest.mark.parametrize("number", [PROMISED, ASKED, IN])
def test_the_address_names_the_loan_and_its_objects_stand_with_verdict_and_reasons(to_read, found, said, number):
    app = to_read("loans", loan_id=number)
    words, mine = said(app), loan.lent(found, number)

    assert f"{number}, " in words
    assert all(f"{label}: {count}" in words for label, count in mine["verdict_words"].value_counts().iter_rows())
    body = "".join(lines_of(app))
    assert all(
        f"object_id={row['object_id'].replace(' ', '+').replace('/', '%2F')}" in body
        for row in mine.iter_rows(named=True)
    )
    assert all(row["fit_when"][:30] in body for row in mine.iter_rows(named=True))


def test_hours_cost_and_time_stand_beside_the_reasons(to_read, said):
    words = said(to_read("loans", loan_id=PROMISED))

    assert "about 15 h (10 to 22), materials 13 GBP" in words
    assert "Leaves 16 November 2026, 47 days left; at 3 h a week it takes 42 days: in time." in words


def test_conflicts_and_open_lines_are_listed(to_read, said):
    app = to_read("loans", loan_id=ASKED)
    tables = {tuple(t.value.columns): t.value for t in app.dataframe}
    (against,) = (t for columns, t in tables.items() if "Do they fit?" in columns)
    (undone,) = (t for columns, t in tables.items() if "To be done before packing" in columns)

    assert set(against["Do they fit?"]) == {"CONFLICT, not bridged"}
    assert "What was agreed goes beyond what 3 objects need." in said(app)
    assert undone["To be done before packing"].to_list() == ["box the two loose stones", "photograph the reverse"]


def test_a_loan_the_register_does_not_have_is_said(to_read, said):
    words = said(to_read("loans", loan_id="LN 9"))

    assert "no loan of this number" in words
    assert "LN 9" in words


def test_a_register_without_loans_says_what_would_fill_it(page, store, bring_in, write_csv, said, answer):
    bring_in(write_csv("c.csv", "Accession No,Title,Material and technique", "1,Bowl,Painted enamel on copper"))
    app = page("loans", store)

    assert "No loan is on record." in answer(app)
    assert "enamels intake" in said(app)
    assert not app.dataframe


def test_the_cover_list_is_made_when_asked_for_and_offered(page):
    app = page("loans", loan_id=PROMISED)
    assert not finished(app)

    button(app, "Make: Cover list").click().run()
    (data,) = finished(app).values()

    assert read_attached(data, "cover").document.number == PROMISED
    assert "Download: Cover list (PDF)" in [b.proto.label for b in app.get("download_button")]


def test_all_papers_of_a_loan_come_as_one_file_and_one_that_fails_stops_no_other(page, monkeypatch, said):
    real = typeset

    def failing(document, *more):
        if document.number == "2020.001":
            raise Unsettable("2020.001", "no font sets it", "", "Install the extra.")
        return real(document, *more)

    monkeypatch.setattr("collection.documents.batch.typeset", failing)
    app = page("loans", loan_id=PROMISED)
    button(app, "Make: cover list and all reports in one file").click().run()
    (data,) = finished(app).values()
    names = zipfile.ZipFile(io.BytesIO(data)).namelist()

    assert [name.split("_")[0] for name in sorted(names)] == ["1971.2", "1991.3", "2024.003", "cover", "not"]
    assert "4 papers in the file." in said(app)
    assert "Not made: 2020.001" in said(app)
    assert "Download: cover list and all reports (ZIP)" in [b.proto.label for b in app.get("download_button")]


def test_the_object_says_whether_it_may_travel_why_not_and_how_it_is_held(to_read, found, said):
    words = said(to_read("object", object_id="1971.2"))
    row = travel.one(found, "1971.2")

    assert "May it travel?" in words
    assert travel.for_what(row) in words
    assert travel.verdict_sentence(row) in words
    assert all(sentence in words for sentence in travel.what_to_do(row))
    assert "both long edges of the metal" in words


def test_an_object_on_no_loan_is_judged_as_if_packed_today(to_read, said):
    words = said(to_read("object", object_id="1961.1"))

    assert "No loan out is ahead" in words


@pytest.mark.parametrize(
    ("label", "pages"), [("Condition report", 6), ("Short form, two pages", 2), ("Card for its place", 1)]
)
def test_papers_of_an_object_are_made_when_asked_for(page, label, pages):
    app = page("object", object_id="1971.2")
    button(app, f"Make: {label}").click().run()
    (data,) = finished(app).values()

    assert len(PdfReader(io.BytesIO(data)).pages) == pages
    assert read_attached(data, label).document.number == "1971.2"


def test_a_paper_that_cannot_be_set_is_said_in_a_sentence(page, monkeypatch, said):
    def failing(*_):
        raise Unsettable("1971.2", "no font sets it", "", "Install the extra `fonts`.")

    app = page("object", object_id="1971.2")
    monkeypatch.setattr("collection.documents.typeset.typeset", failing)
    monkeypatch.setattr("dashboard.views.papers.typeset", failing)
    button(app, "Make: Card for its place").click().run()

    assert "no font sets it" in said(app)
    assert not app.exception
    assert finished(app) == {}


def test_the_storeroom_has_the_verdict_at_the_end_of_its_list(to_read, found):
    table = to_read().dataframe[-1].value
    words = dict(travel.verdict_words(found).iter_rows())

    assert table.columns[-1] == "May it travel?"
    assert dict(zip(table["Number"], table["May it travel?"], strict=True)) == words


def test_travel_is_judged_once_for_each_state(page, monkeypatch, unread):
    calls, real = [], travel.verdict_words
    monkeypatch.setattr("collection.questions.travel.verdict_words", lambda triage: calls.append(1) or real(triage))

    app = page()
    app.run()

    assert len(calls) == 1
