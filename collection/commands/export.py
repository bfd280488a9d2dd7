"""`enamels export`: everything, as an open data package."""

from pathlib import Path

import click

from collection.commands.options import json_option, store_option
from collection.commands.output import Answer, emit
from collection.store import Store


@click.command(epilog="Example: enamels export --to package --format csv")
@click.option(
    "--to", "folder", required=True, type=click.Path(path_type=Path, file_okay=False), help="Folder to write to."
)
@click.option("--format", "form", type=click.Choice(["csv", "parquet"]), default="csv", show_default=True)
@store_option
@json_option
def export(folder: Path, form: str, store_path: Path, as_json: bool) -> None:
    """Write the whole register as a data package that any program can read.

    `enamels intake FOLDER/datapackage.json` reads it back into an empty store. It holds what must not leave the house.
    """
    listed = Store(store_path).publish(folder, form)
    words = "\n".join(f"{r['file']}: {r['rows']} rows" for r in listed.iter_rows(named=True))
    emit(Answer(f"{words}\nWritten to {folder}.", {"folder": str(folder), "files": listed}), as_json=as_json)
