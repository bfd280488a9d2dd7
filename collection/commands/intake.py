"""`enamels intake`: spreadsheets into the store."""

import sys
from collections.abc import Sequence
from pathlib import Path

import click
import polars as pl

from collection.commands.options import by_option, json_option, store_option
from collection.commands.output import Answer, emit
from collection.intake import pipeline as pipeline
from collection.intake.files.refused_workbook import write_workbook
from collection.intake.mapping import mapping as mappings
from collection.intake.mapping.suggest import BROUGHT_IN
from collection.store import Store, Written
from collection.validation.problems import rules
from schemas.errors import WrongUsage

EXAMPLE = """
\b
Examples:
  enamels intake catalogue.csv                  shows what each heading was taken for, then asks
  enamels intake catalogue.csv > mapping.toml   keeps the suggested mapping, to edit
  enamels intake catalogue.csv --mapping mapping.toml --refused refused.xlsx
  enamels intake checks.xlsx --as condition_check --yes
"""


@click.command(epilog=EXAMPLE)
@click.argument("files", nargs=-1, required=True, type=click.Path(path_type=Path))
@click.option("--as", "record", type=click.Choice(BROUGHT_IN), metavar="RECORD", help="What every sheet holds.")
@click.option("--mapping", "mapping_path", type=click.Path(path_type=Path), help="A mapping saved and edited before.")
@click.option("--yes", is_flag=True, help="Take the suggested mapping without asking.")
@click.option("--dry-run", is_flag=True, help="Judge the rows and write nothing.")
@click.option("--readings", type=click.Path(path_type=Path), help="Write what was read of every row to this CSV.")
@click.option("--refused", type=click.Path(path_type=Path), help="Write refused rows to this workbook, to correct.")
@by_option
@store_option
@json_option
def intake(
    files: Sequence[Path],
    record: str | None,
    mapping_path: Path | None,
    yes: bool,
    dry_run: bool,
    readings: Path | None,
    refused: Path | None,
    by: str,
    store_path: Path,
    as_json: bool,
) -> None:
    """Read spreadsheets (CSV, TSV, XLSX) or an exported package into the store.

    Every row that is not blank is accepted, unchanged, refused with a reason, or said not to be enamel on metal.
    """
    store = Store(store_path)
    packages = [f for f in files if f.name == pipeline.PACKAGE]
    if packages:
        emit(_package(store.import_package(packages[0].parent)), as_json=as_json)
        return
    kept = pipeline.kept_or_empty(store)
    saved = mappings.load(mapping_path) if mapping_path else {}
    opened_files = pipeline.open_files(files, kept, record, saved)
    if not (yes or mapping_path or dry_run) and not _agreed(opened_files):
        return
    result = pipeline.intake(store, opened_files, kept, by=by, dry_run=dry_run, with_readings=readings is not None)
    _write_aside(result, readings, refused)
    emit(_answer(result, dry_run=dry_run, refused=refused), as_json=as_json)


def _agreed(opened_files: pipeline.Opened) -> bool:
    """Show the suggested mapping; without a terminal that is the whole answer, and the code is 2."""
    text = mappings.as_toml({s.first.name: s.mapping for s in opened_files.sources})
    if not sys.stdin.isatty():
        click.echo(text, nl=False)
        click.echo(
            "Look at the mapping, then run again with --yes, or save it, edit it and give it to --mapping.", err=True
        )
        raise click.exceptions.Exit(WrongUsage.code)
    click.echo(text)
    return click.confirm("Take each heading for what is written beside it?", default=False)


def _write_aside(result: pipeline.Intake, readings: Path | None, refused: Path | None) -> None:
    """What was read of every row, and the refused rows, where a person asked for them."""
    if readings:
        readings.parent.mkdir(parents=True, exist_ok=True)
        result.readings.write_csv(readings)
    if refused:
        write_workbook(result.refused, refused)


def _package(written: Written) -> Answer:
    rows = sum(written.added.values())
    return Answer(f"Read the package: {rows} rows.", {"added": written.added})


def _answer(result: pipeline.Intake, *, dry_run: bool, refused: Path | None) -> Answer:
    lines = [_line(f) for f in result.files.iter_rows(named=True)]
    lines += [str(error) for error in result.refused_files]
    lines += [
        f"{sheet}: left out: {rules()['sheet_left_out'].words}. {rules()['sheet_left_out'].to_do}"
        for sheet in result.left_out
    ]
    lines += _problem_lines(result.problems)
    lines += [
        f"{c['record']} {c['key']}: {c['column']} was changed by {c['changed_by']} meanwhile and was left as it is."
        for c in result.written.conflicts.iter_rows(named=True)
    ]
    set_aside = result.refused.height
    if set_aside and not refused:
        lines.append(
            "Write them to a workbook to correct with --refused FILE.xlsx; they are kept in the register as well."
        )
    lines.append("Nothing was written (dry run)." if dry_run else "Next: `enamels triage` ranks the collection.")
    document = {
        "files": result.files,
        "left_out": list(result.left_out),
        "refused_files": [e.as_dict()["error"] for e in result.refused_files],
        "problems": _by_rule(result.problems),
        "written": {"added": result.written.added, "changed": result.written.changed},
        "conflicts": result.written.conflicts,
        "dry_run": dry_run,
    }
    return Answer("\n".join(lines), document, result.code)


def _line(f: dict[str, object]) -> str:
    return (
        f"{f['file']}: {f['rows']} rows: {f['accepted']} accepted, {f['unchanged']} unchanged, "
        f"{f['not_enamel_on_metal']} not enamel on metal, {f['refused']} refused"
        + (f" ({f['blank']} blank rows apart)" if f["blank"] else "")
        + "."
    )


def _by_rule(problems: pl.DataFrame) -> pl.DataFrame:
    return (
        problems.group_by("record", "rule", "level", "words", "to_do")
        .agg(
            rows=pl.len(),
            first_row=pl.col("source_row").min(),
            column=pl.col("column").first(),
            value=pl.col("value").first(),
        )
        .sort("level", "rows", "rule", descending=[True, True, False])
    )


def _problem_lines(problems: pl.DataFrame) -> list[str]:
    said = {"refuse": "refused", "ask": "to be answered", "note": "noted"}
    return [
        f"  {said[str(r['level'])]}, {r['rule']}: {r['rows']} x; first in row {r['first_row']}"
        + (f", {r['column']}" if r["column"] else "")
        + (f" '{r['value']}'" if r["value"] else "")
        + f": {r['words']}. {r['to_do']}"
        for r in _by_rule(problems).iter_rows(named=True)
    ]
