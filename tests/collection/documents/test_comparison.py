"""A report held against its own data: whatever was laid over it, put into it or taken out of it is found."""

import gzip
import hashlib
import json
from collections.abc import Callable
from io import BytesIO
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from pypdf import PdfReader, PdfWriter
from pypdf.annotations import FreeText
from pypdf.generic import ArrayObject, DecodedStreamObject, DictionaryObject, NameObject

from collection.documents.attachment import NAME
from collection.documents.comparison import compare
from collection.documents.typeset import TEMPLATE, TEMPLATES, typeset
from collection.documents.words import WORDS, words
from schemas.errors import SourceRefused
from tests.collection.documents.test_pdf import document_of

# Raise `version` in words.toml whenever the words or the template change, and write the new digest here.
DIGESTS = {"6": "9b4211cae1a86279a197784e443ae83746389e1c0914b502335c0dc08a7100bd"}


@pytest.fixture(scope="module")
def good() -> bytes:
    from tests.collection.documents.builders import small_collection

    return typeset(document_of(small_collection()))


def saved(change: Callable[[PdfWriter], object], good: bytes) -> bytes:
    writer = PdfWriter(clone_from=PdfReader(BytesIO(good)))
    change(writer)
    out = BytesIO()
    writer.write(out)
    return out.getvalue()


def drawn_over(drawing: bytes) -> Callable[[PdfWriter], object]:
    def change(writer: PdfWriter) -> None:
        page, stream = writer.pages[0], DecodedStreamObject()
        stream.set_data(drawing)
        font = {"/Type": "/Font", "/Subtype": "/Type1", "/BaseFont": "/Helvetica"}
        resources = page["/Resources"]["/Font"].get_object()
        resources[NameObject("/FX")] = DictionaryObject({NameObject(k): NameObject(v) for k, v in font.items()})
        page[NameObject("/Contents")] = ArrayObject([page.raw_get("/Contents"), writer._add_object(stream)])

    return change


def forged(writer: PdfWriter) -> None:
    (data,) = PdfReader(BytesIO(WHOLE["good"])).attachments[NAME]
    writer.add_attachment(NAME, json.dumps(json.loads(data) | {"title": "Forged"}).encode())


def runs(writer: PdfWriter) -> None:
    action = {"/Type": "/Action", "/S": "/JavaScript", "/JS": "/x"}
    writer.root_object[NameObject("/OpenAction")] = DictionaryObject(
        {NameObject(k): NameObject(v) for k, v in action.items()}
    )


WHOLE: dict[str, bytes] = {}
CHANGES = {
    "a white box": drawn_over(b"q 1 1 1 rg 0 300 600 300 re f Q"),
    "other words over the page": drawn_over(b"BT /FX 20 Tf 60 500 Td (No damage. Condition excellent.) Tj ET"),
    "a note over the page": lambda w: w.add_annotation(0, FreeText(text="no damage", rect=(50, 300, 550, 600))),
    "a second attachment of the same name": forged,
    "another attachment": lambda w: w.add_attachment("more.json", b"{}"),
    "a blank page more": lambda w: w.add_blank_page(),
    "the first page gone": lambda w: w.remove_page(0),
    "a page turned": lambda w: w.pages[0].rotate(180),
    "something that runs": runs,
    "only saved again": lambda w: None,
}


@pytest.mark.parametrize("name", CHANGES)
def test_what_was_changed_after_it_was_made_does_not_agree(good, name):
    WHOLE["good"] = good

    assert not compare(saved(CHANGES[name], good), "r.pdf").agrees


def test_a_drawing_over_a_page_names_the_page(good):
    assert compare(saved(CHANGES["a white box"], good), "r.pdf").pages_differing == (1,)


def test_as_made_it_agrees_to_the_last_byte(good):
    compared = compare(good, "r.pdf")

    assert compared.agrees
    assert compared.exact is True


def test_what_another_version_made_is_compared_in_words_only(good, monkeypatch):
    monkeypatch.setattr("collection.documents.comparison.typesetter", lambda: "another")

    compared = compare(good, "r.pdf")

    assert compared.agrees
    assert compared.exact is None


@settings(max_examples=20, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(st.tuples(st.integers(0, 10**9), st.integers(0, 255)), min_size=1, max_size=20))
def test_bytes_changed_at_random_are_refused_or_do_not_agree(good, changes):
    data = bytearray(good)
    for place, value in changes:
        data[place % len(data)] = value
    try:
        compared = compare(bytes(data), "r.pdf")
    except SourceRefused:
        return
    assert compared.agrees == (bytes(data) == good)


@pytest.mark.parametrize(
    "attached",
    [b"", b"[]", b"null", b"1", b"[" * 100_000, b'{"a":' * 100_000, b"\xff\xfe{", b'{"format": ' + b"9" * 5000 + b"}"],
)
def test_data_that_are_none_of_ours_are_refused(attached):
    writer, out = PdfWriter(), BytesIO()
    writer.add_blank_page(100, 100)
    writer.add_attachment(NAME, attached)
    writer.write(out)

    with pytest.raises(SourceRefused):
        compare(out.getvalue(), "r.pdf")


@pytest.mark.parametrize("change", [{"number": 5}, {"title": None}, {"blocks": [1]}, {"evil": 1}, {"made_on": []}])
def test_data_of_another_form_are_refused(good, change):
    (data,) = PdfReader(BytesIO(good)).attachments[NAME]
    writer, out = PdfWriter(), BytesIO()
    writer.add_blank_page(100, 100)
    writer.add_attachment(NAME, json.dumps(json.loads(data) | change).encode())
    writer.write(out)

    with pytest.raises(SourceRefused):
        compare(out.getvalue(), "r.pdf")


def test_words_and_template_have_the_version_they_had_when_it_was_last_raised():
    whole = b"".join(Path(p).read_bytes() for p in (WORDS, TEMPLATES / TEMPLATE))
    now = {words()["version"]: hashlib.sha256(whole).hexdigest()}

    raised = (
        f"set DIGESTS of this file to {now}"
        if set(now) != set(DIGESTS)
        else "raise version in words.toml, and run this again"
    )
    assert now == DIGESTS, f"{WORDS.name} or {TEMPLATE} changed: {raised}"


def test_a_report_that_version_0_1_0_made_still_verifies(enamels, tmp_path):
    """Made by `enamels report object-1` of that version, of the store beside it (tests/stores)."""
    kept = Path(__file__).parents[2] / "stores" / "0.1.0-report.pdf.gz"
    data = gzip.decompress(kept.read_bytes())
    (tmp_path / "report.pdf").write_bytes(data)
    (tmp_path / "other.pdf").write_bytes(saved(lambda writer: writer.remove_page(0), data))

    code, out, _ = enamels("verify", "report.pdf")

    assert code == 0
    assert "object-1, outgoing, 2026-09-30" in out
    assert "made with another version" in out
    assert enamels("verify", "other.pdf")[0] == SourceRefused.code
