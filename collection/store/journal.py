"""The journal: who changed what, when, from what to what; and the records it gives back when replayed."""

import json
from collections.abc import Mapping
from datetime import datetime

import polars as pl

from collection.snapshot import APART, kept_schema
from schemas.tables import RECORDS, TableSpec

ADDED, CHANGED, READ_IN = "added", "changed", "read in"


def entries(
    spec: TableSpec, before: pl.DataFrame | None, after: pl.DataFrame, *, by: str, at_utc: datetime, first_seq: int
) -> pl.DataFrame:
    """One journal row for each row of `after`, with only the columns that differ from `before` (None: an added row)."""
    names = [n for n in kept_schema(spec) if n != "row_version"]
    old = None if before is None else before.rename({n: f"old_{n}" for n in before.columns})
    rows = after if old is None else pl.concat([after, old], how="horizontal")
    differs = {n: pl.col(n).is_not_null() if old is None else pl.col(n).ne_missing(pl.col(f"old_{n}")) for n in names}
    return rows.select(
        seq=pl.int_range(first_seq, first_seq + after.height, dtype=pl.Int64),
        changed_at=pl.lit(at_utc, pl.Datetime("us")),
        changed_by=pl.lit(by),
        record_name=pl.lit(spec.name),
        row_key=pl.struct(spec.key).struct.json_encode(),
        action=pl.lit(ADDED if old is None else CHANGED),
        before=pl.lit(None, pl.String) if old is None else _json(differs, "old_"),
        after=_json(differs, ""),
    )


def replay(journal: pl.DataFrame) -> Mapping[str, pl.DataFrame]:
    """The records as the journal tells them, from an empty store on; schema `kept_schema` of each record."""
    rows: dict[str, dict[str, dict[str, object]]] = {name: {} for name in RECORDS if name not in APART}
    for name, key, action, after in journal.sort("seq").select("record_name", "row_key", "action", "after").iter_rows():
        if action != READ_IN:
            row = rows[name].setdefault(key, {"row_version": 0})
            row |= json.loads(after)
            row["row_version"] = int(str(row["row_version"])) + 1
    return {name: _frame(RECORDS[name], list(kept.values())) for name, kept in rows.items()}


def _json(differs: Mapping[str, pl.Expr], prefix: str) -> pl.Expr:
    """A JSON object of the columns that differ."""
    pairs = [
        pl.when(differ).then(pl.struct(pl.col(f"{prefix}{n}").alias(n)).struct.json_encode().str.slice(1).str.head(-1))
        for n, differ in differs.items()
    ]
    return pl.format("{{{}}}", pl.concat_str(pairs, separator=",", ignore_nulls=True))


def _frame(spec: TableSpec, rows: list[dict[str, object]]) -> pl.DataFrame:
    schema = kept_schema(spec)
    lines = pl.Series([json.dumps(row, ensure_ascii=False) for row in rows], dtype=pl.String)
    as_text = {n: t if not t.is_temporal() and not t.is_decimal() else pl.String() for n, t in schema.items()}
    frame = lines.str.json_decode(pl.Struct(as_text)).struct.unnest() if rows else pl.DataFrame(schema=as_text)
    return frame.select(_typed(n, t) for n, t in schema.items()).sort(spec.key)


def _typed(name: str, dtype: pl.DataType) -> pl.Expr:
    text = pl.col(name)
    if dtype == pl.Date:
        return text.str.to_date("%Y-%m-%d")
    if dtype.is_temporal():
        return text.str.to_datetime("%Y-%m-%d %H:%M:%S%.f", time_unit="us")
    return text.cast(dtype)
