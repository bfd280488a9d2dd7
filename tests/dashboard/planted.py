"""Text that would like to be obeyed, planted in every text column there is: one declared later is planted too."""

from collections.abc import Sequence

import polars as pl

from collection.snapshot import Collection
from collection.store import Change, Store
from schemas.fields import ForeignKey, FromVocabulary, Partial
from schemas.tables import RECORDS

HOSTILE = [
    "![x](http://evil.invalid/a.png)", "[click](http://evil.invalid/b)", "$x^2$", ":red[red]", ":material/home:",
    ":smile:", "<img src=http://evil.invalid/c onerror=alert(1)>", "<script>alert(1)</script>", "http://evil.invalid/d",
    "www.evil.invalid", "a@evil.invalid", "**bold** _em_ `code`", "# h", "=HYPERLINK(\"http://evil.invalid\")", "+1", "-1",
    "@x", "'x", "|a|b|", "&lt;b&gt;", "~~gone~~", "a -> b",
]  # fmt: skip
EVERYTHING = " ".join(HOSTILE)
# Text of a form of its own, which the record's own declaration or the rules demand.
OF_A_FORM = {"part", "currency", "outline", "cells", "problems", "mapping", "outcome", "value", "row_key", "view"}
NOT_OURS_TO_WRITE = ("climate_reading", "journal", "intake_file")


def text_columns(record: str) -> list[str]:
    """Columns of a record in which anything may be written."""
    spec = RECORDS[record]
    return [
        c.name
        for c in spec.columns
        if c.dtype == pl.String()
        and c.name not in (*spec.key, *OF_A_FORM)
        and not (c.mark(FromVocabulary) or c.mark(ForeignKey) or c.mark(Partial))
    ]


def one_of_each(kept: Collection) -> list[str]:
    """An object for every record that has any row about an object."""
    told = [
        kept[r]["object_id"].drop_nulls().head(1)
        for r in RECORDS
        if r in kept.frames and "object_id" in kept[r].columns
    ]
    return pl.concat(told).unique().to_list()


def plant(source: Store, store: Store, objects: Sequence[str]) -> dict[str, list[str]]:
    """Write the rows of these objects, and all of no object, with every text replaced; returns what was planted."""
    kept, rows, planted = source.read(), {}, {}
    for record, spec in RECORDS.items():
        if record in NOT_OURS_TO_WRITE or kept[record].is_empty():
            continue
        frame = kept[record]
        if "object_id" in frame.columns:
            frame = frame.filter(pl.col("object_id").is_in(list(objects)) | pl.col("object_id").is_null())
        names = text_columns(record)
        rows[record] = frame.select(*spec.schema().names(), *_seen(source, store)).with_columns(
            pl.lit(EVERYTHING).alias(n) for n in names
        )
        if names and not rows[record].is_empty():
            planted[record] = names
    written = store.write(Change({n: f for n, f in rows.items() if not f.is_empty()}), by="tester")
    assert not written.conflicts.height
    return planted


def _seen(source: Store, store: Store) -> tuple[str, ...]:
    """Rows of the same store were seen in a version; rows for another are new there."""
    return ("row_version",) if source.path == store.path else ()
