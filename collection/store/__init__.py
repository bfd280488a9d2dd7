"""The system of record: one DuckDB file. The only folder with SQL and the only importer of duckdb."""

from collection.store.change import CONFLICTS, Change, Written
from collection.store.store import Store

__all__ = ["CONFLICTS", "Change", "Store", "Written"]
