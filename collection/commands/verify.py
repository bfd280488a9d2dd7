"""`enamels verify`: a report's data held against its printed code and its pages. Needs no store."""

import json
import subprocess
import sys
from pathlib import Path

import click
from pydantic import TypeAdapter

from collection.commands.options import json_option
from collection.commands.output import Answer, emit
from collection.documents.comparison import Comparison
from schemas.errors import SourceRefused

CHILD = "collection.documents.verify_child"
LARGEST_BYTES, MOST_MEMORY_BYTES, LONGEST_S = 100_000_000, 2_000_000_000, 60
DO_NOT = "do not rely on it"


@click.command(epilog="Example: enamels verify reports/V.1912.45_outgoing_2026-11-25.pdf")
@click.argument("file", type=click.Path(path_type=Path))
@json_option
def verify(file: Path, as_json: bool) -> None:
    """Compare a report with the data attached to it: the code, the words, and the pages made again from them."""
    _readable(file)
    emit(_answer(file, _compared(file)), as_json=as_json)


def _readable(file: Path) -> None:
    """Raises SourceRefused for what is no file of a size a report can have."""
    if not file.is_file():
        raise SourceRefused(str(file), "this is no file", "a report as PDF", "")
    if file.stat().st_size > LARGEST_BYTES:
        raise SourceRefused(str(file), f"the file is larger than {LARGEST_BYTES:,} bytes", "a report as PDF", "")


def _compared(file: Path) -> Comparison:
    """The comparison, made in a process with limits. Raises SourceRefused."""
    command = [sys.executable, "-P", "-m", CHILD, str(file), str(MOST_MEMORY_BYTES)]
    try:
        done = subprocess.run(command, capture_output=True, timeout=LONGEST_S, check=False)
    except subprocess.TimeoutExpired:
        raise _refused(file, f"reading it took over {LONGEST_S} s") from None
    if done.returncode:
        raise _refused(file, "it cannot be read as a PDF within 2 GB of memory")
    answer = json.loads(done.stdout)
    if error := answer.get("error"):
        raise SourceRefused(error["where"], error["what"], error["expected"], error["to_do"])
    return TypeAdapter(Comparison).validate_python(answer)


def _refused(file: Path, what: str) -> SourceRefused:
    expected = "a condition report made by `enamels report`"
    return SourceRefused(str(file), what, expected, "Ask its maker for the file itself.")


def _answer(file: Path, compared: Comparison) -> Answer:
    document = {
        "file": file,
        "agrees": compared.agrees,
        "pages_compared": compared.exact is not None,
        "sha256": compared.recomputed,
        "printed": compared.printed,
        "pages_without_code": compared.pages_without,
        "pages_differing": compared.pages_differing,
        "added_later": compared.later,
        "said_in_the_data_only": compared.unsaid,
        "object_id": compared.number,
        "state": compared.state,
        "made_on": compared.made_on,
    }
    return Answer(f"{file}: {_sentence(compared)}", document, 0 if compared.agrees else SourceRefused.code)


def _sentence(compared: Comparison) -> str:
    """What was compared and what came of it: never more than was done."""
    if compared.agrees:
        named = ", ".join(filter(None, (compared.number, compared.state.lower(), compared.made_on)))
        what = f"{named}; {compared.recomputed}"
        if compared.exact:
            return f"compared: code and pages are those that the data attached give ({what})."
        rest = "made with another version, so the pages could not be made again"
        return f"compared in words only: the code and the words on the pages are those of the data ({what}); {rest}."
    return f"{_difference(compared)}: {DO_NOT}."


def _difference(compared: Comparison) -> str:
    """The first thing that differs."""
    if compared.recomputed != compared.printed:
        printed = compared.printed or "none"
        return f"the data attached have the code {compared.recomputed}, the pages print {printed}"
    if compared.later:
        return f"it is not as it was made ({compared.later[0]})"
    if compared.pages_differing:
        pages = ", ".join(map(str, compared.pages_differing))
        return f"page {pages} shows something else than the data attached give"
    if compared.pages_without:
        return f"page {', '.join(map(str, compared.pages_without))} does not carry the code of the data attached"
    if compared.unsaid:
        return f"the data attached say what the pages do not ('{compared.unsaid[0]}')"
    return "the file is not what the data attached give"
