"""Schema 5: what a plan of treatments needs to know of options and funds, and the plans that were accepted."""

from datetime import datetime

import duckdb

COLUMNS = {
    "condition_check": ("saw_previous BOOLEAN",),
    "option": (
        "needs VARCHAR[]", "excludes VARCHAR[]", "together_with VARCHAR[]", "setup_group VARCHAR", "lasts_years DOUBLE",
        "yearly_cost DECIMAL(18, 2)", "bench_days DOUBLE",
    ),
    "year_money": ("carries_over BOOLEAN",),
}  # fmt: skip
OF_THE_STORE = """
    row_version BIGINT, withdrawn_on DATE, withdrawn_reason VARCHAR,
    source_file VARCHAR, source_row BIGINT, set_here VARCHAR[], entry_no BIGINT
"""
TABLES = {
    "setup_group": "setup_group VARCHAR PRIMARY KEY, skill VARCHAR, hours DOUBLE, money DECIMAL(18, 2)",
    "option_adds": "option_id VARCHAR, part VARCHAR, material VARCHAR, function VARCHAR, area_mm2 DOUBLE",
    "location_effect": "option_id VARCHAR, hazard_group VARCHAR, rate_factor DOUBLE",
    "must": "must_id VARCHAR PRIMARY KEY, object_id VARCHAR, option_id VARCHAR, done_by DATE, because VARCHAR, "
    "loan_id VARCHAR",
    "plan": "plan_id VARCHAR PRIMARY KEY, made_on DATE, made_by VARCHAR, first_year BIGINT, years BIGINT, "
    "horizon DOUBLE, status VARCHAR, unit VARCHAR, prevented DOUBLE, bound DOUBLE, stopped DOUBLE, note VARCHAR",
    "plan_line": "plan_id VARCHAR, option_id VARCHAR, year BIGINT, hours DOUBLE, money DECIMAL(18, 2), worth DOUBLE, "
    "must BOOLEAN",
}
KEYS = {
    "option_adds": "option_id, part, material",
    "location_effect": "option_id, hazard_group",
    "plan_line": "plan_id, option_id",
}


def change_layout(con: duckdb.DuckDBPyConnection) -> None:
    """Add the columns and the tables."""
    for table, columns in COLUMNS.items():
        for column in columns:
            con.execute(f"ALTER TABLE {table} ADD COLUMN {column}")
    for table, layout in TABLES.items():
        key = f", PRIMARY KEY ({KEYS[table]})" if table in KEYS else ""
        con.execute(f"CREATE TABLE {table} ({layout}, {OF_THE_STORE}{key})")


def change_rows(con: duckdb.DuckDBPyConnection, at_utc: datetime) -> None:
    """Nothing: an option that names another in `alternative_to` excludes it as before."""
