"""Questions that a logger's file leaves open: asked at a terminal, else the whole answer of the command."""

import sys
from collections.abc import Callable, Mapping

import click

from collection.commands.intake_answer import shown
from collection.intake.mapping.load import ANY_SHEET
from collection.intake.mapping.mapping import ColumnMap, LoggerAnswers
from collection.intake.mapping.written import as_toml
from collection.intake.pipeline import Opened
from schemas.errors import WrongUsage
from schemas.tables import RECORDS

CLIMATE = RECORDS["climate_reading"].name
Saved = Mapping[str, ColumnMap]


def answered(files: Opened, saved: Saved, reopen: Callable[[Saved], Opened]) -> Opened:
    """The files once every question is answered; without a terminal the questions are the answer, and the code is 2."""
    answers = LoggerAnswers.joined([m.logger for m in saved.values() if m.logger is not None])
    while files.questions:
        if not sys.stdin.isatty():
            _leave_open(files, answers)
        for file, question in files.questions:
            click.echo(shown(f"{file}: {question}"))
            answers = answers.with_answer(question.key, click.prompt(" ".join(question.key)))
        others = {name: m for name, m in saved.items() if m.logger is None and name != ANY_SHEET}
        files = reopen({**others, ANY_SHEET: ColumnMap(CLIMATE, {}, logger=answers)})
    return files


def _leave_open(files: Opened, answers: LoggerAnswers) -> None:
    """Print the mapping with the entries to fill in, and say each question. Raises Exit."""
    for _, question in files.questions:
        answers = answers.with_answer(question.key, "")
    click.echo(as_toml({ANY_SHEET: ColumnMap(CLIMATE, {}, logger=answers)}), nl=False)
    for file, question in files.questions:
        click.echo(shown(f"{file}: {question}. Fill in logger.{'.'.join(question.key)}."), err=True)
    click.echo("Save the mapping, answer in it, and give it to --mapping.", err=True)
    raise click.exceptions.Exit(WrongUsage.code)
