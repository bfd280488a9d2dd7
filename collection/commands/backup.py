"""`enamels backup` and `enamels restore`: copies of the store, made whole."""

from pathlib import Path

import click

from collection.commands.options import json_option, store_option
from collection.commands.output import Answer, emit
from collection.store import Store
from collection.store import backup as copies
from collection.store.store import now_utc


@click.command(epilog="Example: enamels backup --to copies --keep 7")
@click.option(
    "--to",
    "folder",
    type=click.Path(path_type=Path, file_okay=False),
    help="Folder of copies (default: beside the store).",
)
@click.option(
    "--keep", type=click.IntRange(1), default=copies.KEPT_COPIES, show_default=True, help="How many copies to keep."
)
@store_option
@json_option
def backup(folder: Path | None, keep: int, store_path: Path, as_json: bool) -> None:
    """Copy the store, count and hash the copy, and let go of the oldest copies."""
    target = folder or store_path.parent / f"{store_path.stem}-copies"
    copy, sha256, rows = copies.make(Store(store_path), target, keep=keep, at=now_utc())
    document = {"copy": str(copy), "sha256": sha256, "rows": rows}
    emit(Answer(f"Copied {rows} rows to {copy} (SHA-256 {sha256}).", document), as_json=as_json)


@click.command(epilog="Example: enamels restore copies/enamels-20261125-103000-000000.duckdb")
@click.argument("copy", type=click.Path(path_type=Path))
@store_option
@json_option
def restore(copy: Path, store_path: Path, as_json: bool) -> None:
    """Put a copy in the place of the store; the store that was there is kept beside it."""
    rows = copies.restore(Store(store_path), copy)
    emit(Answer(f"{store_path} holds the {rows} rows of {copy.name} again.", {"rows": rows}), as_json=as_json)
