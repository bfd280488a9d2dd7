"""Taking a delivery back when a person says so."""

from collections.abc import Iterator, Mapping

from collection.questions.deliveries import MINUTES
from collection.store import Store
from collection.store.undo import Undone
from schemas.errors import RegisterError

SHOWN = 20  # rows that others changed, in words


def undo_delivery(store: Store, delivery_id: str, *, by: str) -> list[str]:
    """Take a delivery back; sentences on what came of it, or why nothing was done."""
    if not by.strip():
        return ["First give your name."]
    try:
        return list(undone_sentences(store.undo(delivery_id, by=by.strip())))
    except RegisterError as error:
        return [f"Nothing was undone. {error}"]


def undone_sentences(undone: Undone) -> Iterator[str]:
    """What an undo did, or that it did nothing and what stands on the rows of the delivery."""
    if undone.standing.is_empty():
        out, back = _listed(undone.removed) or "no row", _listed(undone.put_back) or "no row"
        yield f"{undone.delivery_id} is undone: left the register: {out}; as before again: {back}."
        return
    yield f"{undone.delivery_id} was not undone: later changes stand on its rows."
    for row in undone.standing.head(SHOWN).iter_rows(named=True):
        yield f"{row['record_name']} {row['row_key']}: {row['changed_by']}, {str(row['changed_at'])[:MINUTES]}"
    if undone.standing.height > SHOWN:
        yield f"and {undone.standing.height - SHOWN} more"


def _listed(counts: Mapping[str, int]) -> str:
    return ", ".join(f"{number} {record}" for record, number in counts.items())
