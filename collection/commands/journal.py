"""`enamels journal`: who changed what."""

from pathlib import Path

import click

from collection.commands.options import json_option, store_option
from collection.commands.output import Answer, emit
from collection.store import Store
from schemas.errors import WrongUsage
from schemas.tables import RECORDS


@click.command(epilog="Example: enamels journal --last 20 --record damage")
@click.option("--last", type=click.IntRange(1), default=20, show_default=True, help="How many of the newest changes.")
@click.option("--record", help="Only changes of this record.")
@click.option("--number", help="Only changes of the row with this number.")
@store_option
@json_option
def journal(last: int, record: str | None, number: str | None, store_path: Path, as_json: bool) -> None:
    """Show who changed what, when, from what to what; newest last."""
    if record is not None and record not in RECORDS:
        expected = f"one of {', '.join(RECORDS)}"
        raise WrongUsage("--record", f"there is no record '{record}'", expected, "See `enamels dictionary`.")
    changes, count = Store(store_path).read_last_changes(last, record=record, number=number)
    lines = [
        f"{r['seq']} {r['changed_at']:%Y-%m-%d %H:%M} {r['changed_by']} {r['action']} {r['record_name']} {r['row_key']}"
        + (f"\n    from {r['before']}" if r["before"] else "")
        + (f"\n    to   {r['after']}" if r["before"] and r["after"] else "")
        for r in changes.iter_rows(named=True)
    ]
    emit(Answer("\n".join(lines) or "No change is recorded.", {"changes": changes, "of": count}), as_json=as_json)
