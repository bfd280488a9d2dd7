"""`enamels plan --out`: the plan as one page for the director, or all of it as a workbook."""

from collections.abc import Callable, Sequence
from pathlib import Path

import click

from collection.commands.documents_out import write_pdf, write_workbook
from collection.commands.output import Answer
from collection.documents.attachment import is_report
from collection.documents.plan_page import plan_page, plan_workbook
from collection.files import require_free
from collection.plan.plan import Plan
from collection.plan.stability import Stability
from collection.questions.triage import Triage
from collection.store.workbook import is_ours
from schemas.errors import WrongUsage

PAGE, WORKBOOK = ".pdf", ".xlsx"


def plan_out_option(command: Callable[..., None]) -> Callable[..., None]:
    """`--out` (any number of files, parameter `outputs`) and `--replace`."""
    words = "Write it too: one page for the director (.pdf), or all of it as a workbook (.xlsx)."
    kind = click.Path(path_type=Path, dir_okay=False)
    out = click.option(
        "--out", "outputs", multiple=True, type=kind, metavar="FILE", callback=_known_endings, help=words
    )  # fmt: skip
    return out(click.option("--replace", is_flag=True, help="Write over what an earlier run wrote.")(command))


def require_outputs(outputs: Sequence[Path], *, store: Path, replace: bool) -> None:
    """Raise OutputRefused, before anything is worked out, for a file that may not be written to."""
    for path in outputs:
        ours = is_report if path.suffix.lower() == PAGE else is_ours
        require_free(path, store=store, replace=replace and ours)


def write_plan(triage: Triage, plan: Plan, draws: Stability, outputs: Sequence[Path], *, replace: bool) -> None:
    """The plan in each file. Raises OutputRefused where a file is there that is not ours or not to be replaced."""
    for path in outputs:
        if path.suffix.lower() == PAGE:
            write_pdf(plan_page(triage, plan), path, replace=replace)
        else:
            write_workbook(plan_workbook(triage, plan, draws=draws), path, replace=replace)


def with_files(answer: Answer, outputs: Sequence[Path]) -> Answer:
    """The answer, and below it what was written where."""
    listed = "\n".join(("", "", "Written:", *(f"  {path}" for path in outputs)))
    return Answer(answer.words + listed, {**answer.document, "files": [str(path) for path in outputs]})


def _known_endings(_context: click.Context, _option: click.Parameter, outputs: tuple[Path, ...]) -> tuple[Path, ...]:
    """Raise WrongUsage before anything is worked out."""
    for path in outputs:
        if path.suffix.lower() not in (PAGE, WORKBOOK):
            expected = f"a name that ends in {PAGE} or {WORKBOOK}"
            raise WrongUsage("--out", f"\u2018{path}\u2019 names no kind of file there is", expected, "Name it so.")
    return outputs
