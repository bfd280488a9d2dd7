"""`enamels deliveries` and `enamels undo`: what came in, and taking it back."""

import json
from pathlib import Path

import click

from collection.commands.options import by_option, json_option, store_option, written_store_option
from collection.commands.output import Answer, emit
from collection.recording.deliveries import undone_sentences
from collection.store import Store
from collection.store.undo import Undone
from schemas.errors import SourceRefused


@click.command(epilog="Example: enamels deliveries")
@store_option
@json_option
def deliveries(store_path: Path, as_json: bool) -> None:
    """List what came in, by whom, when, and what came of it; newest last."""
    listed = Store(store_path).deliveries()
    rows = [_document(row) for row in listed.iter_rows(named=True)]
    lines = [_line(row) for row in rows]
    emit(Answer("\n".join(lines) or "Nothing has come in yet.", {"deliveries": rows}), as_json=as_json)


@click.command(epilog="Example: enamels undo D12")
@click.argument("delivery", required=False)
@by_option
@written_store_option
@json_option
def undo(delivery: str | None, by: str, store_path: Path, as_json: bool) -> None:
    """Take back a delivery (without a number: the last one): rows it added go, rows it changed are as before.

    Where later changes stand on its rows nothing is done, and they are listed. The journal keeps everything.
    """
    undone = Store(store_path).undo(delivery, by=by)
    emit(_answer(undone), as_json=as_json)


def _document(row: dict[str, object]) -> dict[str, object]:
    names = ("delivery_id", "made_at", "made_by", "undone_on", "undone_by")
    parsed = {n: json.loads(str(row[n])) for n in ("files", "counts")}
    return {n: row[n] for n in names} | {"made_on": str(row["made_at"])[:10]} | parsed


def _line(row: dict[str, object]) -> str:
    files, counts = row["files"], row["counts"]
    assert isinstance(files, list)
    assert isinstance(counts, dict)
    rows = "; ".join(f"{record}: {_outcomes(counted)}" for record, counted in counts.items())
    undone = f" (undone on {row['undone_on']} by {row['undone_by']})" if row["undone_on"] else ""
    at = str(row["made_at"])[:16]
    return f"{row['delivery_id']} {at} {row['made_by']}: {', '.join(files)}: {rows}{undone}"


def _outcomes(counted: object) -> str:
    if not isinstance(counted, dict):
        return str(counted)
    return ", ".join(f"{count} {outcome}" for outcome, count in counted.items() if count)


def _answer(undone: Undone) -> Answer:
    document = {
        "delivery_id": undone.delivery_id,
        "undone": {n: undone.removed.get(n, 0) + undone.put_back.get(n, 0) for n in _records(undone)},
        "taken_out": undone.removed,
        "put_back": undone.put_back,
        "standing": undone.standing,
    }
    first, *rest = undone_sentences(undone)
    words = "\n".join([first, *(f"  {words}" for words in rest)])
    return Answer(words, document, 0 if undone.standing.is_empty() else SourceRefused.code)


def _records(undone: Undone) -> list[str]:
    return list(dict.fromkeys([*undone.removed, *undone.put_back]))
