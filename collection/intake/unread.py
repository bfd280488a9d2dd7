"""What was not read, counted by column with examples: headings not used, cells left empty."""

from dataclasses import dataclass

import polars as pl

from collection.intake.delivery import Delivery
from collection.validation.problems import ASK, rules

EXAMPLES = 3
CELLS_NOT_READ = pl.Schema(
    {"file": pl.String(), "record": pl.String(), "column": pl.String(), "rule": pl.String(), "cells": pl.Int64()}
    | {"examples": pl.List(pl.String())}
)


@dataclass(frozen=True)
class Unread:
    """`headings`: by file, those that no column was found for; `cells`: schema `CELLS_NOT_READ`."""

    headings: dict[str, list[str]]
    cells: pl.DataFrame


def unread(delivery: Delivery, problems: pl.DataFrame) -> Unread:
    """Headings without a column, and cells that say something and were not read."""
    headings: dict[str, list[str]] = {}
    for sheet, mapping in delivery.sheets:
        listed = [h for h in mapping.ignored() if h in sheet.headings]
        if listed:
            headings.setdefault(sheet.file, []).extend(listed)
    emptying = [name for name, rule in rules().items() if rule.optional or rule.leaves_empty]
    lost = problems.filter(pl.col("level") == ASK, pl.col("rule").is_in(emptying))
    cells = (
        lost.group_by("file", "record", "column", "rule", maintain_order=True)
        .agg(
            cells=pl.len().cast(pl.Int64),
            examples=pl.col("value").drop_nulls().unique(maintain_order=True).head(EXAMPLES),
        )
        .sort("cells", descending=True, maintain_order=True)
    )
    return Unread(headings, cells.select(CELLS_NOT_READ.names()))
