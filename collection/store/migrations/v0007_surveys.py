"""Schema 7: how a survey was drawn, object by object, and what came of each."""

from datetime import datetime

import duckdb

COLUMNS = {
    "survey": ("sampling VARCHAR", "size BIGINT", "margin DOUBLE", "confidence DOUBLE", "cost_model VARCHAR"),
}  # fmt: skip
OF_THE_STORE = """
    row_version BIGINT, withdrawn_on DATE, withdrawn_reason VARCHAR,
    source_file VARCHAR, source_row BIGINT, set_here VARCHAR[], entry_no BIGINT
"""
TABLES = {
    "survey_unit": "survey_id VARCHAR, unit_id VARCHAR, stratum VARCHAR, cluster VARCHAR, chance DOUBLE, "
    "cluster_chance DOUBLE, draw_order BIGINT, outcome VARCHAR",
}


def change_layout(con: duckdb.DuckDBPyConnection) -> None:
    """Add the columns and the table."""
    for table, columns in COLUMNS.items():
        for column in columns:
            con.execute(f"ALTER TABLE {table} ADD COLUMN {column}")
    for table, layout in TABLES.items():
        con.execute(f"CREATE TABLE {table} ({layout}, {OF_THE_STORE}, PRIMARY KEY (survey_id, unit_id))")


def change_rows(con: duckdb.DuckDBPyConnection, at_utc: datetime) -> None:
    """Nothing: how a survey of before was drawn stands in its words alone."""
