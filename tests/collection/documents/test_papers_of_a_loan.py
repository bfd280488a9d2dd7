"""Papers of a whole loan: its cover list, cards, one file of all its reports; a short form is two pages."""

from datetime import date
from io import BytesIO
from zipfile import ZipFile

import polars as pl
from pypdf import PdfReader

from collection import pipeline
from collection.documents.batch import MISSING, ReportRequest, bundle, reports
from collection.documents.disclosed import disclosed
from collection.documents.lists import cover_list
from collection.documents.typeset import typeset
from collection.settings import as_of_day
from collection.snapshot import Collection
from tests.collection.documents.builders import DAY, frame
from tests.collection.documents.papers import card_of, report_of
from tests.collection.documents.read_back import block, facts, printed
from tests.collection.risk.builders import triaged


def test_the_cover_list_names_number_title_crate_and_verdict(triage):
    document = cover_list(triage, "L1")
    (table,) = (b for b in document.blocks if b.kind == "table")

    assert table.rows == (
        {"object": "V.1", "title": "Plaque, a rider", "crate": "3", "travels": "Not to be packed as recorded"},
    )
    assert "125" not in printed(document)


def test_the_card_says_what_it_needs_whatever_the_loan(small):
    needed = frame("requirement", {"object_id": "V.1", "handling_points": "the frame", "people": 2, "lux_most": 50.0,
                                   "reason": "dyed wool", "set_by": "Odo Ferrant", "set_on": date(2024, 5, 1)})  # fmt: skip
    document = card_of(triaged(Collection.of(small | {"requirement": needed}), DAY))
    (light,) = block(document, "limits").rows

    assert facts(document, "needs")["lift"] == "the frame"
    assert facts(document, "needs")["people"] == "2 people"
    assert (light["needs"], light["reason"]) == ("at most 50 lx", "dyed wool, 1 May 2024")
    assert "Odo Ferrant" not in printed(document)


def test_papers_of_a_loan_are_one_file_and_one_bad_object_stops_no_other(small, tmp_path):
    bad = {
        "object": pl.concat(
            [small["object"], frame("object", {"object_id": "V.0", "title": "\U000f0000"})], how="diagonal"
        )
    }
    more = frame("loan_object", *({"loan_id": "L1", "object_id": n, "part": "whole"} for n in ("V.0", "V.2")))
    lent_too = {"loan_object": pl.concat([small["loan_object"], more], how="diagonal")}
    triage = triaged(Collection.of(small | bad | lent_too), DAY)
    steps = []

    bundled = bundle(triage, "L1", ReportRequest("outgoing", DAY, tmp_path, tmp_path), lambda *step: steps.append(step))
    names = ZipFile(BytesIO(bundled.data)).namelist()

    assert bundled.papers == 2
    assert [step[:2] for step in steps] == [(0, 4), (1, 4), (2, 4), (3, 4), (4, 4)]
    assert [step[2] for step in steps] == ["L1", "V.0", "V.1", "V.2", ""]
    assert sorted(names) == ["V.1_outgoing_2026-09-30.pdf", "V.2_outgoing_2026-09-30.pdf", MISSING]
    assert all(failure.startswith(("V.0", "L1")) for failure in bundled.failures)
    assert list(tmp_path.iterdir()) == []


def test_the_verdict_of_a_batch_is_that_of_each_report(triage, tmp_path):
    asked = ReportRequest("outgoing", DAY, tmp_path, tmp_path, short=True)

    assert {r.object_id: r.verdict for r in reports(triage, ["V.1", "V.2"], asked)} == {
        number: its.verdict for number, its in disclosed(triage, ["V.1", "V.2"], None).items()
    }


def test_a_short_form_of_the_demonstration_is_two_pages(demonstration):
    triage = pipeline.assess_store(demonstration, lambda c: as_of_day(None, c))
    for number in ("1968.1", "1971.2"):  # five numbers and every limit; two venues
        assert len(PdfReader(BytesIO(typeset(report_of(triage, number, short=True)))).pages) == 2
