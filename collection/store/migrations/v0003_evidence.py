"""Schema 3: interim actions, harmed areas of repairs, how surveys were chosen, and what learned rates need."""

import json
import math
from datetime import datetime

import duckdb

from collection.store.exchange import fetch

BY = "Enamel Register, schema 3"
COLUMNS = {
    "repair": ("area_mm2 DOUBLE",),
    "repair_state": ("harmed_mm2 DOUBLE", "harmed_band VARCHAR", "harms VARCHAR"),
    "fragment": ("container VARCHAR", "condition VARCHAR", "checked_on DATE"),
    "survey": ("selection VARCHAR",),
    "own_rate": ("spread DOUBLE",),
}
ACTION = """
    CREATE TABLE action (
        action_id VARCHAR PRIMARY KEY, object_id VARCHAR, hazard_id VARCHAR, location_id VARCHAR, fault VARCHAR,
        done_on DATE, done_by VARCHAR, what VARCHAR, until DATE, note VARCHAR, photo_id VARCHAR,
        row_version BIGINT, withdrawn_on DATE, withdrawn_reason VARCHAR,
        source_file VARCHAR, source_row BIGINT, set_here VARCHAR[], entry_no BIGINT
    )
"""
OLD_LINE, NEW_LINE = "width_line", "unsure_from_times"  # decades then, a factor now


def change_layout(con: duckdb.DuckDBPyConnection) -> None:
    """Add the columns and the table."""
    for table, columns in COLUMNS.items():
        for column in columns:
            con.execute(f"ALTER TABLE {table} ADD COLUMN {column}")
    con.execute(ACTION)


def change_rows(con: duckdb.DuckDBPyConnection, at_utc: datetime) -> None:
    """Turn the line given in decades into a factor; one that is no number leaves the settings, not the journal."""
    for row in fetch(con, "FROM setting WHERE name = ?", [OLD_LINE]).iter_rows(named=True):
        con.execute("DELETE FROM setting WHERE name = ?", [OLD_LINE])
        _note(con, at_utc, OLD_LINE, "taken out", {"value": row["value"]}, None)
        times = _times(row["value"])
        if times is not None:
            new = row | {"name": NEW_LINE, "value": times, "row_version": 1}
            marks = ", ".join("?" for _ in new)
            con.execute(f"INSERT INTO setting ({', '.join(new)}) VALUES ({marks})", list(new.values()))
            _note(con, at_utc, NEW_LINE, "added", None, {"name": NEW_LINE, "value": times})


def _times(decades: str) -> str | None:
    try:
        times = 10 ** float(decades)
    except (ValueError, OverflowError):
        return None
    return f"{times:.12g}" if math.isfinite(times) and times > 1 else None


def _note(
    con: duckdb.DuckDBPyConnection, at_utc: datetime, name: str, action: str, before: object, after: object
) -> None:
    texts = [None if side is None else json.dumps(side, ensure_ascii=False) for side in (before, after)]
    con.execute(
        "INSERT INTO journal BY NAME SELECT (SELECT coalesce(max(seq), 0) + 1 FROM journal) AS seq, ? AS changed_at, "
        "? AS changed_by, 'setting' AS record_name, ? AS row_key, ? AS action, ? AS before, ? AS after",
        [at_utc, BY, json.dumps({"name": name}, separators=(",", ":")), action, *texts],
    )
