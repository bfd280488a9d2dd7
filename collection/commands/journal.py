"""`enamels journal`: who changed what."""

from pathlib import Path

import click
import polars as pl

from collection.commands.options import json_option, store_option
from collection.commands.output import Answer, emit
from collection.store import Store


@click.command(epilog="Example: enamels journal --last 20 --record damage")
@click.option("--last", type=click.IntRange(1), default=20, show_default=True, help="How many of the newest changes.")
@click.option("--record", help="Only changes of this record.")
@click.option("--number", help="Only changes of the row with this number.")
@store_option
@json_option
def journal(last: int, record: str | None, number: str | None, store_path: Path, as_json: bool) -> None:
    """Show who changed what, when, from what to what; newest last."""
    rows = Store(store_path).read_journal()
    if record:
        rows = rows.filter(pl.col("record_name") == record)
    if number:
        rows = rows.filter(pl.col("row_key").str.contains(f'"{number}"', literal=True))
    shown = rows.tail(last)
    lines = [
        f"{r['seq']} {r['changed_at']:%Y-%m-%d %H:%M} {r['changed_by']} {r['action']} {r['record_name']} {r['row_key']}"
        + (f"\n    from {r['before']}\n    to   {r['after']}" if r["before"] else "")
        for r in shown.iter_rows(named=True)
    ]
    emit(Answer("\n".join(lines) or "No change is recorded.", {"changes": shown, "of": rows.height}), as_json=as_json)
