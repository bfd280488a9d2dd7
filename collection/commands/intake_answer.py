"""What `enamels intake` says: the questions that a logger's file leaves open, and what came of the files.

Questions are asked at a terminal; without one they are the whole answer of the command.
"""

import sys
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path

import click
import polars as pl

from collection.commands.output import Answer
from collection.intake.delivery import OUTCOMES
from collection.intake.mapping.load import ANY_SHEET
from collection.intake.mapping.mapping import ColumnMap, LoggerAnswers
from collection.intake.mapping.written import as_toml
from collection.intake.pipeline import Intake, Opened
from collection.intake.summary import LEVEL_WORDS, by_rule, changed_columns, without_unread_cells
from collection.validation.problems import rules
from schemas.errors import WrongUsage
from schemas.tables import RECORDS

LANGUAGE = "language_not_read"  # the rule whose expected words are the languages
HEADINGS_SHOWN = 12
CLIMATE = RECORDS["climate_reading"].name
Saved = Mapping[str, ColumnMap]


def count(number: int, noun: str) -> str:
    """`1 row`, `2 rows`."""
    return f"{number:,} {noun}" if number == 1 else f"{number:,} {noun}s"


def shown(text: str) -> str:
    """Text of a file with what a terminal would obey made visible."""
    return "".join(c if c.isprintable() else f"\\x{ord(c):02x}" for c in text)


def answer(result: Intake, *, dry_run: bool, refused: Path | None) -> Answer:
    """Counts by file, what was changed, what was not read, problems by rule, and what comes next."""
    lines = [shown(line) for line in _lines(result, refused)]
    done = "Nothing was written (dry run)." if dry_run else "Next: `enamels triage` ranks the collection."
    document = {
        "files": _files(result),
        "left_out": list(result.left_out),
        "refused_files": [e.as_dict()["error"] for e in result.refused_files],
        "problems": by_rule(result.problems),
        "changed_cells": changed_columns(result.changes),
        "headings_lacking": list(result.headings_lacking),
        "not_judged": list(result.not_judged),
        "cells_not_read": result.unread.cells,
        "words_known": result.unread.words,
        "written": {"added": result.written.added, "changed": result.written.changed},
        "conflicts": result.written.conflicts,
        "delivery_id": result.written.delivery_id,
        "dry_run": dry_run,
    }
    return Answer("\n".join([*lines, done]), document, result.code)


def _files(result: Intake) -> list[dict[str, object]]:
    """Counts of each file with its headings that were not used."""
    unused = result.unread.headings
    return [row | {"headings_not_used": unused.get(row["file"], [])} for row in result.files.iter_rows(named=True)]


def _lines(result: Intake, refused: Path | None) -> Iterator[str]:
    yield from (_line(f) for f in result.files.iter_rows(named=True))
    yield from map(str, result.refused_files)
    left_out = rules()["sheet_left_out"]
    yield from (f"{sheet}: left out: {left_out.words}. {left_out.to_do}" for sheet in result.left_out)
    yield from result.mappings_remembered
    yield from result.headings_lacking
    yield from result.not_copied
    yield from result.not_judged
    yield from change_lines(result.changes)
    for name, headings in result.unread.headings.items():
        more = ", ..." if len(headings) > HEADINGS_SHOWN else ""
        named = ", ".join(headings[:HEADINGS_SHOWN])
        yield f"{name}: {count(len(headings), 'heading')} not used: {named}{more}."
    yield from _word_lines(result.unread.words)
    yield from _language_lines(result.problems.filter(rule=LANGUAGE))
    yield from _unread_lines(result.unread.cells)
    yield from _problem_lines(result.problems)
    yield from _conflict_lines(result.written.conflicts)
    if result.refused.height and not refused:
        yield "Write them to a workbook to correct with --refused FILE.xlsx; the register holds them as well."


def _line(f: dict[str, object]) -> str:
    words = {"outside": "outside this collection", "between": "between the rows"}
    lines = [f"{f[o]} {words.get(o, o)}" for o in OUTCOMES if o != "between" or f[o]]
    blank = f" ({count(int(str(f['blank'])), 'blank row')} apart)" if f["blank"] else ""
    return f"{f['file']}: {count(int(str(f['rows'])), 'row')}: {', '.join(lines)}{blank}."


def change_lines(changes: pl.DataFrame) -> Iterator[str]:
    """Which columns of how many rows the register holds become something else, with the first of each."""
    for row in changed_columns(changes).iter_rows(named=True):
        filled = f"{count(row['filled'], 'empty cell')} filled" if row["filled"] else ""
        first = f" (first {row['first_key']}: {row['before']} -> {row['after']})" if row["replaced"] else ""
        replaced = f"{count(row['replaced'], 'filled cell')} changed{first}" if row["replaced"] else ""
        yield f"  {row['record']}, {row['column']}: {', '.join(filter(None, (replaced, filled)))}."


def _word_lines(words: pl.DataFrame) -> Iterator[str]:
    """Which share of the words of each prose column is known; below the limit, which languages are read."""
    for (file, sheet), its in words.group_by("file", "sheet", maintain_order=True):
        known = its.select("column", "share_known").iter_rows()
        shares = ", ".join(f"{column} {share:.0%}".replace("%", " %") for column, share in known)
        yield f"{file}, {sheet}: words known: {shares}."


def _language_lines(asked: pl.DataFrame) -> Iterator[str]:
    """Columns whose language is not read, and the languages that are."""
    for r in asked.iter_rows(named=True):
        what = f"{r['words']}; read are {r['expected']}. {r['to_do']}"
        yield f"  {LEVEL_WORDS[r['level']]}, {r['file']}, {r['sheet']}, {r['column']}, {r['value']}: {what}"


def _unread_lines(cells: pl.DataFrame) -> Iterator[str]:
    for row in cells.iter_rows(named=True):
        examples = ", ".join(f"'{e}'" for e in row["examples"])
        such = f", such as {examples}" if examples else ""
        rule = rules()[row["rule"]]
        yield f"  not read, {row['column']}: {count(row['cells'], 'cell')}{such}: {rule.words}. {rule.to_do}"


def _problem_lines(problems: pl.DataFrame) -> Iterator[str]:
    for r in by_rule(without_unread_cells(problems).filter(pl.col("rule") != LANGUAGE)).iter_rows(named=True):
        where = f"first in row {r['first_row']}" + (f", {r['column']}" if r["column"] else "")
        value = f" '{r['value']}'" if r["value"] else ""
        yield f"  {LEVEL_WORDS[r['level']]}, {r['rule']}: {r['rows']} x; {where}{value}: {r['words']}. {r['to_do']}"


def _conflict_lines(conflicts: pl.DataFrame) -> Iterator[str]:
    """What somebody else changed while the file was read: both values, and what to do."""
    rule = rules()["changed_meanwhile"]
    for c in conflicts.iter_rows(named=True):
        values = f"yours {c['yours']}, theirs {c['theirs']}"
        where = f"{c['record']} {c['key']}, {c['column']}"
        yield f"  refused, {where}: {c['changed_by']} changed it meanwhile: {values}. {rule.to_do}"


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
