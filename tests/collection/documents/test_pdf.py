"""The file, judged from outside: tags, fonts, title, language, order, attachment, code, and text that is never obeyed."""

import hashlib
import json
import re
from io import BytesIO

import polars as pl
import pytest
from PIL import Image
from pypdf import PdfReader

from collection.documents.attachment import NAME, read_attached
from collection.documents.comparison import compare
from collection.documents.document import Document, in_groups
from collection.documents.fonts import font_set, fonts_in
from collection.documents.loan_report import loan_report
from collection.documents.public import public
from collection.documents.sections.photographs import load, with_photographs
from collection.documents.typeset import typeset
from collection.snapshot import Collection
from schemas.errors import Unsettable
from tests.collection.documents.builders import DAY, frame, small_collection
from tests.collection.documents.papers import KINDS
from tests.collection.risk.builders import triaged


def document_of(frames, object_id="V.1") -> Document:
    return loan_report(public(Collection.of(frames), object_id), object_id, "outgoing", DAY)


def titled(small, title):
    return small | {"object": small["object"].with_columns(title=pl.lit(title))}


def squashed(text):
    return "".join(text.split()).replace("\u200b", "")


@pytest.fixture(scope="module")
def assessed():
    return triaged(Collection.of(small_collection()), DAY)


@pytest.fixture(scope="module", params=KINDS)
def document(request, assessed):
    """A paper of each kind."""
    return KINDS[request.param](assessed)


@pytest.fixture(scope="module")
def path(document, tmp_path_factory):
    path = tmp_path_factory.mktemp("papers") / "r.pdf"
    path.write_bytes(typeset(document))
    return path


def test_it_is_tagged_titled_in_its_language_and_archival(path, document, tool):
    info, root = tool("pdfinfo", path), PdfReader(path).trailer["/Root"]
    xmp = root["/Metadata"].get_data().decode()

    assert re.search(r"Tagged:\s+yes", info)
    assert document.title in info
    assert str(root["/Lang"]).startswith(document.language)
    assert "/StructTreeRoot" in root
    assert re.search(r"pdfaid:part\W+3\W", xmp)
    assert re.search(r"pdfaid:conformance\W+A\W", xmp)
    assert re.search(r"pdfuaid:part\W+1\W", xmp)


def test_every_font_is_embedded(path, tool):
    lines = tool("pdffonts", path).splitlines()[2:]

    assert lines
    assert all(re.search(r"\byes yes yes\b", line) for line in lines)


def test_the_file_is_sound(path, tool):
    assert "No syntax or stream encoding errors" in tool("qpdf", "--check", path)


def test_it_is_read_in_the_order_of_the_document(path, document, tool):
    text, at = squashed(tool("pdftotext", "-raw", path, "-")), 0
    for line in document.lines():
        found = text.find(squashed(line), at)
        assert found >= 0, line
        at = found + len(squashed(line))


def test_the_attachment_parses_and_hashes_to_the_printed_code(path, document, tool):
    (attached,) = PdfReader(path).attachments[NAME]
    pages = [tool("pdftotext", "-f", str(n), "-l", str(n), path, "-") for n in range(1, len(PdfReader(path).pages) + 1)]

    assert json.loads(attached)["number"] == document.number
    assert hashlib.sha256(attached).hexdigest() == document.content_hash()
    assert in_groups(document.content_hash()) in " ".join(" ".join(pages).split())
    assert all(document.short_code() in page for page in pages)
    assert all(f"page {n} of {len(pages)}" in page for n, page in enumerate(pages, 1))
    assert all((document.number or document.title) in page and document.state in page for page in pages)
    assert all("30 September 2026" in page for page in pages)
    assert compare(path.read_bytes(), path.name).agrees


def test_the_same_document_gives_the_same_bytes(path, document):
    assert typeset(document) == path.read_bytes()


OBEYED = [
    "#panic()",
    '*bold* _it_ $x$ @ref <label> #image("/etc/passwd")',
    "\\ \\u{41} // not a comment /* nor this",
    '"; }',
    "= heading",
    "- a\n- b",
    "~`raw`~ --- ...",
    "{{ }} %s {x}",
]


@pytest.mark.parametrize("text", OBEYED)
def test_text_from_records_is_never_obeyed(small, text):
    read = compare(typeset(document_of(titled(small, text))), "r.pdf")

    assert read.agrees, read.unsaid
    assert text in read_attached(typeset(document_of(titled(small, text))), "r.pdf").document.title


def test_a_word_longer_than_a_column_breaks_and_stays_whole(small):
    long = "W" * 400
    read = compare(
        typeset(document_of(small | {"damage": small["damage"].with_columns(position=pl.lit(long))})), "r.pdf"
    )

    assert read.agrees, read.unsaid


