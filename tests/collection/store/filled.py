"""A store with a few boxes in it, and a file that brings one in."""

import polars as pl

from collection.store import Change, Store

LINES = "object_id,title\nV.1,Box\n"


def fill(store: Store, *numbers: str) -> None:
    rows = pl.DataFrame({"object_id": list(numbers or ("V.1",))}).with_columns(title=pl.lit("Box"))
    store.write(Change({"object": rows}), by="ada")
