"""Nothing private leaves: unique marks planted in every Private column and in notes are not in the file, in no form.

The marks are made from the declarations: a new record or a new Private column is planted without an edit here.
"""

from datetime import date, datetime
from decimal import Decimal

import polars as pl
import pytest
from pypdf import PdfReader

from collection.documents.lists import cover_list
from collection.documents.loan_report import loan_report
from collection.documents.public import ALWAYS_PRIVATE, public, screened
from collection.documents.typeset import typeset
from collection.snapshot import NOT_IN_SNAPSHOT, Collection
from schemas.fields import ForeignKey, FromVocabulary, Partial, Private
from schemas.tables import RECORDS
from schemas.vocabularies import vocabulary
from tests.collection.documents.builders import DAY
from tests.collection.documents.papers import card_of, report_of
from tests.collection.risk.builders import triaged

# Figures long enough to be told apart in a sentence.
NUMBERS = {"insured_value": Decimal("91827364"), "money": Decimal("81726354")}


def mark(record: str, column: str) -> str:
    return f"Zq{record.title().replace('_', '')}{column.title().replace('_', '')}Qz"


def key_of(record: str) -> object:
    """The key that rows of a record have in the planted collection: a mark where the key itself is private."""
    spec = RECORDS[record]
    return (
        value(record, spec.key[0])
        if spec.column(spec.key[0]).mark(Private)
        else "V.1"
        if record == "object"
        else f"{record}-1"
    )


def value(record: str, name: str) -> object:
    column = RECORDS[record].column(name)
    points, term = column.mark(ForeignKey), column.mark(FromVocabulary)
    if points:
        return key_of(points.record)
    if term:
        words = vocabulary(term.vocabulary).term
        return [next(iter(words))] if column.several else next(iter(words))
    if column.mark(Private) and column.dtype == pl.String():
        return mark(record, name)
    if name == RECORDS[record].key[0] and column.dtype == pl.String():
        return key_of(record)
    if column.mark(Partial):
        return "2026-09-01"
    return NUMBERS.get(name) or TYPED.get(column.dtype, "plain")


TYPED = {
    pl.Int64(): 2, pl.Float64(): 2.0, pl.Boolean(): True, pl.Date(): date(2026, 9, 1), pl.Datetime("us"): datetime(2026, 9, 1),
    pl.Decimal(18, 2): Decimal("7654321"),
}  # fmt: skip
MARKS = {
    (name, column.name): mark(name, column.name)
    for name, spec in RECORDS.items()
    for column in spec.marked(Private)
    if name not in NOT_IN_SNAPSHOT and column.dtype == pl.String() and not column.mark(ForeignKey)
}
QUOTED = "91,827,364 | 91827364 | " + " | ".join(MARKS.values())


def planted() -> Collection:
    """One row of each record, about one object; all free text quotes every mark, notes hold a mark of their own."""
    frames = {}
    for name, spec in RECORDS.items():
        if name not in NOT_IN_SNAPSHOT:
            row = {c.name: value(name, c.name) for c in spec.columns}
            row |= {
                c.name: f"told: {QUOTED}" for c in spec.columns if row[c.name] == "plain" and c.name not in spec.key
            }
            row |= {
                n: f"Zq{name}NeverQz" for n in ALWAYS_PRIVATE if isinstance(row.get(n), str) and (name, n) not in MARKS
            }
            days = {f"{c.name}_{end}": date(2026, 9, 1) for c in spec.marked(Partial) for end in ("earliest", "latest")}
            frames[name] = pl.DataFrame([row | days], schema=spec.schema())
    frames["damage"] = frames["damage"].with_columns(closed_on=None, origin=None)
    frames["repair"] = frames["repair"].with_columns(closed_on=None)
    frames["loan_leg"] = frames["loan_leg"].with_columns(ends_on=pl.lit(date(2027, 1, 1)))
    frames["condition_check"] = frames["condition_check"].with_columns(
        supersedes_check_id=None, look=pl.lit("inspection")
    )
    frames["setting"] = frames["setting"].with_columns(name=pl.lit("museum"), value=pl.lit("Museum of Fire"))
    return Collection.of(frames)


@pytest.fixture(scope="module")
def told():
    return public(planted(), "V.1")


def test_there_are_marks_in_every_corner():
    kept = planted()

    assert len(MARKS) > 15
    assert sum("Qz" in str(f.row(0)) for f in kept.frames.values()) > 20


def test_no_private_column_is_left(told):
    left = [
        (n, c.name)
        for n, s in RECORDS.items()
        if n in told.frames
        for c in s.marked(Private)
        if c.name in told[n].columns
    ]

    assert left == []
    assert not any(set(ALWAYS_PRIVATE) & set(frame.columns) for frame in told.frames.values())


