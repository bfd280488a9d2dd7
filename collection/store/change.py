"""What goes into the store and what comes back: the same for a file and for a form."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

import polars as pl

from collection.store.journal import AT, BY

CONFLICTS = pl.Schema({n: pl.String() for n in ("record", "key", "column", "yours", "theirs", BY, AT)})


@dataclass(frozen=True)
class FileReadings:
    """The climate readings of one file, in parts as large as is convenient."""

    frames: Iterable[pl.DataFrame]
    file: str
    sha256: str
    at_change: pl.DataFrame | None = (
        None  # logger_id and read_at of readings in an hour that the clock skips or repeats
    )


@dataclass(frozen=True)
class DeliveryNote:
    """What is to be remembered of an intake. `counts`: rows by record and outcome; empty: as the store counts them.

    `not_read`: cells and headings that were not read.
    """

    files: Sequence[str]
    counts: Mapping[str, object] = field(default_factory=dict)
    not_read: Mapping[str, object] = field(default_factory=dict)


@dataclass(frozen=True)
class Change:
    """Rows to write, by record, climate readings by file, and the delivery they came in; written in one transaction.

    A frame has the record's key and any of its other columns. A row the writer knew carries in `row_version` the
    version it saw; a row it took for new has none. `from_file`: an import wrote it, so an empty cell empties nothing,
    and a row that was withdrawn comes back. `whole`: all of it or, where somebody else was first with any row, nothing.
    """

    rows: Mapping[str, pl.DataFrame]
    from_file: bool = False
    readings: Sequence[FileReadings] = ()
    delivery: DeliveryNote | None = None
    whole: bool = False


class Withheld(Exception):
    """A change that is whole met a conflict: the transaction is to be taken back."""

    def __init__(self, conflicts: pl.DataFrame) -> None:
        """`conflicts`: schema CONFLICTS."""
        super().__init__()
        self.conflicts = conflicts


@dataclass(frozen=True)
class Written:
    """Counts by record of what a write did, and the rows it did not write because somebody else was first.

    `readings`: SHA-256 of a file to its new and its unchanged readings. `delivery_id`: None where nothing was written.
    """

    added: Mapping[str, int] = field(default_factory=dict)
    changed: Mapping[str, int] = field(default_factory=dict)
    unchanged: Mapping[str, int] = field(default_factory=dict)
    conflicts: pl.DataFrame = field(default_factory=lambda: pl.DataFrame(schema=CONFLICTS))
    readings: Mapping[str, tuple[int, int]] = field(default_factory=dict)
    delivery_id: str | None = None
