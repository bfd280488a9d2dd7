"""Schema 2: what a loan report needs of objects, deliveries that can be undone, and which store a file is."""

import json
import math
import uuid
from datetime import datetime

import duckdb

from collection.store.exchange import fetch

BY = "Enamel Register, schema 2"
OBJECT_COLUMNS = (
    "maker VARCHAR",
    "marks VARCHAR",
    "inscription VARCHAR",
    "credit_line VARCHAR",
    "acquired_text VARCHAR",
    "dimensions_text VARCHAR",
    "materials_text VARCHAR",
    "framed BOOLEAN",
    "glazed BOOLEAN",
    "unstable_share DOUBLE",
)
DELIVERY = """
    CREATE TABLE delivery (
        delivery_id VARCHAR PRIMARY KEY, made_at TIMESTAMP, made_by VARCHAR, files VARCHAR, counts VARCHAR,
        first_seq BIGINT, last_seq BIGINT, undone_on DATE, undone_by VARCHAR,
        row_version BIGINT, withdrawn_on DATE, withdrawn_reason VARCHAR,
        source_file VARCHAR, source_row BIGINT, set_here VARCHAR[], entry_no BIGINT
    )
"""
OLD_LINE, NEW_LINE = "magnitude_line", "treat_from"
# The line was given as a magnitude; it is now the share of the collection's value lost in a year: 10 ** (x - 15).
MAGNITUDE_OF_ALL = 15


def change_layout(con: duckdb.DuckDBPyConnection) -> None:
    """Add the columns and the table, and give the store its number."""
    for column in OBJECT_COLUMNS:
        con.execute(f"ALTER TABLE object ADD COLUMN {column}")
    con.execute("ALTER TABLE climate_reading ADD COLUMN read_in BIGINT")
    for table in _tables(con):
        con.execute(f"ALTER TABLE {table} ADD COLUMN entry_no BIGINT")
    con.execute(DELIVERY)
    con.execute("ALTER TABLE about ADD COLUMN store_id VARCHAR")
    con.execute("ALTER TABLE about ADD COLUMN copied_at TIMESTAMP")
    con.execute("UPDATE about SET store_id = ?", [uuid.uuid4().hex])


def change_rows(con: duckdb.DuckDBPyConnection, at_utc: datetime) -> None:
    """Turn the line given as a magnitude into a share, and the outcome of rows of other collections into `outside`.

    Rows get no entry number: nobody noted in which order they came.
    """
    _change_line(con, at_utc)
    _change_outcomes(con, at_utc)


def _tables(con: duckdb.DuckDBPyConnection) -> list[str]:
    return [name for (name,) in con.sql("SHOW TABLES").fetchall() if name != "about"]


def _change_line(con: duckdb.DuckDBPyConnection, at_utc: datetime) -> None:
    """A value that is no number was of no effect; it leaves the settings and stays in the journal."""
    for row in fetch(con, "FROM setting WHERE name = ?", [OLD_LINE]).iter_rows(named=True):
        con.execute("DELETE FROM setting WHERE name = ?", [OLD_LINE])
        _note(con, at_utc, OLD_LINE, "taken out", _filled(row), None)
        share = _share(row["value"])
        if share is not None and not con.sql("FROM setting WHERE name = ?", params=[NEW_LINE]).fetchall():
            new = row | {"name": NEW_LINE, "value": share, "row_version": 1}
            marks = ", ".join("?" for _ in new)
            con.execute(f"INSERT INTO setting ({', '.join(new)}) VALUES ({marks})", list(new.values()))
            added = {name: value for name, value in _filled(new).items() if name != "row_version"}
            _note(con, at_utc, NEW_LINE, "added", None, added)


def _share(magnitude: str) -> str | None:
    try:
        share = 10 ** (float(magnitude) - MAGNITUDE_OF_ALL)
    except (ValueError, OverflowError):
        return None
    return f"{share:.12g}" if math.isfinite(share) else None


def _filled(row: dict[str, object]) -> dict[str, object]:
    return {n: _plain(v) for n, v in row.items() if v is not None}


def _plain(value: object) -> object:
    return value if isinstance(value, str | int | list) else str(value)


def _note(
    con: duckdb.DuckDBPyConnection, at_utc: datetime, name: str, action: str, before: object, after: object
) -> None:
    texts = [None if side is None else json.dumps(side, ensure_ascii=False) for side in (before, after)]
    con.execute(
        "INSERT INTO journal BY NAME SELECT (SELECT coalesce(max(seq), 0) + 1 FROM journal) AS seq, ? AS changed_at, "
        "? AS changed_by, 'setting' AS record_name, ? AS row_key, ? AS action, ? AS before, ? AS after",
        [at_utc, BY, json.dumps({"name": name}, separators=(",", ":")), action, *texts],
    )


def _change_outcomes(con: duckdb.DuckDBPyConnection, at_utc: datetime) -> None:
    con.execute(
        """
        INSERT INTO journal BY NAME
        SELECT (SELECT coalesce(max(seq), 0) FROM journal)
                   + row_number() OVER (ORDER BY sha256, sheet, source_row) AS seq,
               ?::TIMESTAMP AS changed_at, ? AS changed_by, 'refused_row' AS record_name,
               json_object('sha256', sha256, 'sheet', sheet, 'source_row', source_row)::VARCHAR AS row_key,
               'changed' AS action, '{"outcome":"not_enamel_on_metal"}' AS before, '{"outcome":"outside"}' AS after
        FROM refused_row WHERE outcome = 'not_enamel_on_metal'
        """,
        [at_utc, BY],
    )
    con.execute(
        "UPDATE refused_row SET outcome = 'outside', row_version = row_version + 1 "
        "WHERE outcome = 'not_enamel_on_metal'"
    )
