"""From the report as a value to a PDF: archival, tagged, with the canonical JSON attached and its code on each page.

Text from records reaches the typesetter only as data (a JSON file it reads), never as markup.
"""

import json
import tempfile
from collections.abc import Iterator, Mapping
from datetime import UTC, datetime, time
from functools import cache
from io import BytesIO
from pathlib import Path

import typst
from pypdf import PdfReader

from collection.documents.attachment import NAME
from collection.documents.cells import day_words
from collection.documents.document import Document, in_groups
from collection.documents.fonts import FontSet, as_json, characters_in, font_set
from collection.documents.sections import photographs
from collection.documents.words import say, words
from schemas.errors import RegisterError, Unsettable

TEMPLATES = Path(__file__).parent / "templates"
TEMPLATE = "report.typ"
STANDARDS: "typst.PDFStandards" = ["a-3a", "ua-1"]


def typeset(document: Document, jpegs: Mapping[str, bytes] | None = None, fonts: FontSet | None = None) -> bytes:
    """The PDF, the same bytes each time; `jpegs` as `photographs.with_photographs` gives them.

    Raises Unsettable where text cannot be set.
    """
    chosen = fonts or font_set()
    _check(document, chosen.lacking(frozenset("".join(text for _, text in texts(document)))))
    with tempfile.TemporaryDirectory(prefix="enamel-report-") as work:
        return _compiled(document, jpegs or {}, chosen, Path(work))


@cache
def typesetter() -> str:
    """What the typesetter calls itself in the files it makes."""
    metadata = PdfReader(BytesIO(bytes(typst.compile(b"#set document(date: none)")))).metadata
    return str(metadata.creator if metadata else "")


def texts(document: Document) -> Iterator[tuple[str, str]]:
    """Every text of a report that is printed or read aloud, with the field it stands in."""
    yield "number", document.number
    yield "title", document.title
    for block in document.blocks:
        yield block.title, block.title
        for row in block.rows:
            for key, text in row.items():
                yield f"{block.title}: {row.get('label', '')} {key}", text


def _check(document: Document, lacking: frozenset[str]) -> None:
    """Refuse text that no font has, naming object, field and characters."""
    if lacking:
        where = next(((field, text) for field, text in texts(document) if lacking & set(text)), ("", ""))
        raise _unsettable(document, *where, lacking)


def _unsettable(document: Document, field: str, text: str, lacking: frozenset[str]) -> Unsettable:
    characters = " ".join(f"{c if c.isprintable() else ''} U+{ord(c):04X}".strip() for c in sorted(lacking))
    return Unsettable(
        document.number,
        f"'{_shown(text)}' in {' '.join(field.split())} has characters that no font here can set ({characters})",
        "",
        "Install the extra `fonts` (pip install 'enamel-register[fonts]'), or name a folder of fonts in ENAMELS_FONTS.",
    )


def _shown(text: str) -> str:
    cleaned = "".join(c if c.isprintable() else "\ufffd" for c in text)
    return cleaned if len(cleaned) <= LONGEST_QUOTE else cleaned[:LONGEST_QUOTE] + "…"


LONGEST_QUOTE = 80


def _compiled(document: Document, jpegs: Mapping[str, bytes], fonts: FontSet, work: Path) -> bytes:
    canonical = document.canonical()
    (work / NAME).write_bytes(canonical)
    (work / TEMPLATE).write_bytes((TEMPLATES / TEMPLATE).read_bytes())
    page = {"pictures": _pictures(document, jpegs, work), "code": in_groups(document.content_hash())}
    page |= {
        "day": day_words(document.made_on),
        "short": document.short_code(),
        "form": say("form_version", version=document.rules_version),
    }
    page |= {"label": words()["footer"], **words()["lines"]}
    (work / "page.json").write_text(json.dumps(page), "utf-8")
    try:
        pdf = typst.compile(
            work / TEMPLATE,
            root=work,
            font_paths=fonts.fonts,
            sys_inputs={"fonts": as_json(fonts.families), "attached": NAME},
            pdf_standards=STANDARDS,
            timestamp=int(datetime.combine(document.made_on, time(), UTC).timestamp()),
        )
    except typst.TypstError as error:
        lacking = frozenset(characters_in(error))
        _check(document, lacking)
        raise RegisterError(document.number, f"the page could not be set ({error.message})", "", "") from error
    return bytes(pdf)


def _pictures(document: Document, jpegs: Mapping[str, bytes], work: Path) -> Mapping[str, object]:
    """Photographs written beside the template, with their outlines as shares of width and height."""
    for photo, jpeg in jpegs.items():
        (work / f"{photo}.jpg").write_bytes(jpeg)
    rows = [row for block in document.blocks if block.kind == photographs.KIND for row in block.rows]
    return {row["photo"]: _placed(row) for row in rows if row["photo"] in jpegs}


def _placed(row: Mapping[str, str]) -> Mapping[str, object]:
    width, height = map(int, row[photographs.SIZE].split("x"))
    outlines = (one.split(":", 1) for one in row["outlines"].split("|") if one)
    shapes = [{"no": no, "points": list(_points(outline, (width, height)))} for no, outline in outlines]
    return {
        "file": f"{row['photo']}.jpg",
        "ratio": width / height,
        "shapes": [shape for shape in shapes if shape["points"]],
    }


def _points(outline: str, size: tuple[int, int]) -> Iterator[tuple[float, float]]:
    for pair in outline.split():
        x, _, y = pair.partition(",")
        try:
            yield float(x) / size[0], float(y) / size[1]
        except ValueError:
            return
