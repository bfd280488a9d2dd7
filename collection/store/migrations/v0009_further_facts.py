"""Schema 9: what catalogues say under headings of the museum's own."""

from datetime import datetime

import duckdb

OF_THE_STORE = """
    row_version BIGINT, withdrawn_on DATE, withdrawn_reason VARCHAR,
    source_file VARCHAR, source_row BIGINT, set_here VARCHAR[], entry_no BIGINT
"""
TABLES = {"further_fact": 'object_id VARCHAR, "name" VARCHAR, "text" VARCHAR'}


def change_layout(con: duckdb.DuckDBPyConnection) -> None:
    """Add the table."""
    for table, layout in TABLES.items():
        con.execute(f'CREATE TABLE {table} ({layout}, {OF_THE_STORE}, PRIMARY KEY (object_id, "name"))')


def change_rows(con: duckdb.DuckDBPyConnection, at_utc: datetime) -> None:
    """Nothing: headings of the museum's own were left out before."""
