"""What goes into the store and what comes back: the same for a file and for a form."""

from collections.abc import Mapping
from dataclasses import dataclass, field

import polars as pl

from collection.store.journal import AT, BY

CONFLICTS = pl.Schema({n: pl.String() for n in ("record", "key", "column", "yours", "theirs", BY, AT)})


@dataclass(frozen=True)
class Change:
    """Rows to write, by record.

    A frame has the record's key and any of its other columns. A row the writer knew carries in `row_version` the
    version it saw; a row it took for new has none. `from_file`: an import wrote it, so an empty cell empties nothing.
    """

    rows: Mapping[str, pl.DataFrame]
    from_file: bool = False


@dataclass(frozen=True)
class Written:
    """Counts by record of what a write did, and the rows it did not write because somebody else was first."""

    added: Mapping[str, int] = field(default_factory=dict)
    changed: Mapping[str, int] = field(default_factory=dict)
    unchanged: Mapping[str, int] = field(default_factory=dict)
    conflicts: pl.DataFrame = field(default_factory=lambda: pl.DataFrame(schema=CONFLICTS))
