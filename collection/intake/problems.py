"""Problems as data: what is wrong with a row, by which rule, what was expected, what to do."""

from collections.abc import Mapping
from functools import cache
from typing import Literal

import polars as pl
from pydantic import BaseModel, ConfigDict

from collection.intake.sheet import ROW
from schemas.vocabularies import values

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
    return {name: Rule.model_validate(raw) for name, raw in values("rules")["rule"].items()}


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
