"""Photographs by view, with the outlines of what the tables number."""

from collections.abc import Iterator, Mapping
from io import BytesIO
from pathlib import Path

from PIL import Image, ImageOps, UnidentifiedImageError

from collection.documents.case import Case
from collection.documents.cells import Row, joined, paragraphs
from collection.documents.document import Block, Document
from collection.documents.words import say, text, title, words


def pictures(case: Case) -> Iterator[Block]:
    """One picture of each view, the latest; outlines carry the numbers of the tables."""
    latest = {row["view"]: row for row in case.rows("photo", "taken_on", "photo_id")}
    if latest:
        rows = tuple(
            _picture(case, row) for row in sorted(latest.values(), key=lambda r: (r["view"] or "", r["photo_id"]))
        )
        yield Block("pictures", title("pictures"), rows)
    else:
        yield Block("text", title("pictures"), paragraphs([text("no_picture")]))


def _picture(case: Case, row: Row) -> Mapping[str, str]:
    drawn = [r for r in case.rows("region", "region_id") if r["photo_id"] == row["photo_id"] and _number(case, r)]
    outlines = sorted({_number(case, r) for r in drawn}, key=lambda n: (len(n), n))
    view = row["view"] or say("view_not_said")
    word = "photo_alt" if drawn else "photo_unoutlined"
    return {
        "caption": say("photo", view=view, day=row["taken_on"] or say("undated")),
        "photo": row["photo_id"],
        "alt": say(word, number=case.object_id, view=view, outlines=joined(*outlines)),
        "outlines": "|".join(f"{_number(case, r)}:{r['outline']}" for r in drawn),
    }


def _number(case: Case, region: Row) -> str:
    return case.numbers.get(region["damage_id"] or region["repair_id"] or "", "")


FOLDER = "photographs"
KIND = "pictures"


def named(document: Document) -> tuple[str, ...]:
    """Content hashes of the photographs a report shows."""
    return tuple(row["photo"] for block in document.blocks if block.kind == KIND for row in block.rows)


def found(document: Document, folder: Path) -> Mapping[str, bytes]:
    """Bytes of those photographs that lie in a folder under their content hash, with any ending."""
    paths = {photo: next(iter(sorted(folder.glob(f"{photo}*"))), None) for photo in named(document)}
    return {photo: path.read_bytes() for photo, path in paths.items() if path}


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
