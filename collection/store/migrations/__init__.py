"""Changes of the schema, oldest first: one numbered module for each, never edited once a store was written with it.

`change_layout` changes tables, `change_rows` what stands in them, journalled. A package of an older schema is filled
into tables of today and needs the second only. A module names tables and columns itself: declarations move on.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime

import duckdb

from collection.store.migrations import (
    v0002_deliveries,
    v0003_evidence,
    v0004_loans,
    v0005_plans,
    v0006_rooms,
    v0007_surveys,
    v0008_statements,
    v0009_further_facts,
)


@dataclass(frozen=True)
class Migration:
    """How a store of the schema before becomes one of this schema."""

    change_layout: Callable[[duckdb.DuckDBPyConnection], None]
    change_rows: Callable[[duckdb.DuckDBPyConnection, datetime], None]


MIGRATIONS: Mapping[int, Migration] = {
    2: Migration(v0002_deliveries.change_layout, v0002_deliveries.change_rows),
    3: Migration(v0003_evidence.change_layout, v0003_evidence.change_rows),
    4: Migration(v0004_loans.change_layout, v0004_loans.change_rows),
    5: Migration(v0005_plans.change_layout, v0005_plans.change_rows),
    6: Migration(v0006_rooms.change_layout, v0006_rooms.change_rows),
    7: Migration(v0007_surveys.change_layout, v0007_surveys.change_rows),
    8: Migration(v0008_statements.change_layout, v0008_statements.change_rows),
    9: Migration(v0009_further_facts.change_layout, v0009_further_facts.change_rows),
}


def migrate(con: duckdb.DuckDBPyConnection, version: int, at_utc: datetime) -> None:
    """Bring the tables of a store, and what stands in them, from schema `version` to the newest."""
    for number, migration in MIGRATIONS.items():
        if number > version:
            migration.change_layout(con)
            migration.change_rows(con, at_utc)
            con.execute("UPDATE about SET schema_version = ?", [number])


def migrate_rows(con: duckdb.DuckDBPyConnection, version: int, at_utc: datetime) -> None:
    """Bring rows of schema `version`, in tables of the newest, to the newest."""
    for number, migration in MIGRATIONS.items():
        if number > version:
            migration.change_rows(con, at_utc)
