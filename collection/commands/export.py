"""`enamels export`: everything, as an open data package or as one workbook."""

from pathlib import Path

import click

from collection.commands.output import Answer, emit, json_option, opened, store_option
from schemas.errors import WrongUsage

WORKBOOK = "xlsx"


@click.command(epilog="Example: enamels export --to package --format csv")
@click.option(
    "--to", "target", required=True, type=click.Path(path_type=Path), help="Folder to write to; for xlsx the workbook."
)
@click.option("--format", "form", type=click.Choice(["csv", "parquet", WORKBOOK]), default="csv", show_default=True)
@click.option("--replace", is_flag=True, help="Replace an earlier export, if nobody has changed it.")
@store_option
@json_option
def export(target: Path, form: str, replace: bool, store_path: Path, as_json: bool) -> None:
    """Write the whole register as a data package that any program can read, or as one workbook.

    `enamels intake FOLDER/datapackage.json` reads a package back into an empty store. Both hold what must not leave the
    house.
    """
    if form == WORKBOOK:
        emit(_workbook(target, replace, store_path), as_json=as_json)
        return
    listed = opened(store_path).publish(target, form, replace=replace)
    words = "\n".join(f"{r['file']}: {_rows(r['rows'])}" for r in listed.iter_rows(named=True))
    emit(Answer(f"{words}\nWritten to {target}.", {"folder": str(target), "files": listed}), as_json=as_json)


def _workbook(target: Path, replace: bool, store_path: Path) -> Answer:
    if target.suffix.lower() != ".xlsx":
        raise WrongUsage("--to", f"'{target}' is no name of a workbook", "a name that ends in .xlsx", "Add .xlsx.")
    listed = opened(store_path).publish_workbook(target, replace=replace)
    lines = [f"{r['record']}: {_rows(r['rows'])}{_bracketed(r['remark'])}" for r in listed.iter_rows(named=True)]
    return Answer("\n".join([*lines, f"Written to {target}."]), {"file": str(target), "sheets": listed})


def _rows(count: int) -> str:
    return "1 row" if count == 1 else f"{count} rows"


def _bracketed(remark: str) -> str:
    return f" ({remark})" if remark else ""
