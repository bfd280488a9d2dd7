"""Photographs by view, with the outlines of what the tables number."""

import re
from collections.abc import Iterator, Mapping
from dataclasses import replace
from glob import escape
from io import BytesIO
from pathlib import Path

from PIL import Image, ImageOps, UnidentifiedImageError

from collection.documents.case import Case
from collection.documents.cells import Row, day_words, joined, paragraphs
from collection.documents.document import Block, Document
from collection.documents.words import say, text, title, words
from collection.files import digest_of_bytes
from schemas.terms import ObjectType
from schemas.vocabularies import terms


def pictures(case: Case) -> Iterator[Block]:
    """One picture of each view, the latest; outlines carry the numbers of the tables."""
    latest = {row["view"]: row for row in case.rows("photo", "taken_on", "photo_id")}
    if latest:
        rows = tuple(
            _picture(case, row) for row in sorted(latest.values(), key=lambda r: (r["view"] or "", r["photo_id"]))
        )
        yield Block("pictures", title("pictures"), rows)
    missing = [view for view in views(case) if not view[2]]
    wanted = joined(*(name.lower() for name, _, _ in missing))
    if missing:
        yield Block("text", "" if latest else title("pictures"),
                    paragraphs([text("missing_views" if latest else "no_picture", views=wanted)]))  # fmt: skip
        rows = tuple({"caption": name, "drawn": drawn, "ratio": _ratio(case)} for name, drawn, _ in missing)
        yield Block("outlines", "", (*rows, {"text": text("outlines_rule")}))


def views(case: Case) -> list[tuple[str, str, bool]]:
    """Sides of an object of this shape: name, which outline is drawn of it, and whether a photograph shows it."""
    kinds = terms("object_type", ObjectType)
    shape = kinds[case.object_row["object_type"]].shape if case.object_row["object_type"] in kinds else None
    shapes = {row["shape"]: row["views"] for row in words()["outline"]}
    photographed = {str(row["view"] or "").lower() for row in case.rows("photo")}
    asked = shapes.get(shape or "", words()["outline"][0]["views"])
    return [(name, drawn, bool({name.lower(), *sides} & photographed)) for name, drawn, *sides in asked]


def _ratio(case: Case) -> str:
    """Width over height of the object as far as known."""
    wide = case.object_row["width_mm"] or case.object_row["diameter_mm"]
    high = case.object_row["height_mm"] or case.object_row["diameter_mm"]
    return f"{min(max(wide / high, 1 / STEEPEST), STEEPEST):.3f}" if wide and high else "1"


def _picture(case: Case, row: Row) -> Mapping[str, str]:
    drawn = [r for r in case.rows("region", "region_id") if r["photo_id"] == row["photo_id"] and _number(case, r)]
    outlines = sorted({_number(case, r) for r in drawn}, key=lambda n: (len(n), n))
    view = row["view"] or say("view_not_said")
    word = "photo_alt" if drawn else "photo_unoutlined"
    return {
        "caption": say("photo", view=view, day=day_words(row["taken_on"]) or say("undated")),
        "photo": row["photo_id"],
        "alt": say(word, number=case.object_id, view=view, outlines=joined(*outlines)),
        "outlines": "|".join(f"{_number(case, r)}:{r['outline']}" for r in drawn),
    }


def _number(case: Case, region: Row) -> str:
    return case.numbers.get(region["damage_id"] or region["repair_id"] or "", "")


STEEPEST = 3  # an outline is drawn no narrower than one to this
FOLDER = "photographs"
KIND = "pictures"
SIZE, JPEG = "photo_size", "photo_jpeg"  # of a row, for machines
DIGEST = re.compile("[0-9a-f]{64}")


def named(document: Document) -> tuple[str, ...]:
    """Content hashes of the photographs a report shows."""
    return tuple(row["photo"] for block in document.blocks if block.kind == KIND for row in block.rows)


def load(document: Document, folder: Path) -> Mapping[str, bytes]:
    """Bytes of those photographs that lie in a folder under their content hash, with any ending.

    A file whose bytes have another hash is not that photograph, and is left out.
    """
    candidates = ((photo, path) for photo in named(document) for path in sorted(folder.glob(f"{escape(photo)}*")))
    read = ((photo, path.read_bytes()) for photo, path in candidates if path.is_file())
    return {photo: data for photo, data in read if not DIGEST.fullmatch(photo) or digest_of_bytes(data) == photo}


def with_photographs(document: Document, photographs: Mapping[str, bytes]) -> tuple[Document, Mapping[str, bytes]]:
    """The document with size and code of each photograph as set, and those JPEGs by content hash."""
    prepared = {photo: ready(photographs[photo]) for photo in named(document) if photo in photographs}
    jpegs = {photo: its[0] for photo, its in prepared.items() if its}
    added = {
        photo: {SIZE: f"{its[1][0]}x{its[1][1]}", JPEG: digest_of_bytes(its[0])}
        for photo, its in prepared.items()
        if its
    }
    blocks = tuple(
        replace(block, rows=tuple({**row, **added.get(row["photo"], {})} for row in block.rows))
        if block.kind == KIND
        else block
        for block in document.blocks
    )
    return replace(document, blocks=blocks), jpegs


def codes(document: Document) -> Mapping[str, str]:
    """Content hash of each photograph that is set to the SHA-256 of the JPEG it is set as."""
    return {row["photo"]: row[JPEG] for b in document.blocks if b.kind == KIND for row in b.rows if row.get(JPEG)}


def ready(data: bytes) -> tuple[bytes, tuple[int, int]] | None:
    """A JPEG without metadata, and the size of the original upright; None where the bytes are no picture."""
    try:
        with Image.open(BytesIO(data)) as opened:
            upright = ImageOps.exif_transpose(opened).convert("RGB")
    except (UnidentifiedImageError, OSError, ValueError, Image.DecompressionBombError):
        return None
    size, wanted = upright.size, words()["picture"]
    upright.thumbnail((wanted["longest_side"], wanted["longest_side"]))
    bare = Image.new("RGB", upright.size)
    bare.paste(upright)
    out = BytesIO()
    bare.save(out, "JPEG", quality=wanted["quality"])
    return out.getvalue(), size
