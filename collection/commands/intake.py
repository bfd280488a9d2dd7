"""`enamels intake`: spreadsheets into the store."""

import sys
from collections.abc import Sequence
from contextlib import ExitStack
from dataclasses import dataclass
from pathlib import Path
from typing import NoReturn

import click
import polars as pl

from collection.commands import intake_answer
from collection.commands.intake_answer import answered
from collection.commands.options import by_option, json_option, written_store_option
from collection.commands.output import Answer, emit
from collection.files import replacing, require_free
from collection.intake import pipeline
from collection.intake.files.refused_workbook import write_workbook
from collection.intake.mapping.mapping import BROUGHT_IN, EXAMPLES
from collection.intake.mapping.written import as_toml
from collection.store import Store
from schemas.errors import WrongUsage

EXAMPLE = """
\b
Examples:
  enamels intake catalogue.csv                  shows what each heading was taken for, then asks
  enamels intake catalogue.csv > mapping.toml   saves the suggested mapping, to edit
  enamels intake catalogue.csv --mapping mapping.toml --refused refused.xlsx
  enamels intake checks.xlsx --as condition_check --yes
  enamels intake logger.csv > answers.toml      prints what a logger's file leaves open, to answer
"""
FORMULA_BEGINS = r"^[\t\r\n ]*[=+\-@＝＋－＠]"  # what a spreadsheet would work out when it opens a CSV
CELLS_SHOWN = 20


@dataclass(frozen=True)
class Asked:
    """What a person asked for on the command line."""

    files: Sequence[Path]
    record: str | None
    mapping: Path | None
    yes: bool
    dry_run: bool
    readings: Path | None
    refused: Path | None
    by: str

    @property
    def may_ask(self) -> bool:
        """A person sits at the terminal and has not agreed beforehand."""
        return not (self.yes or self.mapping or self.dry_run)


@click.command(epilog=EXAMPLE)
@click.argument("files", nargs=-1, required=True, type=click.Path(path_type=Path))
@click.option("--as", "record", type=click.Choice(BROUGHT_IN), metavar="RECORD", help="What every sheet holds.")
@click.option("--mapping", type=click.Path(path_type=Path), help="A mapping saved and edited before.")
@click.option("--yes", is_flag=True, help="Take the suggested mapping, and change what differs, without asking.")
@click.option("--dry-run", is_flag=True, help="Judge the rows and write nothing.")
@click.option("--readings", type=click.Path(path_type=Path), help="Write what was read of every row to this CSV.")
@click.option(
    "--refused", type=click.Path(path_type=Path), help="Write the rows not taken in to this workbook, to correct."
)
@by_option
@written_store_option
@json_option
def intake(store_path: Path, as_json: bool, **asked: object) -> None:
    """Read spreadsheets (CSV, TSV, XLSX) or an exported package into the store.

    Every row that is not blank is new, changed, unchanged, outside this collection, refused with a reason, or a line
    between the rows.
    """
    wanted, store = Asked(**asked), Store(store_path)  # type: ignore[arg-type]
    packages = [f for f in wanted.files if f.name == pipeline.PACKAGE]
    answer = _package(store, wanted, packages[0]) if packages else _files(store, wanted)
    if answer is not None:
        emit(answer, as_json=as_json)


def _package(store: Store, asked: Asked, path: Path) -> Answer:
    """A package is read alone and as it stands."""
    others = [str(f) for f in asked.files if f != path]
    options = {
        "--as": asked.record,
        "--mapping": asked.mapping,
        "--readings": asked.readings,
        "--refused": asked.refused,
    }
    odd = others + [name for name, value in options.items() if value]
    if odd:
        what = f"a package is read alone: {', '.join(odd)} cannot go with it"
        raise WrongUsage(
            str(path), what, "the package and nothing else", "Bring in the other files with a second command."
        )
    written = store.import_package(path.parent, dry_run=asked.dry_run)
    rows = sum(written.added.values())
    words = f"Read the package: {intake_answer.count(rows, 'row')}."
    words += " Nothing was written (dry run)." if asked.dry_run else ""
    return Answer(words, {"added": written.added, "dry_run": asked.dry_run})


