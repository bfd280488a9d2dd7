"""Schema 8: what was stated of a year, frozen."""

from datetime import datetime

import duckdb

OF_THE_STORE = """
    row_version BIGINT, withdrawn_on DATE, withdrawn_reason VARCHAR,
    source_file VARCHAR, source_row BIGINT, set_here VARCHAR[], entry_no BIGINT
"""
FIGURES = "value DOUBLE, low DOUBLE, high DOUBLE, rests_on BIGINT, method VARCHAR, refused VARCHAR"
WHAT = "definitions_version VARCHAR, definition VARCHAR, frozen_on DATE, frozen_by VARCHAR"
TABLES = {"statement": f'"year" BIGINT, measure VARCHAR, {FIGURES}, {WHAT}'}


def change_layout(con: duckdb.DuckDBPyConnection) -> None:
    """Add the table."""
    for table, layout in TABLES.items():
        con.execute(f'CREATE TABLE {table} ({layout}, {OF_THE_STORE}, PRIMARY KEY ("year", measure))')


def change_rows(con: duckdb.DuckDBPyConnection, at_utc: datetime) -> None:
    """Nothing: no year was stated before."""
