"""Schema 4: what a borrower is told of an object and a loan, and who released a danger to travel."""

from datetime import datetime

import duckdb

COLUMNS = {
    "condition_check": (
        "place VARCHAR", "purpose VARCHAR", "rh_percent DOUBLE", "temperature_c DOUBLE", "loan_id VARCHAR",
        "stage VARCHAR",
    ),
    "danger_to_people": (
        "distance_mm DOUBLE", "background VARCHAR", "instrument VARCHAR", "cleared_to_travel_on DATE",
        "cleared_by VARCHAR",
    ),
    "loan": (
        "status VARCHAR", "asked_on DATE", "answer_by DATE", "lender_contact VARCHAR", "courier_contact VARCHAR",
        "borrower_contact VARCHAR",
    ),
    "loan_object": (
        "rh_change_24h DOUBLE", "temperature_change_24h DOUBLE", "light_hours DOUBLE", "orientation VARCHAR",
        "handling_points VARCHAR", "people BIGINT", "mount VARCHAR", "case_need VARCHAR",
        "conditions_before_packing VARCHAR", "conditions_met_on DATE", "packed_height_mm DOUBLE",
        "packed_width_mm DOUBLE", "packed_depth_mm DOUBLE", "packed_mass_g DOUBLE",
    ),
    "loan_state": (
        "courier VARCHAR", "seal VARCHAR", "hours_closed DOUBLE", "rh_percent DOUBLE", "temperature_c DOUBLE",
    ),
    "part": ("height_mm DOUBLE", "width_mm DOUBLE", "depth_mm DOUBLE"),
    "repair": (
        "recognised_by VARCHAR[]", "fluorescence VARCHAR", "thickness_mm DOUBLE", "lost_beneath DOUBLE",
        "retreatable VARCHAR",
    ),
}  # fmt: skip
OF_THE_STORE = """
    row_version BIGINT, withdrawn_on DATE, withdrawn_reason VARCHAR,
    source_file VARCHAR, source_row BIGINT, set_here VARCHAR[], entry_no BIGINT
"""
TABLES = (
    f"""
    CREATE TABLE loan_finding (
        finding_id VARCHAR PRIMARY KEY, loan_id VARCHAR, object_id VARCHAR, state VARCHAR, damage_id VARCHAR,
        repair_id VARCHAR, outcome VARCHAR, photo_id VARCHAR, note VARCHAR, {OF_THE_STORE}
    )
    """,
    f"""
    CREATE TABLE requirement (
        object_id VARCHAR PRIMARY KEY, handling_points VARCHAR, people BIGINT, orientation VARCHAR, mount VARCHAR,
        case_need VARCHAR, lux_most DOUBLE, uv_most DOUBLE, light_hours DOUBLE, reason VARCHAR, set_by VARCHAR,
        set_on DATE, {OF_THE_STORE}
    )
    """,
)


def change_layout(con: duckdb.DuckDBPyConnection) -> None:
    """Add the columns and the tables."""
    for table, columns in COLUMNS.items():
        for column in columns:
            con.execute(f"ALTER TABLE {table} ADD COLUMN {column}")
    for table in TABLES:
        con.execute(table)


def change_rows(con: duckdb.DuckDBPyConnection, at_utc: datetime) -> None:
    """Nothing: what was recorded before stands as it is."""
