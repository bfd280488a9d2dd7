"""Documents that a command writes: one PDF, or a workbook beside it, never over a file that is not ours."""

from collections.abc import Callable
from pathlib import Path

import click

from collection.commands.output import Answer
from collection.documents.attachment import is_report
from collection.documents.document import Document
from collection.documents.typeset import typeset
from collection.files import require_free, write_whole
from collection.store.workbook import is_ours
from schemas.errors import WrongUsage

REPORTS = Path("reports")
ENDINGS = (".pdf", ".xlsx")  # of the files a command writes into its folder


def out_option(command: Callable[..., None]) -> Callable[..., None]:
    """`--out` and `--replace` of a command that writes documents. Raises WrongUsage for the name of a file."""
    out = click.option(
        "--out", type=click.Path(path_type=Path, file_okay=False), default=REPORTS, show_default=True,
        callback=_folder, help="Folder the files go to.",
    )  # fmt: skip
    return out(click.option("--replace", is_flag=True, help="Write over what an earlier run wrote.")(command))


def _folder(_context: click.Context, _option: click.Parameter, path: Path) -> Path:
    if path.suffix.lower() in ENDINGS and not path.is_dir():
        what, expected = f"\u2018{path}\u2019 is the name of a file", "a folder; the files in it are named for you"
        raise WrongUsage("--out", what, expected, "Name a folder, or leave --out out.")
    return path


def write_pdf(document: Document, path: Path, *, replace: bool) -> Path:
    """The document as a PDF. Raises OutputRefused where a file is there that is not ours or not to be replaced."""
    require_free(path, store=None, replace=replace and is_report)
    write_whole(path, typeset(document))
    return path


def write_workbook(data: bytes, path: Path, *, replace: bool) -> Path:
    """A workbook. Raises OutputRefused as `write_pdf` does."""
    require_free(path, store=None, replace=replace and is_ours)
    write_whole(path, data)
    return path


def written(*paths: Path, words: str = "") -> Answer:
    """What was written where."""
    listed = "\n".join(f"  {path}" for path in paths)
    return Answer(f"{words}\n{listed}".strip("\n"), {"files": [str(path) for path in paths]})
