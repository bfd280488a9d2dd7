"""What came of a delivery: rows by outcome, what was read of each, what was not read, what the store met."""

import json
from collections.abc import Mapping
from dataclasses import dataclass, replace

import polars as pl

from collection.frames import returns
from collection.intake.about_sheets import WORDS_KNOWN
from collection.intake.catalogue import READ
from collection.intake.delivery import CLIMATE, COUNTS, OUTCOMES, READINGS, Delivery
from collection.intake.mapping.targets import column_words
from collection.intake.rows import SHEET_STEP
from collection.store import Change, Written
from collection.validation.problems import ASK, PROBLEMS, ROW, rules
from collection.validation.validate import NEW, REFUSED, UNCHANGED

EXAMPLES = 3
MEANWHILE = "changed_meanwhile"
CELLS_NOT_READ = pl.Schema(
    {"file": pl.String(), "record": pl.String(), "column": pl.String(), "rule": pl.String(), "cells": pl.Int64()}
    | {"examples": pl.List(pl.String())}
)


@dataclass(frozen=True)
class Unread:
    """`headings`: by file, those that no column was found for; `cells`: schema `CELLS_NOT_READ`; `words`: schema
    `WORDS_KNOWN`."""

    headings: dict[str, list[str]]
    cells: pl.DataFrame
    words: pl.DataFrame

    def remembered_by(self, change: Change) -> Change:
        """The change whose delivery remembers what was not read, so that it can be looked up later."""
        if change.delivery is None or (not self.headings and self.cells.is_empty()):
            return change
        lines = [
            {"what": column_words(row["record"], row["column"])} | {n: row[n] for n in ("cells", "rule", "examples")}
            for row in self.cells.iter_rows(named=True)
        ]
        return replace(change, delivery=replace(change.delivery, not_read={"headings": self.headings, "cells": lines}))


def unread(delivery: Delivery, problems: pl.DataFrame) -> Unread:
    """Headings without a column, and cells that say something and were not read."""
    headings: dict[str, list[str]] = {}
    for sheet, mapping in delivery.sheets:
        own = set(sheet.headings)
        listed = [h for h in mapping.ignored() if h in own]
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
    words = pl.concat([pl.DataFrame(schema=WORDS_KNOWN), *delivery.words_known])
    return Unread(headings, cells.select(CELLS_NOT_READ.names()), words)


@returns(COUNTS)
def counts(delivery: Delivery, outcomes: pl.DataFrame) -> pl.DataFrame:
    """Rows of each file by outcome; schema `COUNTS`. `outcomes` include the lines between."""
    each = [(pl.col("outcome") == o).sum().cast(pl.Int64).alias(o) for o in OUTCOMES]
    by_sheet = outcomes.group_by((pl.col(ROW) // SHEET_STEP).alias(ROW)).agg(
        pl.len().cast(pl.Int64).alias("rows"), *each
    )
    named = by_sheet.with_columns(file=delivery.file_of(pl.col(ROW) * SHEET_STEP)).drop(ROW)
    counted = named.group_by("file").sum()
    files = dict.fromkeys(sheet.file for sheet, _ in delivery.sheets)
    blank = pl.DataFrame(
        [(name, delivery.blank.get(name, 0)) for name in files],
        schema={"file": pl.String, "blank": pl.Int64},
        orient="row",
    )
    whole = blank.join(counted, on="file", how="left", maintain_order="left").with_columns(
        pl.exclude("file").fill_null(0)
    )
    return whole.select(COUNTS.names())


@returns(READINGS)
def as_read(delivery: Delivery, outcomes: pl.DataFrame) -> pl.DataFrame:
    """One line for every row of every sheet: what was read and what came of it; schema `READINGS`."""
    read = pl.concat([pl.DataFrame(schema=READ), *delivery.readings])
    lacking = outcomes.join(read, on=ROW, how="anti").select(ROW)
    whole = pl.concat([read, lacking], how="diagonal").join(outcomes, on=ROW, how="left", maintain_order="left")
    return delivery.placed(whole.sort(ROW)).select(READINGS.names())


def outcomes_after_writing(delivery: Delivery, outcomes: pl.DataFrame, written: Written) -> pl.DataFrame:
    """Outcomes of the rows after what the store met: rows somebody else was first with, readings that were there."""
    lost = written.conflicts.select("record", key=_key_as_read("key")).unique()
    if lost.height:
        marked = outcomes.join(lost.with_columns(lost=pl.lit(value=True)), on=["record", "key"], how="left")
        outcome = pl.when(pl.col("lost").fill_null(value=False)).then(pl.lit(REFUSED)).otherwise("outcome")
        outcomes = marked.with_columns(outcome=outcome).drop("lost")
    if not any(unchanged for _, unchanged in written.readings.values()):
        return outcomes
    return _with_known_readings(delivery, outcomes, written.readings)


@returns(PROBLEMS)
def problems_of_conflicts(outcomes: pl.DataFrame, conflicts: pl.DataFrame) -> pl.DataFrame:
    """Rows that somebody else was first with, as problems; schema `PROBLEMS`, in the words of their rule."""
    rule = rules()[MEANWHILE]
    keyed = conflicts.with_columns(key=_key_as_read("key"))
    rows = outcomes.filter(outcome=REFUSED).join(keyed, on=["record", "key"])
    worded = rows.with_columns(
        value=pl.col("yours"),
        rule=pl.lit(MEANWHILE),
        level=pl.lit(rule.level),
        words=pl.lit(rule.words),
        expected=pl.format("{} (as {} left it)", pl.col("theirs").fill_null("nothing"), "changed_by"),
        to_do=pl.lit(rule.to_do),
    )
    return worded.select(pl.col(n).cast(t) for n, t in PROBLEMS.items())


def _key_as_read(column: str) -> pl.Expr:
    """The number of a row in the store's JSON as people read it: `{"check_id":"C1","damage_id":"D1"}` is C1 / D1."""
    return pl.col(column).map_elements(
        lambda key: " / ".join(str(v) for v in json.loads(key).values()), return_dtype=pl.String
    )


def _with_known_readings(
    delivery: Delivery, outcomes: pl.DataFrame, readings: Mapping[str, tuple[int, int]]
) -> pl.DataFrame:
    """Climate readings that were there already are unchanged: of each file as many as the store says."""
    for number, (sheet, mapping) in enumerate(delivery.sheets):
        if mapping.record == CLIMATE:
            mine = delivery.rows_of_sheet(number) & (pl.col("outcome") == NEW)
            known = mine & (mine.cum_sum() <= readings.get(sheet.sha256, (0, 0))[1])
            outcomes = outcomes.with_columns(outcome=pl.when(known).then(pl.lit(UNCHANGED)).otherwise("outcome"))
    return outcomes
