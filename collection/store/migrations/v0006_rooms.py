"""Schema 6: faulty stretches of loggers, and how long the sorbent and the filters of a place last."""

from datetime import datetime

import duckdb

COLUMNS = {"location": ("sorbent_lasts_months DOUBLE", "filter_renewed_on DATE", "filter_lasts_months DOUBLE")}
OF_THE_STORE = """
    row_version BIGINT, withdrawn_on DATE, withdrawn_reason VARCHAR,
    source_file VARCHAR, source_row BIGINT, set_here VARCHAR[], entry_no BIGINT
"""
GAPS = "logger_id VARCHAR, starts_at TIMESTAMP, kind VARCHAR, ends_at TIMESTAMP, noticed_on DATE"
TABLES = {"logger_gap": f"CREATE TABLE logger_gap ({GAPS}, {OF_THE_STORE}, PRIMARY KEY (logger_id, starts_at, kind))"}


def change_layout(con: duckdb.DuckDBPyConnection) -> None:
    """Add the table and the columns."""
    for table, columns in COLUMNS.items():
        for column in columns:
            con.execute(f"ALTER TABLE {table} ADD COLUMN {column}")
    for statement in TABLES.values():
        con.execute(statement)


def change_rows(con: duckdb.DuckDBPyConnection, at_utc: datetime) -> None:
    """Nothing: the faults of readings that are there are found with the next readings of their logger."""
