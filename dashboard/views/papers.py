"""Papers that are made when asked for: a button, how far it is, then the file to take away."""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import streamlit as st

from collection.documents.batch import Bundle, ReportRequest, bundle, cover_name, safe_stem
from collection.documents.disclosed import disclosed
from collection.documents.document import Document
from collection.documents.lists import cover_list, walk_list
from collection.documents.loan_report import FORMS, card
from collection.documents.plan_page import plan_page, plan_workbook
from collection.documents.public import publication
from collection.documents.sections.photographs import FOLDER, load, with_photographs
from collection.documents.sheet import workbook
from collection.documents.typeset import typeset
from collection.documents.year_page import statement_page
from collection.plan.plan import Plan
from collection.plan.stability import Stability
from collection.questions.survey_plan import survey_sheet, survey_walk
from collection.questions.triage import Triage
from collection.questions.words import count, coverage_sentence
from collection.recording.statements import YearlyStatement
from dashboard import data
from dashboard.views import parts
from schemas.errors import RegisterError
from schemas.vocabularies import vocabulary

PDF, ZIP = "application/pdf", "application/zip"
KINDS = {".pdf": ("PDF", PDF), ".xlsx": ("XLSX", parts.XLSX)}  # by how a file's name ends
FINISHED = "papers_finished"  # key of the session: files by what they are of
Make = Callable[[Triage], bytes]


@dataclass(frozen=True)
class Paper:
    """One paper that a button makes; `key` tells it from every other."""

    key: str
    label: str
    file: str
    make: Make


def of_object(triage: Triage, object_id: str, loan_id: str | None) -> None:
    """Report, short form and card of one object, for its next loan."""
    stage, stem = next(iter(vocabulary("loan_state").term)), safe_stem(object_id)
    day = triage.as_of
    _offer(
        triage,
        Paper(f"report_{object_id}", "Condition report", f"{stem}_{stage}_{day}.pdf", _report(object_id, loan_id)),
        Paper(f"short_{object_id}", "Short form, two pages", f"{stem}_{stage}_{day}_short.pdf",
              _report(object_id, loan_id, short=True)),
        Paper(f"card_{object_id}", "Card for its place", f"card_{stem}_{day}.pdf", _card(object_id)),
    )  # fmt: skip


def of_plan(triage: Triage, plan: Plan, asked: str, draws: Stability | None) -> None:
    """The page for the director, and the whole plan as a workbook; `asked`: what it was made for, in a sentence.

    draws : how often each line stays in, None until that is known.
    """
    stem, key = f"plan_{plan.first_year}_{triage.as_of}", f"{id(plan)}"
    book = f"book_{key}_{'drawn' if draws else 'bare'}"  # what was made before the draws were there is made again
    _offer(
        triage,
        Paper(f"page_{key}", "Page for the director", f"{stem}.pdf", lambda t: typeset(plan_page(t, plan, asked))),
        Paper(book, "The whole plan", f"{stem}.xlsx", lambda t: plan_workbook(t, plan, asked, draws)),
    )


def of_statement(triage: Triage, its: YearlyStatement) -> None:
    """The year in measures on one page."""
    _offer(
        triage,
        Paper(f"statement_{its.year}", "The year in measures", f"statement_{its.year}.pdf",
              lambda _: typeset(statement_page(its.triage, its.year, its.now, its.before, its.frozen))),
    )  # fmt: skip


def of_survey(triage: Triage, survey_id: str) -> None:
    """The objects of a survey that wait, as a list to carry and as a sheet of checks to fill."""
    stem, words = f"survey_{safe_stem(survey_id)}_{triage.as_of}", coverage_sentence(triage.coverage())
    _offer(
        triage,
        Paper(f"walk_{survey_id}", "List to carry", f"{stem}.pdf",
              lambda now: typeset(walk_list(survey_walk(now, survey_id), words, now.as_of))),
        Paper(f"sheet_{survey_id}", "Sheet to fill", f"{stem}.xlsx",
              lambda now: workbook(survey_sheet(now, survey_id))),
    )  # fmt: skip


def of_loan(triage: Triage, loan_id: str) -> None:
    """The cover list of a loan, and all its papers in one file."""
    _offer(
        triage,
        Paper(
            f"cover_{loan_id}", "Cover list", cover_name(triage, loan_id), lambda now: typeset(cover_list(now, loan_id))
        ),
    )
    _offer_all(triage, loan_id)


def _offer(triage: Triage, *papers: Paper) -> None:
    """A button for each paper; once it is made, its download beside it, until the register changes."""
    files = _finished(triage)
    with st.container(horizontal=True):
        for paper in papers:
            if st.button(f"Make: {paper.label}", key=f"make_{paper.key}"):
                try:
                    with st.spinner(f"Making: {paper.label}"):
                        files[paper.key] = paper.make(triage)
                except RegisterError as error:
                    parts.say(str(error), "warn")
            if paper.key in files:
                kind, mime = KINDS[Path(paper.file).suffix]
                _download(paper.key, f"Download: {paper.label} ({kind})", files[paper.key], paper.file, mime)


def _offer_all(triage: Triage, loan_id: str) -> None:
    files, key = _finished(triage), f"all_{loan_id}"
    if st.button("Make: cover list and all reports in one file", key=f"make_{key}"):
        bundled = _all(triage, loan_id)
        files[key] = bundled.data
        parts.say(f"{count(bundled.papers, 'paper')} in the file.")
        for failure in bundled.failures:
            parts.say(f"Not made: {failure}", "warn")
    if key in files:
        name = f"loan_{safe_stem(loan_id)}_{triage.as_of}.zip"
        _download(key, "Download: cover list and all reports (ZIP)", files[key], name, ZIP)


def _all(triage: Triage, loan_id: str) -> Bundle:
    """All papers of a loan, with how far it is."""
    bar = st.progress(0.0, "Making the cover list")

    def progress(finished: int, total: int, number: str) -> None:
        bar.progress(
            finished / total, f"{finished} of {count(total, 'paper')}" + (f", next {number}" if number else "")
        )

    bundled = bundle(triage, loan_id, _request(triage), progress)
    bar.empty()
    return bundled


def _request(triage: Triage) -> ReportRequest:
    folder = data.store().path.parent
    return ReportRequest(next(iter(vocabulary("loan_state").term)), triage.as_of, folder, folder / FOLDER)


def _report(object_id: str, loan_id: str | None, *, short: bool = False) -> Make:
    def make(triage: Triage) -> bytes:
        request = _request(triage)
        shown, also = publication(triage.collection, object_id, disclosed(triage, [object_id], loan_id)[object_id])
        document: Document = FORMS[short](shown, object_id, request.state, triage.as_of, loan_id, also)
        return typeset(*with_photographs(document, load(document, request.photographs)))

    return make


def _card(object_id: str) -> Make:
    def make(triage: Triage) -> bytes:
        shown, also = publication(triage.collection, object_id, disclosed(triage, [object_id], None)[object_id])
        return typeset(card(shown, object_id, triage.as_of, also))

    return make


def _finished(triage: Triage) -> dict[str, bytes]:
    """Files of this visit, of the register as it is now."""
    state = (triage.collection.version, triage.as_of)
    of, files = st.session_state.get(FINISHED, (None, None))
    if of != state:
        files = {}
        st.session_state[FINISHED] = (state, files)
    of_visit: dict[str, bytes] = files
    return of_visit


def _download(key: str, label: str, data: bytes, name: str, mime: str) -> None:
    st.download_button(label, data, name, mime, key=f"take_{key}", on_click="ignore")
