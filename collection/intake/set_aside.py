"""Rows that were not taken, kept as typed with their reasons."""

import polars as pl

from collection.intake.sheet import ROW, Sheet

REFUSED, NOT_ENAMEL = "refused", "not_enamel_on_metal"
SET_ASIDE = pl.Schema(
    {"sha256": pl.String(), "sheet": pl.String(), ROW: pl.Int64()}
    | {n: pl.String() for n in ("cells", "outcome", "problems")}
)


def set_aside(sheet: Sheet, outcomes: pl.DataFrame, not_enamel: pl.DataFrame, problems: pl.DataFrame) -> pl.DataFrame:
    """Rows that were not taken, as typed, with their reasons, both as JSON."""
    aside = outcomes.filter(pl.col("outcome").is_in([REFUSED, NOT_ENAMEL])).select(ROW, "outcome")
    if aside.is_empty():
        return pl.DataFrame(schema=SET_ASIDE)
    typed_cells = sheet.cells.join(aside, on=ROW, how="semi").select(
        ROW, cells=pl.struct(sheet.headings).struct.json_encode()
    )
    raw = sheet.faults.filter(pl.col("raw").is_not_null()).unique(ROW).select(ROW, "raw")
    reasons = problems.filter(pl.col("level") == "refuse").select(
        ROW, one=pl.struct("rule", "column", "value", "words", "expected", "to_do").struct.json_encode()
    )
    other = not_enamel.select(ROW, one=pl.struct(rule=pl.lit(NOT_ENAMEL), words="why").struct.json_encode())
    listed = pl.concat([reasons, other]).group_by(ROW).agg(problems=pl.format("[{}]", pl.col("one").str.join(",")))
    return (
        aside.join(typed_cells, on=ROW, how="left")
        .join(raw, on=ROW, how="left")
        .join(listed, on=ROW, how="left")
        .select(
            sha256=pl.lit(sheet.sha256),
            sheet=pl.lit(sheet.name),
            source_row=ROW,
            cells=pl.coalesce("raw", "cells"),
            outcome="outcome",
            problems=pl.col("problems").fill_null("[]"),
        )
        .sort(ROW)
    )
