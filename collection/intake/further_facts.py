"""Cells under headings that are kept: further facts of the object, as they are written."""

from dataclasses import replace

import polars as pl

from collection.frames import returns
from collection.intake.mapping.mapping import KEEP, OBJECT, ColumnMap
from collection.validation.duplicates import written_key
from collection.validation.problems import FROM, ROW
from collection.validation.validate import CHANGED, NEW, UNCHANGED, ValidationResult
from schemas.tables import RECORDS

SPEC = RECORDS["further_fact"]
LONGEST_NAME = 200  # letters: as long as any key may be
# One line for each cell that is kept, with the row of the object it stands in.
FACTS = pl.Schema({FROM: pl.Int64(), "object_id": pl.String(), "name": pl.String(), "text": pl.String()})


@returns(FACTS)
def facts_of(cells: pl.DataFrame, rows: pl.DataFrame, mapping: ColumnMap) -> pl.DataFrame:
    """What is kept of a sheet (`row` and its headings); `rows`: its typed rows. Schema `FACTS`."""
    headings = [h for h in mapping.headings_of(KEEP) if h in cells.columns] if mapping.record == OBJECT else []
    numbers = rows.select(ROW, "object_id") if headings else pl.DataFrame()
    facts = [
        cells.select(ROW, text=pl.col(heading).str.strip_chars())
        .filter(pl.col("text") != "")
        .join(numbers, on=ROW, how="inner", maintain_order="left")
        .drop_nulls("object_id")
        .select(pl.col(ROW).alias(FROM), "object_id", "text", name=pl.lit(heading[:LONGEST_NAME]))
        .select(FACTS.names())
        for heading in headings
    ]
    return pl.concat([pl.DataFrame(schema=FACTS), *facts]).unique(
        ["object_id", "name"], keep="first", maintain_order=True
    )


def without_facts_of_others(result: ValidationResult) -> ValidationResult:
    """Facts of objects whose row was refused or is outside go with that row."""
    facts = result.accepted.get(SPEC.name)
    if facts is None:
        return result
    came = result.outcomes.filter(pl.col("outcome").is_in([NEW, CHANGED, UNCHANGED]))[ROW]
    facts = facts.filter(pl.col(FROM).is_in(came.implode()))
    keys = facts.select(key=written_key(SPEC).cast(pl.String))["key"]
    changes = result.changes.filter((pl.col("record") != SPEC.name) | pl.col("key").is_in(keys.implode()))
    others = {name: rows for name, rows in result.accepted.items() if name != SPEC.name}
    return replace(result, accepted={**others, **({SPEC.name: facts} if facts.height else {})}, changes=changes)