def test_rows_of_an_object_are_found_through_what_points_at_what(told):
    reached = {name for name, frame in told.frames.items() if frame.height}

    assert {
        "object",
        "observation",
        "repair_state",
        "coverage",
        "material_use",
        "region",
        "option_effect",
        "loan",
        "loan_leg",
        "loan_state",
    } <= reached
    assert not {"location", "person", "year_money", "own_rate", "survey"} & reached


def test_another_objects_rows_stay():
    assert all(frame.is_empty() for name, frame in public(planted(), "V.2").frames.items() if name != "setting")


# Named in a report that a person signs for, and on no other paper: who examined it, and who set what it needs.
DISCLOSED_IN_A_REPORT = {"condition_check": ("examiner", "witness"), "target": ("set_by",)}
# Given to the other side on purpose: what is quoted there is not screened, so it quotes nothing here.
DISCLOSED_NAMES = {
    "loan": ("borrower", "emergency_contact", "lender_contact", "courier_contact", "borrower_contact"),
    "loan_state": ("person_ours", "person_theirs", "courier"),
    "danger_to_people": ("cleared_by",),
}


def assessed(given):
    """The planted collection assessed on the day, with names that are given on purpose put aside."""
    frames = dict(planted().frames)
    for record, names in given.items():
        frames[record] = frames[record].with_columns(pl.lit("given").alias(n) for n in names)
    frames["loan"] = frames["loan"].with_columns(status=None, purpose=pl.lit("a show"))
    frames["loan_object"] = frames["loan_object"].with_columns(crate_no=pl.lit("7"))
    frames["loan_leg"] = frames["loan_leg"].with_columns(starts_on=pl.lit(date(2026, 11, 1)), venue=pl.lit("X"))
    return triaged(Collection.of(frames), DAY)


LEAVING = {
    "report without a verdict": lambda triage: loan_report(public(triage.collection, "V.1"), "V.1", "outgoing", DAY),
    "report": report_of,
    "short form": lambda triage: report_of(triage, short=True),
    "card": card_of,
    "cover list": lambda triage: cover_list(triage, "loan-1"),
}


@pytest.mark.parametrize("kind", LEAVING)
def test_no_mark_is_in_the_file(kind, tmp_path, tool):
    path, open_path = tmp_path / "r.pdf", tmp_path / "q.pdf"
    given = DISCLOSED_NAMES | (DISCLOSED_IN_A_REPORT if kind == "report" else {})
    path.write_bytes(typeset(LEAVING[kind](assessed(given))))
    tool("qpdf", "--qdf", "--object-streams=disable", path, open_path)
    (attached,) = next(iter(PdfReader(path).attachments.values()))
    everything = [open_path.read_bytes(), path.read_bytes(), attached, tool("pdftotext", path, "-").encode()]

    # A name given on purpose is no longer private: text that quotes it is not screened for it.
    marks = [mark for (record, name), mark in MARKS.items() if name not in given.get(record, ())]

    assert b"V.1" in attached
    assert len(marks) > 15
    for data in everything:
        lower = data.lower()
        assert [
            m for m in (*marks, "NeverQz", "91827364", "91,827,364", "7654321") if m.lower().encode() in lower
        ] == []


SCREENED = {
    "name": ("Seen by Odo Ferrant.", "Seen by (withheld)."),
    "other case and spaces": ("ODO  ferrant saw it", "(withheld) saw it"),
    "within a word": ("Odo Ferranti is somebody else", "Odo Ferranti is somebody else"),
    "place": ("came from E9-4.", "came from (withheld)."),
    "figure": ("insured for 125,000 EUR", "insured for (withheld) (withheld)"),
    "figure with cents": ("125.000,00", "(withheld)"),
    "figure with spaces": ("125 000", "(withheld)"),
    "part of a longer figure": ("11250001", "11250001"),
    "nothing private": ("a loss of 125 mm", "a loss of 125 mm"),
}


@pytest.mark.parametrize(("text", "told_as"), SCREENED.values(), ids=SCREENED)
def test_free_text_is_screened(text, told_as):
    spec = RECORDS["condition_check"]
    hidden = frozenset({"Odo Ferrant", "E9-4", "125000.00", "EUR", "3.0"})

    assert screened(spec, pl.DataFrame({"summary_observed": [text]}), hidden)["summary_observed"][0] == told_as


def test_the_name_of_a_place_and_of_what_it_lies_in_is_withheld(small):
    check = small["condition_check"].with_columns(
        summary_observed=pl.lit("From the North strongroom of the Old Brewery.")
    )
    told = public(Collection.of(small | {"condition_check": check}), "V.1")

    assert set(told["condition_check"]["summary_observed"]) == {"From the (withheld) of the (withheld)."}
