"""Problems as data: what is wrong with a row, by which rule, what was expected, what to do."""

from collections.abc import Mapping
from functools import cache
from typing import Literal

import polars as pl
from pydantic import BaseModel, ConfigDict

from collection.intake.files.sheet import ROW, Sheet
from schemas.vocabularies import load_parameters

PROBLEMS = pl.Schema(
    {
        n: pl.String()
        for n in ("file", "sheet", "record", "key", "column", "value", "rule", "level", "words", "expected", "to_do")
    }
    | {"source_row": pl.Int64()}
)
# A problem as readers and rules write it; file, sheet, record, key and the words of the rule are added in one place.
FOUND = pl.Schema(
    {
        ROW: pl.Int64(),
        "rule": pl.String(),
        "column": pl.String(),
        "value": pl.String(),
        "expected": pl.String(),
    }
)


class Rule(BaseModel):
    """One rule as `rules.toml` words it."""

    model_config = ConfigDict(extra="forbid", frozen=True)
    level: Literal["refuse", "ask", "note"]
    words: str
    expected: str
    to_do: str


@cache
def rules() -> Mapping[str, Rule]:
    """Every rule by name."""
    return {name: Rule.model_validate(raw) for name, raw in load_parameters("rules")["rule"].items()}


@cache
def rules_frame() -> pl.DataFrame:
    """Rules as a frame: rule, level, words, rule_expected, to_do."""
    rows = [(n, r.level, r.words, r.expected, r.to_do) for n, r in rules().items()]
    return pl.DataFrame(rows, schema=["rule", "level", "words", "rule_expected", "to_do"], orient="row")


def nothing() -> pl.DataFrame:
    """No problem; schema `FOUND`."""
    return pl.DataFrame(schema=FOUND)


def found(
    rows: pl.DataFrame, rule: str, column: str, *, value: pl.Expr | None = None, expected: str | None = None
) -> pl.DataFrame:
    """One problem for each of these rows (with a `source_row` column); schema `FOUND`."""
    shown = value if value is not None else pl.lit(None, pl.String)
    return rows.select(
        pl.col(ROW).cast(pl.Int64),
        rule=pl.lit(rule),
        column=pl.lit(column),
        value=shown.cast(pl.String),
        expected=pl.lit(expected, pl.String),
    )


def refused_rows(problems: pl.DataFrame) -> pl.Series:
    """Source rows with a problem that refuses them."""
    return problems.join(rules_frame(), on="rule").filter(pl.col("level") == "refuse")[ROW].unique()


def worded(problems: pl.DataFrame, keys: pl.DataFrame, *, file: str, sheet: str, record: str) -> pl.DataFrame:
    """Problems as people read them; `keys` has `source_row` and `key`. Schema `PROBLEMS`, in order of rows."""
    return (
        problems.join(rules_frame(), on="rule", how="left")
        .join(keys.unique(ROW), on=ROW, how="left")
        .with_columns(
            file=pl.lit(file),
            sheet=pl.lit(sheet),
            record=pl.lit(record),
            expected=pl.coalesce("expected", "rule_expected"),
        )
        .select(pl.col(n).cast(t) for n, t in PROBLEMS.items())
        .sort(ROW, "column", "rule", nulls_last=True)
    )


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
