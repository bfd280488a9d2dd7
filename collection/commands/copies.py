"""`enamels export`, `backup` and `restore`: the whole register as open data or a workbook, and copies of the store."""

from pathlib import Path

import click
import polars as pl

from collection.commands.options import json_option, store_option, written_store_option
from collection.commands.output import Answer, emit
from collection.store import Store
from collection.store import backup as copies
from collection.store.originals import CHANGED, MISSING, MOST_COPIED_BYTES, WHOLE
from collection.store.restore import restore as put_in_place
from collection.store.store import now_utc
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
    listed = Store(store_path).publish(target, form, replace=replace)
    words = "\n".join(f"{r['file']}: {_rows(r['rows'])}" for r in listed.iter_rows(named=True))
    emit(Answer(f"{words}\nWritten to {target}.", {"folder": str(target), "files": listed}), as_json=as_json)


def _workbook(target: Path, replace: bool, store_path: Path) -> Answer:
    if target.suffix.lower() != ".xlsx":
        raise WrongUsage("--to", f"'{target}' is no name of a workbook", "a name that ends in .xlsx", "Add .xlsx.")
    listed = Store(store_path).publish_workbook(target, replace=replace)
    lines = [f"{r['record']}: {_rows(r['rows'])}{_bracketed(r['remark'])}" for r in listed.iter_rows(named=True)]
    return Answer("\n".join([*lines, f"Written to {target}."]), {"file": str(target), "sheets": listed})


def _rows(count: int) -> str:
    return "1 row" if count == 1 else f"{count} rows"


def _bracketed(remark: str) -> str:
    return f" ({remark})" if remark else ""


@click.command(epilog="Example: enamels backup --to copies --keep 7")
@click.option(
    "--to",
    "folder",
    type=click.Path(path_type=Path, file_okay=False),
    help="Folder of copies (default: NAME-copies in the folder of the store).",
)
@click.option(
    "--keep",
    type=click.IntRange(1),
    default=copies.COPIES_TO_KEEP,
    show_default=True,
    help="How many copies of this store to keep.",
)
@store_option
@json_option
def backup(folder: Path | None, keep: int, store_path: Path, as_json: bool) -> None:
    """Copy the store, read the copy through, and remove the oldest copies of this store.

    Photographs are files of their own and are in no copy: copy their folder as well.
    """
    target = folder or store_path.parent / f"{store_path.stem}-copies"
    copy = copies.make(Store(store_path), target, keep=keep, at=now_utc())
    words = f"Copied {_rows(copy.rows)} to {copy.path} (SHA-256 {copy.sha256})."
    if copy.photographs:
        words += (
            f"\nThe register names {copy.photographs} photographs. They are files of their own and are not in this "
            "copy: copy their folder as well."
        )
    words += "".join(f"\n{line}" for line in _originals(copy.originals))
    document = {"copy": str(copy.path), "sha256": copy.sha256, "rows": copy.rows, "photographs": copy.photographs}
    document["files"] = copy.originals
    emit(Answer(words, document), as_json=as_json)


@click.command(epilog="Example: enamels restore copies/enamels-20261125-103000-000000.duckdb")
@click.argument("copy", type=click.Path(path_type=Path))
@written_store_option
@json_option
def restore(copy: Path, store_path: Path, as_json: bool) -> None:
    """Put a copy in the place of the store, whatever state that is in; the store that was there is put aside."""
    restored = put_in_place(Store(store_path), copy, at=now_utc())
    words = f"{store_path} holds the {_rows(restored.rows)} of {copy.name} again."
    if restored.aside:
        words += f" What was there before is now {restored.aside}."
    aside = str(restored.aside) if restored.aside else None
    emit(Answer(words, {"rows": restored.rows, "aside": aside}), as_json=as_json)


def _originals(files: pl.DataFrame) -> list[str]:
    """How many files as they came in lie beside the copy, and those that are gone or no longer what they were."""
    counts = dict(files["fate"].value_counts().iter_rows())
    lines = [f"With it {counts[WHOLE]} of {files.height} files as they came in."] if counts.get(WHOLE) else []
    if gone := counts.get(MISSING, 0):
        why = f"larger than {MOST_COPIED_BYTES:,} bytes, brought in by an earlier version, or taken away"
        lines.append(f"Of {files.height} files that came in {gone} are not beside the store: {why}.")
    changed = files.filter(fate=CHANGED)["name"].to_list()
    if changed:
        lines.append(f"No longer what came in, and not copied: {', '.join(changed)}.")
    return lines
