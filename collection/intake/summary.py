"""What a delivery would do or did, counted: cells that change by column, cells not read, problems by rule."""

from collections.abc import Iterator

import polars as pl

from collection.frames import returns
from collection.intake.delivery import OUTCOMES
from collection.intake.mapping.target_words import column_words
from collection.intake.pipeline import Intake
from collection.validation.problems import ASK, rules

LEVEL_WORDS = {"refuse": "refused", "outside": "outside", "ask": "to be answered", "note": "noted"}
OUTCOME_WORDS = {"outside": "outside this collection", "between": "lines between the rows"}
HEADINGS_SHOWN, CONFLICTS_SHOWN = 12, 20
CHANGED_COLUMNS = pl.Schema(
    {"record": pl.String, "column": pl.String, "filled": pl.UInt32, "replaced": pl.UInt32}
    | dict.fromkeys(("first_key", "before", "after"), pl.String)
)
BY_RULE = pl.Schema(
    dict.fromkeys(("record", "rule", "level", "words", "to_do"), pl.String)
    | {"rows": pl.UInt32, "first_row": pl.Int64}
    | dict.fromkeys(("column", "value", "expected"), pl.String)
)
# The same for a page: columns in words.
CHANGES = pl.Schema({"what": pl.String, "replaced": pl.UInt32, "filled": pl.UInt32, "example": pl.String})
NOT_READ = pl.Schema(
    {"what": pl.String, "cells": pl.Int64, "examples": pl.String, "why": pl.String, "to_do": pl.String}
)
PROBLEMS = pl.Schema(
    {"outcome": pl.String, "rows": pl.UInt32, "why": pl.String, "first_row": pl.Int64}
    | dict.fromkeys(("what", "value", "expected", "to_do"), pl.String)
)


@returns(CHANGED_COLUMNS)
def changed_columns(changes: pl.DataFrame) -> pl.DataFrame:
    """By record and column, how many rows get a value where there was none, and how many another value.

    `changes`: schema `CHANGED_CELLS` of validation. Schema `CHANGED_COLUMNS`.
    """
    return (
        changes.group_by("record", "column", maintain_order=True)
        .agg(
            filled=pl.col("before").is_null().sum(),
            replaced=pl.col("before").is_not_null().sum(),
            first_key=pl.col("key").filter(pl.col("before").is_not_null()).first(),
            before=pl.col("before").drop_nulls().first(),
            after=pl.col("after").filter(pl.col("before").is_not_null()).first(),
        )
        .sort("record", "column")
    )


@returns(BY_RULE)
def by_rule(problems: pl.DataFrame) -> pl.DataFrame:
    """Problems (as of `Intake`) by rule, with the first row of each; schema `BY_RULE`."""
    counted = problems.group_by("record", "rule", "level", "words", "to_do").agg(
        rows=pl.len(),
        first_row=pl.col("source_row").min(),
        column=pl.col("column").first(),
        value=pl.col("value").first(),
        expected=pl.col("expected").first(),
    )
    return counted.sort("level", "rows", "rule", descending=[True, True, False])


def without_unread_cells(problems: pl.DataFrame) -> pl.DataFrame:
    """The problems that are not told with the cells that were not read; schema as given."""
    emptied = [name for name, rule in rules().items() if rule.optional or rule.leaves_empty]
    return problems.filter(~(pl.col("rule").is_in(emptied) & (pl.col("level") == ASK)))


@returns(CHANGES)
def changes_in_words(result: Intake) -> pl.DataFrame:
    """Columns of rows the register holds that become something else, filled cells first; schema `CHANGES`."""
    rows = changed_columns(result.changes).sort("replaced", "filled", descending=True, maintain_order=True)
    arrow = pl.format("{}: {} \N{RIGHTWARDS ARROW} {}", "first_key", "before", pl.col("after").fill_null("empty"))
    return rows.select(_what(), "replaced", "filled", example=arrow)


@returns(NOT_READ)
def not_read_in_words(result: Intake) -> pl.DataFrame:
    """Cells that say something and were not read, by column, with examples and what to do; schema `NOT_READ`."""
    words = {name: rule.words for name, rule in rules().items()}
    to_do = {name: rule.to_do for name, rule in rules().items()}
    return result.unread.cells.select(
        _what(),
        "cells",
        examples=pl.col("examples").list.join(", "),
        why=pl.col("rule").replace_strict(words, return_dtype=pl.String),
        to_do=pl.col("rule").replace_strict(to_do, return_dtype=pl.String),
    )


@returns(PROBLEMS)
def problems_in_words(result: Intake) -> pl.DataFrame:
    """Rows refused, outside, asked about and noted, by rule, with the first of each; schema `PROBLEMS`."""
    rows = by_rule(without_unread_cells(result.problems)).with_columns(pl.col("column").fill_null(""))
    outcome = pl.col("level").replace_strict(LEVEL_WORDS, return_dtype=pl.String)
    return rows.select(
        outcome.str.to_titlecase().str.slice(0, 1) + outcome.str.slice(1),
        "rows",
        pl.col("words").alias("why"),
        "first_row",
        _what(),
        "value",
        "expected",
        "to_do",
    ).rename({"level": "outcome"})


def foreknown_sentence(result: Intake) -> str:
    """*36 rows: 30 would be new, 2 changed, 4 refused. Nothing is written yet.*"""
    return f"{_counted(result.files, 'would be ')}. Nothing is written yet."


def done_sentence(result: Intake) -> str:
    """*D3: 36 rows: 30 new, 2 changed, 4 refused.* Where nothing was new, that."""
    number = result.written.delivery_id
    if number is None:
        return f"{_counted(result.files)}. Nothing in it was new: the register stays as it was."
    return f"Brought in as {number}. {_counted(result.files)}."


def sentences_on_headings(result: Intake) -> Iterator[str]:
    """Headings that were left out, sheets that were left out, mappings that were used again."""
    for file, headings in result.unread.headings.items():
        more = ", ..." if len(headings) > HEADINGS_SHOWN else ""
        yield f"{file}: not used: {', '.join(headings[:HEADINGS_SHOWN])}{more}."
    yield from (f"{sheet}: left out." for sheet in result.left_out)
    yield from result.mappings_remembered


def sentences_on_conflicts(result: Intake) -> Iterator[str]:
    """Rows that somebody else changed while the file was read, with both values."""
    for row in result.written.conflicts.head(CONFLICTS_SHOWN).iter_rows(named=True):
        what = column_words(row["record"], row["column"] or "")
        values = f"yours {row['yours']}, theirs {row['theirs']}"
        yield f"{row['key']}, {what}: not written, since {row['changed_by']} changed it meanwhile: {values}."


def _counted(files: pl.DataFrame, verb: str = "") -> str:
    """Rows of all files by outcome, those with none left out; `verb` before the first."""
    total = {name: int(files[name].sum()) for name in OUTCOMES}
    listed = [f"{number:,} {OUTCOME_WORDS.get(name, name)}" for name, number in total.items() if number]
    rows = int(files["rows"].sum())
    first, _, rest = ", ".join(listed).partition(" ")
    return f"{rows:,} {'row' if rows == 1 else 'rows'}: {first} {verb}{rest}"


def _what() -> pl.Expr:
    """What a column of a record holds, in words."""
    return (
        pl.struct("record", "column")
        .map_elements(lambda pair: column_words(pair["record"], pair["column"]), return_dtype=pl.String)
        .alias("what")
    )
