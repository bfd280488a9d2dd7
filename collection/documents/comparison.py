"""A report held against its own data: the code, the words, and the pages made again from what is attached.

A report is typeset the same way each time, so a file that nobody changed is what its data give, byte for byte. Where
another version of the typesetter or of the form made it, only its words can be compared, and that is said.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from io import BytesIO

from pypdf import PageObject, PdfReader

from collection.documents.attachment import NAME, UNREADABLE, Attached, read_attached, unreadable, unsaid_lines
from collection.documents.document import SHORT
from collection.documents.sections.photographs import codes
from collection.documents.typeset import typeset, typesetter
from collection.documents.words import words
from collection.files import digest_of_bytes
from schemas.errors import RegisterError

ENDS_OF_FILE = b"startxref"


@dataclass(frozen=True)
class Comparison:
    """What a file holds beside what its data say.

    exact : the file is what its data give; None where it was made with another version and cannot be made again.
    pages_differing : pages that are not what the data give. later : objects that no report has.
    unsaid : lines of the data that no page prints.
    """

    number: str
    state: str
    made_on: str
    recomputed: str
    printed: str
    pages_without: tuple[int, ...]
    unsaid: tuple[str, ...]
    later: tuple[str, ...]
    exact: bool | None
    pages_differing: tuple[int, ...]

    @property
    def agrees(self) -> bool:
        """Nothing was found that differs."""
        differences = (self.pages_without, self.unsaid, self.later, self.pages_differing)
        return self.recomputed == self.printed and self.exact is not False and not any(differences)


def compare(data: bytes, where: str) -> Comparison:
    """Compare a PDF with the data attached to it; raises SourceRefused where it is no report of ours."""
    attached = read_attached(data, where)
    try:
        return _compared(attached, data)
    except UNREADABLE as error:
        raise unreadable(where, error) from None


def _compared(attached: Attached, data: bytes) -> Comparison:
    document, pages = attached.document, attached.texts
    again = _typeset_again(attached)
    return Comparison(
        number=document.number,
        state=document.state,
        made_on=document.made_on.isoformat(),
        recomputed=attached.code,
        printed=attached.printed,
        pages_without=tuple(n for n, page in enumerate(pages, 1) if attached.code[:SHORT] not in page),
        unsaid=unsaid_lines(document, pages),
        later=_later(attached, data),
        exact=None if again is None else again == data,
        pages_differing=() if again is None or again == data else _differing(data, again),
    )


def _typeset_again(attached: Attached) -> bytes | None:
    """The file that the data give; None where this version cannot make it as it was made."""
    document, metadata = attached.document, attached.reader.metadata
    if metadata is None or metadata.creator != typesetter() or document.rules_version != words()["version"]:
        return None
    try:
        return typeset(document, _photographs(attached))
    except (RegisterError, ValueError, KeyError):  # data that no report of ours could be made from
        return b""


def _photographs(attached: Attached) -> Mapping[str, bytes]:
    """Pictures in the file that have the code which the data give them; without any, no page is gone through."""
    wanted = codes(attached.document)
    if not wanted:
        return {}
    images = {digest_of_bytes(image.data): image.data for page in attached.reader.pages for image in page.images}
    return {photo: images[code] for photo, code in wanted.items() if code in images}


def _differing(data: bytes, again: bytes) -> tuple[int, ...]:
    """Numbers of the pages whose drawing is not that of the pages made again."""
    theirs = list(PdfReader(BytesIO(data)).pages)  # read anew: taking out the text leaves the drawing changed
    ours = list(PdfReader(BytesIO(again)).pages) if again else []
    longest = range(1, max(len(theirs), len(ours)) + 1)
    return tuple(n for n in longest if n > min(len(theirs), len(ours)) or _drawn(theirs[n - 1]) != _drawn(ours[n - 1]))


def _drawn(page: PageObject) -> tuple[object, ...]:
    contents = page.get_contents()
    return (b"" if contents is None else contents.get_data(), tuple(page.mediabox), page.rotation)


def _later(attached: Attached, data: bytes) -> tuple[str, ...]:
    """What was put into the file after it was made."""
    reader = attached.reader
    names = [name for name, files in reader.attachments.items() for _ in files]
    signs = {
        "the file was changed and saved again after it was made": data.count(ENDS_OF_FILE) != 1,
        "another attachment": names != [NAME],
        "a note or drawing laid over a page": any(page.get("/Annots") for page in reader.pages),
        "a form": "/AcroForm" in reader.root_object,
        "something that runs when it is opened": bool({"/OpenAction", "/AA"} & set(reader.root_object)),
    }
    return tuple(words for words, there in signs.items() if there)