def test_a_cell_longer_than_a_page_is_set_whole(small):
    words = " ".join(f"word{n}" for n in range(3000))
    check = small["condition_check"].with_columns(summary_observed=pl.lit(words))
    damage = small["observation"].with_columns(evidence=pl.lit(words))
    read = compare(typeset(document_of(small | {"condition_check": check, "observation": damage})), "r.pdf")

    assert read.agrees, [text[:80] for text in read.unsaid]


NAMES = {
    "Japanese": "七宝焼の壺",
    "Arabic": "صندوق من محمد علي",
    "emoji": "Vase 🙂",
    "control": "a\u0001b",
    "nothing": "a\x00b",
    "private use": "\U000f0000",
}


@pytest.mark.parametrize("name", NAMES.values(), ids=NAMES)
def test_with_typsts_own_fonts_a_name_they_lack_is_refused_and_named(small, name):
    with pytest.raises(Unsettable) as caught:
        typeset(document_of(titled(small, name)), fonts=fonts_in(()))

    lacking = [c for c in name if ord(c) > 0x600 or ord(c) < 0x20]
    assert caught.value.code == 3
    assert caught.value.where == "V.1"
    assert "title" in caught.value.what
    assert all(f"U+{ord(c):04X}" in caught.value.what for c in set(lacking))


@pytest.mark.parametrize(
    "name", ["七宝焼の壺 景泰蓝 칠보", "صندوق من محمد علي", "Vase 🙂", "Ваза Ζωή שלום", "ไทย हिन्दी"]
)
def test_with_the_extra_the_text_comes_back_from_the_file(small, name, tmp_path, tool):
    path = tmp_path / "r.pdf"
    path.write_bytes(typeset(document_of(titled(small, name))))
    text = "".join(
        c for c in tool("pdftotext", path, "-") if c not in "\u200e\u200f\u202a\u202b\u202c\u2066\u2067\u2069"
    )

    assert squashed(name) in squashed(text)


def test_names_in_latin_greek_cyrillic_and_hebrew_need_no_extra(small):
    assert typeset(document_of(titled(small, "Émail, Ζωή, Ваза, שלום ≥ ½")), fonts=fonts_in(()))


def test_fonts_of_the_machine_are_never_used():
    assert all(info.path is None for info in fonts_in(()).fonts.fonts())
    assert font_set().families[0] == fonts_in(()).families[0]


def jpeg(size=(400, 300), **more):
    out = BytesIO()
    Image.new("RGB", size, (30, 70, 120)).save(out, "JPEG", **more)
    return out.getvalue()


def pictured(small, data):
    photo = hashlib.sha256(data).hexdigest()
    shown = {
        "photo": frame("photo", {"photo_id": photo, "object_id": "V.1", "view": "front", "taken_on": "2026-09-20"}),
        "region": frame(
            "region", {"region_id": "1", "photo_id": photo, "damage_id": "D2", "outline": "1,1 200,20 300,100"}
        ),
    }
    return document_of(small | shown), {photo: data}


def test_a_photograph_is_shown_with_words_for_those_who_cannot_see_it(small, tmp_path, tool):
    path, flat = tmp_path / "r.pdf", tmp_path / "q.pdf"
    path.write_bytes(typeset(*with_photographs(*pictured(small, jpeg()))))
    tool("qpdf", "--qdf", "--object-streams=disable", path, flat)

    assert len(tool("pdfimages", "-list", path).splitlines()) == 3
    assert b"/Alt" in flat.read_bytes()


def test_what_a_camera_wrote_into_a_photograph_does_not_travel(small):
    exif = Image.Exif()
    exif[0x010E] = "North strongroom"
    document, photographs = pictured(small, jpeg(exif=exif))

    assert b"North strongroom" in next(iter(photographs.values()))
    assert b"North strongroom" not in typeset(*with_photographs(document, photographs))


@pytest.mark.parametrize("data", [b"", b"no picture", jpeg()[:200]])
def test_a_photograph_that_cannot_be_read_or_is_not_there_leaves_its_caption(small, data):
    document, _ = pictured(small, jpeg())
    (photo,) = [row["photo"] for block in document.blocks if block.kind == "pictures" for row in block.rows]

    assert compare(typeset(*with_photographs(document, {photo: data})), "r.pdf").agrees
    assert compare(typeset(*with_photographs(document, {})), "r.pdf").agrees


def test_a_report_with_photographs_is_compared_to_the_last_byte(small):
    compared = compare(typeset(*with_photographs(*pictured(small, jpeg()))), "r.pdf")

    assert compared.agrees
    assert compared.exact is True


def test_a_file_under_the_name_of_another_photograph_is_not_shown(small, tmp_path):
    document, photographs = pictured(small, jpeg())
    (photo,) = photographs
    (tmp_path / f"{photo}.jpg").write_bytes(jpeg((10, 10)))

    assert load(document, tmp_path) == {}
    (tmp_path / f"{photo}.jpg").write_bytes(photographs[photo])
    assert load(document, tmp_path) == photographs
