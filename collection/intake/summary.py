"""What a delivery would do or did, counted: cells that change by column, cells not read, problems by rule."""

from collections.abc import Iterator, Sequence

import polars as pl

from collection.frames import returns
from collection.intake.delivery import OUTCOMES
from collection.intake.mapping.targets import column_words
from collection.intake.pipeline import Intake
from collection.intake.rows import BETWEEN
from collection.validation.problems import ASK, rules
from collection.validation.validate import CHANGED, NEW, OUTSIDE

LEVEL_WORDS = {"refuse": "refused", "outside": "outside", "ask": "to be answered", "note": "noted"}
OUTCOME_WORDS = {OUTSIDE: "outside this collection", BETWEEN: "in lines that are no rows"}
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
# The same for a page, columns in words: what changes; and what to say of cells and rows, each with its heading.
CHANGES = pl.Schema({"what": pl.String, "replaced": pl.UInt32, "filled": pl.UInt32, "example": pl.String})
SAYINGS = pl.Schema({"of": pl.String, "words": pl.String})


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
    before, after = (pl.col(name).str.strip_chars('"') for name in ("before", "after"))  # texts stand as JSON there
    arrow = pl.format("{}: {} \N{RIGHTWARDS ARROW} {}", "first_key", before, after.fill_null("empty"))
    return rows.select(_what(), "replaced", "filled", example=arrow)


@returns(SAYINGS)
def unread_in_words(result: Intake) -> pl.DataFrame:
    """Cells that say something and were not read, by column: such as, why, what to do. Schema `SAYINGS`."""
    lines = []
    for row in result.unread.cells.iter_rows(named=True):
        rule, such = rules()[row["rule"]], ", ".join(f"\u2018{e}\u2019" for e in row["examples"])
        words = f"{such}: {rule.words}. {rule.to_do}" if such else f"{_capital(rule.words)}. {rule.to_do}"
        lines.append((f"{column_words(row['record'], row['column'])}: {_count(row['cells'], 'cell')}", words))
    return _sayings(lines)


@returns(SAYINGS)
def problems_in_words(result: Intake) -> pl.DataFrame:
    """Rows refused, outside, to be answered and noted, by rule, with the first of each. Schema `SAYINGS`."""
    lines = []
    for row in by_rule(without_unread_cells(result.problems)).iter_rows(named=True):
        of = f"{_capital(LEVEL_WORDS[row['level']])}: {_count(row['rows'], 'row')}"
        what = column_words(row["record"], row["column"]) if row["column"] else ""
        value = f" \u2018{row['value']}\u2019" if row["value"] else ""
        where = f"first in row {row['first_row']}" + (f", {what}{value}" if what else "")
        lines.append((of, f"{_capital(row['words'])} ({where}). {row['to_do']}"))
    return _sayings(lines)


def _sayings(lines: Sequence[tuple[str, str]]) -> pl.DataFrame:
    """As text of a page, where nothing is marked as typed at a terminal."""
    return pl.DataFrame([(of, words.replace("`", "")) for of, words in lines], schema=SAYINGS, orient="row")


def _capital(words: str) -> str:
    return f"{words[:1].upper()}{words[1:]}"


def _count(number: int, noun: str) -> str:
    return f"{number:,} {noun if number == 1 else f'{noun}s'}"


def foreknown_sentence(result: Intake) -> str:
    """*36 rows: 30 would be new, 2 changed, 4 refused. Nothing is written yet.*"""
    none = " No row is new or changed: only rows that were not taken in would be put by, to correct."
    comes = int(result.files.select(pl.sum_horizontal(NEW, CHANGED)).sum().item())
    return f"{_counted(result.files, 'would be ')}. Nothing is written yet.{'' if comes else none}"


def done_sentence(name: str, result: Intake) -> str:
    """*catalogue.csv is brought in as D3. 36 rows: 30 new, 2 changed, 4 refused.* Where nothing was new, that."""
    number = result.written.delivery_id
    if number is None:
        return f"Nothing in {name} was new: the register stays as it was. {_counted(result.files)}."
    return f"{name} is brought in as {number}. {_counted(result.files)}."


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
    first, _, rest = ", ".join(listed).partition(" ")
    return f"{_count(int(files['rows'].sum()), 'row')}: {first} {verb}{rest}"


def _what() -> pl.Expr:
    """What a column of a record holds, in words."""
    return (
        pl.struct("record", "column")
        .map_elements(lambda pair: column_words(pair["record"], pair["column"]), return_dtype=pl.String)
        .alias("what")
    )
