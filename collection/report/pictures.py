"""Photographs for the page: made small enough to send, turned upright, and without what a camera wrote into them."""

from collections.abc import Mapping
from io import BytesIO
from pathlib import Path

from PIL import Image, ImageOps, UnidentifiedImageError

from collection.report.document import Document
from collection.report.words import words

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
