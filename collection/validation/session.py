"""What is known while records are judged one after another: rows the register holds and rows accepted so far."""

from dataclasses import dataclass, field, replace

import polars as pl

from collection.snapshot import Collection, empty_rows
from schemas.tables import RECORDS, TableSpec


@dataclass(frozen=True)
class Session:
    """Held rows, rows accepted so far, and the numbers of the rows that were refused."""

    collection: Collection
    accepted: dict[str, pl.DataFrame] = field(default_factory=dict)
    refused: dict[str, pl.Series] = field(default_factory=dict)

    def held(self, spec: TableSpec) -> pl.DataFrame:
        """Every held row of a record, withdrawn ones too; none of a record that is not carried about."""
        return self.collection.frames.get(spec.name, empty_rows(spec))

    def standing(self, record: str) -> pl.DataFrame:
        """Rows of a record that the register holds and that were not withdrawn."""
        return self.collection[record]

    def rows(self, record: str) -> pl.DataFrame:
        """Rows of a record as they will stand: accepted ones over held ones."""
        spec, standing = RECORDS[record], self.collection[record]
        incoming = self.accepted.get(record)
        if incoming is None:
            return standing
        return pl.concat([standing.join(incoming, on=spec.key, how="anti"), _completed(incoming, standing, spec)])

    def numbers(self, record: str) -> pl.Series:
        """The numbers others may point to."""
        key, standing = RECORDS[record].key[0], self.collection[record]
        incoming = self.accepted.get(record)
        return standing[key] if incoming is None else pl.concat([standing[key], incoming[key]])

    def with_rows(self, record: str, rows: pl.DataFrame) -> "Session":
        """The session as it would be with these rows accepted."""
        return replace(self, accepted={**self.accepted, record: rows})


def _completed(rows: pl.DataFrame, held: pl.DataFrame, spec: TableSpec) -> pl.DataFrame:
    """Incoming rows as they will stand: what they leave empty is as it is held."""
    both = rows.join(held, on=spec.key, how="left", suffix="_held", maintain_order="left")
    filled = [
        (
            pl.coalesce(n, f"{n}_held")
            if n in rows.columns and f"{n}_held" in both.columns
            else pl.col(n)
            if n in both.columns
            else pl.lit(None)
        )
        .cast(t)
        .alias(n)
        for n, t in held.schema.items()
    ]
    return both.select(filled)
