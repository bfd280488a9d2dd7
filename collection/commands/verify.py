"""`enamels verify`: whether a report's printed code is that of the data attached to it. Needs no store."""

from pathlib import Path

import click

from collection.commands.options import json_option
from collection.commands.output import Answer, emit
from collection.documents.attachment import Reading, read_report
from schemas.errors import SourceRefused


@click.command(epilog="Example: enamels verify reports/V.1912.45_outgoing_2026-11-25.pdf")
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False))
@json_option
def verify(file: Path, as_json: bool) -> None:
    """Recompute the code of a report's attached data and compare it with the code printed on its pages."""
    try:
        data = file.read_bytes()
    except OSError as error:
        raise SourceRefused(str(file), f"cannot be read ({error.strerror})", "a report as PDF", "") from None
    emit(_answer(file, read_report(data, str(file))), as_json=as_json)


def _answer(file: Path, read: Reading) -> Answer:
    document = {
        "file": file,
        "agrees": read.agrees,
        "sha256": read.recomputed,
        "printed": read.printed,
        "pages_without_code": read.pages_without,
        "said_in_the_data_only": read.unsaid,
        "object_id": read.document.number,
        "state": read.document.state,
        "made_on": read.document.made_on.isoformat(),
    }
    return Answer(f"{file}: {_sentence(read)}", document, 0 if read.agrees else SourceRefused.code)


def _sentence(read: Reading) -> str:
    what = f"{read.document.number}, {read.document.state.lower()}, {read.document.made_on}"
    if read.agrees:
        return f"the code printed is that of the data attached ({what}; {read.recomputed})."
    if read.recomputed != read.printed:
        printed = read.printed or "none"
        return f"the data attached have the code {read.recomputed}, the pages print {printed}: do not rely on it."
    if read.pages_without:
        pages = ", ".join(map(str, read.pages_without))
        return f"page {pages} does not carry the code of the data attached: do not rely on it."
    return f"the data attached say what the pages do not ('{read.unsaid[0]}'): do not rely on it."
