"""Schema 9: what catalogues say under headings of the museum's own, and what was not read of a delivery."""

from datetime import datetime

import duckdb

OF_THE_STORE = """
    row_version BIGINT, withdrawn_on DATE, withdrawn_reason VARCHAR,
    source_file VARCHAR, source_row BIGINT, set_here VARCHAR[], entry_no BIGINT
"""
COLUMNS = {"delivery": ("not_read VARCHAR",)}
TABLES = {"further_fact": 'object_id VARCHAR, "name" VARCHAR, "text" VARCHAR'}


def change_layout(con: duckdb.DuckDBPyConnection) -> None:
    """Add the table and the column."""
    for record, columns in COLUMNS.items():
        for column in columns:
            con.execute(f"ALTER TABLE {record} ADD COLUMN {column}")
    for table, layout in TABLES.items():
        con.execute(f'CREATE TABLE {table} ({layout}, {OF_THE_STORE}, PRIMARY KEY (object_id, "name"))')


def change_rows(con: duckdb.DuckDBPyConnection, at_utc: datetime) -> None:
    """Nothing: headings of the museum's own were left out before."""