def _files(store: Store, asked: Asked) -> Answer | None:
    """Open, agree, judge, write; None where a person said no."""
    for output in filter(None, (asked.readings, asked.refused)):
        require_free(output, store=store.path, sources=[*asked.files, *filter(None, [asked.mapping])])
    saved = pipeline.load_mapping(asked.mapping) if asked.mapping else {}
    held = pipeline.remembered_in(store)
    try:
        files = pipeline.open_files(asked.files, held, asked.record, saved)
    except pipeline.NoNumberHeaded as refused:
        _leave_to_fill_in(refused)
    files = _decided(answered(files, saved, lambda more: pipeline.open_files(asked.files, held, asked.record, more)))
    if asked.may_ask and not _agreed(files):
        return None
    held = pipeline.held_for(store, files)
    examined = pipeline.examine(files, held, by=asked.by, with_readings=asked.readings is not None)
    if asked.may_ask and not _changes_agreed(examined.answer):
        return None
    with ExitStack() as outputs:  # the files are whole before anything is written to the store, and named after it
        _write_outputs(examined.answer, asked, outputs)
        result = examined.answer if asked.dry_run else pipeline.write(store, examined, by=asked.by)
    return intake_answer.answer(result, dry_run=asked.dry_run, refused=asked.refused)


def _decided(files: pipeline.Opened) -> pipeline.Opened:
    """Sheets that two records fit: a person says which; without a terminal both suggestions are the whole answer."""
    if not files.doubtful:
        return files
    names = ", ".join(intake_answer.shown(f"{s.first.file} ({s.first.name})") for s in files.doubtful)
    question = f"{names}: a column of full days stands beside a person, a grade, a finding or an action."
    if not sys.stdin.isatty():
        for source in files.doubtful:
            for mapping in (source.mapping, *source.others):
                click.echo(f"# {source.first.file}, read as {mapping.record}")
                click.echo(as_toml({source.first.name: mapping}, _examples(files)))
        click.echo(f"{question} Say which with --as object or --as condition_check.", err=True)
        raise click.exceptions.Exit(WrongUsage.code)
    click.echo(question)
    kinds = {"catalogue": files.doubtful[0].mapping.record, "checks": files.doubtful[0].others[0].record}
    return files.read_as(kinds[click.prompt("Catalogue or checks?", type=click.Choice(list(kinds)))])


def _leave_to_fill_in(refused: pipeline.NoNumberHeaded) -> NoReturn:
    """Print a mapping with targets to fill in for a file whose headings say nothing, and why. Raises Exit."""
    maps = {sheet.name: mapping for sheet, mapping in refused.drafts}
    click.echo(as_toml(maps, {sheet.name: sheet.examples(EXAMPLES) for sheet, _ in refused.drafts}), nl=False)
    click.echo(intake_answer.shown(f"{refused.where}: {refused.what}."), err=True)
    click.echo("Save the mapping, say in it what each heading means, and give it to --mapping.", err=True)
    raise click.exceptions.Exit(WrongUsage.code)


def _examples(files: pipeline.Opened) -> dict[str, dict[str, list[str]]]:
    """Some values of each heading, by sheet."""
    return {source.first.name: source.first.examples(EXAMPLES) for source in files.sources}


def _agreed(files: pipeline.Opened) -> bool:
    """Show the suggested mapping; without a terminal that is the whole answer, and the code is 2."""
    text = as_toml({s.first.name: s.mapping for s in files.sources}, _examples(files))
    if not sys.stdin.isatty():
        click.echo(text, nl=False)
        click.echo(
            "Look at the mapping, then run again with --yes, or save it, edit it and give it to --mapping.", err=True
        )
        raise click.exceptions.Exit(WrongUsage.code)
    click.echo(text)
    return click.confirm("Take each heading for what is written beside it?", default=False)


def _changes_agreed(result: pipeline.Intake) -> bool:
    """Show the cells of rows the register holds that would become something else, and ask."""
    filled = result.changes.filter(pl.col("before").is_not_null())
    if filled.is_empty():
        return True
    for line in intake_answer.change_lines(result.changes):
        click.echo(line)
    for cell in filled.head(CELLS_SHOWN).iter_rows(named=True):
        click.echo(
            intake_answer.shown(
                f"  {cell['record']} {cell['key']}, {cell['column']}: {cell['before']} -> {cell['after']}"
            )
        )
    if filled.height > CELLS_SHOWN:
        click.echo(f"  ... and {intake_answer.count(filled.height - CELLS_SHOWN, 'cell')} more.")
    return click.confirm("Change them?", default=False)


def _write_outputs(result: pipeline.Intake, asked: Asked, outputs: ExitStack) -> None:
    """What was read of every row, and the refused rows, where a person asked for them."""
    if asked.readings:
        draft = outputs.enter_context(replacing(asked.readings))
        guarded = [
            pl.when(pl.col(pl.String).str.contains(FORMULA_BEGINS))
            .then("'" + pl.col(pl.String))
            .otherwise(pl.col(pl.String))
            .name.keep()
        ]
        result.readings.with_columns(guarded).write_csv(draft)
    if asked.refused:
        write_workbook(result.refused, outputs.enter_context(replacing(asked.refused)))
