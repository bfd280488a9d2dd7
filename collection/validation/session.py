"""What is known while sheets are judged one after another: the kept rows and the rows taken so far."""

from dataclasses import dataclass, field

import polars as pl

from collection.snapshot import Collection, kept_schema
from schemas.tables import RECORDS, TableSpec


@dataclass
class ValidationSession:
    """What is known while sheets are judged one after another: kept rows and the rows taken so far."""

    kept: Collection
    with_readings: bool = True
    taken: dict[str, list[pl.DataFrame]] = field(default_factory=dict)
    refused: dict[str, pl.Series] = field(default_factory=dict)
    seen: dict[str, list[pl.DataFrame]] = field(default_factory=dict)

    def kept_rows(self, spec: TableSpec) -> pl.DataFrame:
        """Every kept row of a record, withdrawn ones too; none of a record that is not carried about."""
        return self.kept.frames.get(spec.name, pl.DataFrame(schema=kept_schema(spec)))

    def rows(self, record: str) -> pl.DataFrame:
        """Rows of a record, incoming ones over kept ones; `kept:NAME` gives the kept ones only."""
        if record.startswith("kept:"):
            return self.kept[record.removeprefix("kept:")]
        spec, kept = RECORDS[record], self.kept[record]
        parts = [_filled(f, kept, spec) for f in self.taken.get(record, [])]
        if not parts:
            return kept
        incoming = pl.concat(parts)
        return pl.concat([kept.join(incoming, on=spec.key, how="anti"), incoming])

    def numbers(self, record: str) -> pl.Series:
        """The numbers others may point to."""
        key = RECORDS[record].key[0]
        return pl.concat([self.kept[record][key], *(f[key] for f in self.taken.get(record, []))])

    def seen_above(self, spec: TableSpec) -> pl.DataFrame | None:
        """Numbers and content of the rows of this record met so far."""
        return pl.concat(self.seen[spec.name]) if spec.name in self.seen else None

    def see(self, spec: TableSpec, met: pl.DataFrame) -> None:
        """Remember rows met."""
        self.seen.setdefault(spec.name, []).append(met)

    def take(self, record: str, rows: pl.DataFrame) -> None:
        """Rows judged good."""
        if not rows.is_empty():
            self.taken.setdefault(record, []).append(rows)


def _filled(rows: pl.DataFrame, kept: pl.DataFrame, spec: TableSpec) -> pl.DataFrame:
    """Incoming rows as they will stand: what they leave empty is as it was kept."""
    both = rows.join(kept, on=spec.key, how="left", suffix="_kept", maintain_order="left")
    filled = [
        (
            pl.coalesce(n, f"{n}_kept")
            if n in rows.columns and f"{n}_kept" in both.columns
            else pl.col(n)
            if n in both.columns
            else pl.lit(None)
        )
        .cast(t)
        .alias(n)
        for n, t in kept.schema.items()
    ]
    return both.select(filled)
