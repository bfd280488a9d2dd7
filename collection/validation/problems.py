"""Problems as data: what is wrong with a row, by which rule, what was expected, what to do."""

from collections.abc import Mapping
from functools import cache
from typing import Literal

import polars as pl
from pydantic import BaseModel, ConfigDict

from collection.frames import returns
from schemas.tables import TableSpec
from schemas.vocabularies import load_parameters

# A row's identity while it is judged: given by whoever brings it in, negative for a row that follows from another one.
ROW = "row"
FROM = "from_row"  # of a row that follows from another one: the identity of that one

Level = Literal["refuse", "outside", "ask", "note"]
REFUSE, OUTSIDE_LEVEL, ASK, NOTE = "refuse", "outside", "ask", "note"
PROBLEMS = pl.Schema(
    {"record": pl.String(), ROW: pl.Int64()}
    | {n: pl.String() for n in ("key", "column", "value", "rule", "level", "words", "expected", "to_do")}
)
# A problem as readers and rules write it; record, key, level and the words of the rule are added in one place.
UNWORDED = pl.Schema({ROW: pl.Int64()} | {n: pl.String() for n in ("rule", "column", "value", "expected")})


class Rule(BaseModel):
    """One rule as `rules.toml` words it.

    `optional` is its level where the column may be empty: then the cell is left empty and the row is taken.
    `leaves_empty`: words that were not read leave their columns empty whatever the level.
    """

    model_config = ConfigDict(extra="forbid", frozen=True)
    level: Level
    optional: Level | None = None
    leaves_empty: bool = False
    words: str
    expected: str
    to_do: str


@cache
def rules() -> Mapping[str, Rule]:
    """Every rule by name."""
    return {name: Rule.model_validate(raw) for name, raw in load_parameters("rules")["rule"].items()}


@cache
def rules_frame() -> pl.DataFrame:
    """Rules as a frame: rule, level, optional, words, rule_expected, to_do."""
    rows = [(n, r.level, r.optional, r.words, r.expected, r.to_do) for n, r in rules().items()]
    names = ["rule", "rule_level", "optional", "words", "rule_expected", "to_do"]
    return pl.DataFrame(rows, schema=dict.fromkeys(names, pl.String), orient="row")


@returns(UNWORDED)
def no_problems() -> pl.DataFrame:
    """No problem; schema `UNWORDED`."""
    return _none().clone()


@cache
def _none() -> pl.DataFrame:
    return UNWORDED.to_frame()


@returns(UNWORDED)
def problems_of(
    rows: pl.DataFrame, rule: str, column: str, *, value: pl.Expr | None = None, expected: str | None = None
) -> pl.DataFrame:
    """One problem for each of these rows (with column `row`); schema `UNWORDED`."""
    shown = value if value is not None else pl.lit(None, pl.String)
    return rows.select(
        pl.col(ROW).cast(pl.Int64),
        rule=pl.lit(rule),
        column=pl.lit(column),
        value=shown.cast(pl.String),
        expected=pl.lit(expected, pl.String),
    )


def needed_columns(spec: TableSpec) -> list[str]:
    """Columns that a row cannot do without."""
    return [c.name for c in spec.columns if c.required or c.name in spec.key]


def levelled(problems: pl.DataFrame, spec: TableSpec) -> pl.DataFrame:
    """Problems with the words of their rules and their level: milder where the column may be empty."""
    may_be_empty = ~pl.col("column").is_in(needed_columns(spec))
    level = pl.when(may_be_empty).then(pl.coalesce("optional", "rule_level")).otherwise("rule_level")
    return problems.join(rules_frame(), on="rule", how="left", maintain_order="left").with_columns(level=level)


def rows_at(problems: pl.DataFrame, spec: TableSpec, *levels: str) -> pl.Series:
    """Identities of the rows with a problem of one of these levels."""
    if problems.is_empty():
        return problems[ROW]
    return levelled(problems, spec).filter(pl.col("level").is_in(list(levels)))[ROW].unique()


def cells_left_empty(rows: pl.DataFrame, problems: pl.DataFrame, spec: TableSpec) -> pl.DataFrame:
    """The rows with every cell empty that a rule judged wrong and that may be empty."""
    if problems.is_empty():
        return rows
    mild = levelled(problems, spec).filter(pl.col("optional").is_not_null(), pl.col("level") == pl.col("optional"))
    for (name,), wrong in mild.group_by("column"):
        emptied = [c for c in (name, f"{name}_earliest", f"{name}_latest") if c in rows.columns]
        is_wrong = pl.col(ROW).is_in(wrong[ROW].implode())
        rows = rows.with_columns(pl.when(~is_wrong).then(c).alias(c) for c in emptied)
    return rows


def _keys_of(problems: pl.DataFrame, keys: pl.DataFrame) -> pl.DataFrame:
    """The keys of rows that have a problem, each row once: few of a million rows have one."""
    return keys.filter(pl.col(ROW).is_in(problems[ROW].unique().implode())).unique(ROW)


@returns(PROBLEMS)
def worded(problems: pl.DataFrame, keys: pl.DataFrame, spec: TableSpec) -> pl.DataFrame:
    """Problems as people read them; `keys` has `row` and `key`. Schema `PROBLEMS`, in order of rows."""
    if problems.is_empty():
        return PROBLEMS.to_frame()
    return (
        levelled(problems, spec)
        .join(_keys_of(problems, keys), on=ROW, how="left")
        .with_columns(record=pl.lit(spec.name), expected=pl.coalesce("expected", "rule_expected"))
        .select(pl.col(n).cast(t) for n, t in PROBLEMS.items())
        .sort(ROW, "column", "rule", nulls_last=True, maintain_order=True)
    )
