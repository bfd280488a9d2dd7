"""A document as a value: blocks of rows of text. Its canonical JSON is attached, and the code is made from it."""

import hashlib
import json
from collections.abc import Iterator, Mapping
from dataclasses import asdict, dataclass
from datetime import date

from pydantic import ConfigDict, TypeAdapter

from schemas.errors import SourceRefused

SHORT = 12  # characters of the code on each page
GROUP = 8
FORMAT = "enamel document 2"
READ = (FORMAT, "enamel condition report 1")  # formats that are read


@dataclass(frozen=True)
class Block:
    """One block of the report; `kind` names the function of the template that sets it.

    `columns` are key and heading of what is printed, in order; a row may hold more, for machines.
    """

    kind: str
    title: str
    rows: tuple[Mapping[str, str], ...]
    columns: tuple[tuple[str, str], ...] = ()

    def lines(self) -> Iterator[str]:
        """What is printed, in reading order."""
        yield from (text for text in (self.title, *(heading for _, heading in self.columns)) if text)
        keys = tuple(key for key, _ in self.columns) or PRINTED
        yield from (row[key] for row in self.rows for key in keys if row.get(key))


# Keys printed, in order, where a block has no columns.
PRINTED = ("label", "no", "text", "caption", "ours", "theirs")


@dataclass(frozen=True)
class Document:
    """A report of one object in one stage on one day, or a list; `state` is empty where no stage is signed."""

    __pydantic_config__ = ConfigDict(extra="forbid")
    number: str
    title: str
    state: str
    made_on: date
    blocks: tuple[Block, ...]
    rules_version: str
    language: str

    def canonical(self) -> bytes:
        """The one way to write this document as JSON: sorted keys, no spaces, UTF-8."""
        plain = asdict(self) | {"made_on": self.made_on.isoformat(), "format": FORMAT}
        written = json.dumps(plain, ensure_ascii=False, sort_keys=True, separators=(",", ":"), allow_nan=False)
        return written.encode("utf-8", "surrogatepass")

    def content_hash(self) -> str:
        """SHA-256 of the canonical JSON: the content code."""
        return code_of(self.canonical())

    def short_code(self) -> str:
        """The first characters of the code, as printed on each page."""
        return self.content_hash()[:SHORT]

    def lines(self) -> Iterator[str]:
        """What is printed, in reading order, but for headers and footers."""
        yield self.title
        for block in self.blocks:
            yield from block.lines()


def in_groups(code: str) -> str:
    """A code as printed, in groups of eight."""
    return " ".join(code[i : i + GROUP] for i in range(0, len(code), GROUP))


def code_of(data: bytes) -> str:
    """The content code of an attachment."""
    return hashlib.sha256(data).hexdigest()


def read_document(data: bytes) -> Document:
    """The document written in an attachment; raises SourceRefused where it is none."""
    try:
        plain = json.loads(data)
        if plain.pop("format") not in READ:
            raise ValueError("another format")
        return _DOCUMENT.validate_json(json.dumps(plain), strict=True)
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError) as error:
        what = f"this is no report of ours ({type(error).__name__})"
        raise SourceRefused("attachment", what, FORMAT, "") from None


_DOCUMENT = TypeAdapter(Document)
