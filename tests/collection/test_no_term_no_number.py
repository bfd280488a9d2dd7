"""Code names no term of a vocabulary and no number of a rule: a walk over the syntax trees.

`RULED` lists the folders that hold rules; more are added as they land.
"""

import ast
from collections.abc import Collection, Iterator
from pathlib import Path

import pytest

from schemas.tables import RECORDS
from schemas.vocabularies import vocabularies

ROOT = Path(__file__).parents[2] / "collection"
RULED = ("risk", "attention", "questions", "learning")  # to be joined by plan, trends, survey, climate
# Columns of frames and words of a sentence, spelt like a term.
NO_TERMS_HERE = {
    "spells.py": {"cross", "loss"},  # how Polars joins; column
    "air.py": {"cross", "refused"},  # how Polars joins; column of NEEDS
    "air_of_place.py": {"low", "refused", "temperature"},  # columns of FIGURES; the quantity
    "mending.py": {"open"},  # column of place options
    "rooms.py": {"refused"},  # column of NEEDS
    "wrong_place.py": {"temperature"},  # begins names of columns
    "check_value.py": {"room"},  # column of WAITING
    "condition.py": {"active"},
    "draws.py": {"stable"},  # a way to sort
    "expectation.py": {"loss", "room"},  # columns of LOOKED
    "extent.py": {"likely", "low"},  # endings of columns
    "first_checks.py": {"arrival", "loss"},  # columns of INSPECTED
    "classify.py": {"loss"},  # column of REASON
    "handling.py": {"promised"},  # column of loans_ahead
    "intervals.py": {"made_safe"},  # rule of interval_months.toml, and its column
    "rules.py": {"loss", "made_safe", "supported"},  # column of REASON; reasons of first_step.toml
    "placed.py": {"room"},  # column
    "plan_followed.py": {"done"},  # column of FOLLOWED
    "sensitivity.py": {"loss"},  # column
    "deliveries.py": {"unchanged", "refused"},  # outcomes of rows
    "agreement.py": {"low", "refused"},  # of a figure
    "survey_plan.py": {"room"},  # column
    "surveys.py": {"failing", "failed", "harmful", "done", "not_seen", "low", "refused"},  # flags; columns
    "where_lost.py": {"loss", "not_checked"},  # columns: what a cause takes; what nobody has checked
    "triage.py": {"not_checked"},
    "unchecked.py": {"arrival", "loss", "room"},
    "unchecked_interval.py": {"loss", "room"},  # columns of CHECKED
    "words.py": {"not_checked"},
    "work_ahead.py": {"low"},  # column
    "object_record.py": {"yes"},
    "not_yet_checked.py": {"loss", "remark", "room"},  # columns of CHECKED
    "selection.py": {"yes", "no"},
    "learned_rates.py": {"own"},
    "changed_since.py": {"moved"},  # columns of CHANGED
    "damage_over_time.py": {"low", "room"},  # columns
    "estimate.py": {"low", "refused"},  # keys of an estimate
    "grades_over_time.py": {"low"},  # column of EXAMINERS
    "over_time.py": {"pair"},  # a noun in a sentence
    "repairs_last.py": {"low", "observed"},  # columns of CURVES
    "growth.py": {"low"},  # column of GROWTH
    "statement.py": {"failed", "low", "refused"},  # columns of FAILURES and STATEMENT
    "stories_over_time.py": {"low", "room"},  # columns of STORIES
}
# Counts, and constants of units and mathematics; other numbers stand under one of these names, and judge nothing.
ALLOWED = {0, 1, -1, 2, 10, 12, 52, 100, 365.25}
NAMED = {
    "FIGURES_COMPARED": "significant figures after which sums differ between engines",
    "DECIMALS": "rounding of running sums",
    "LEAST_PERCENT": "the least that words tell",
    "SMALL": "where a series takes over",
    "LOG_TERMS": "terms of a series",
    "EXP_TERMS": "terms of a series",
    "NEARLY_ALL": "the largest double below 1",
    "LIMIT_90": "normal deviate of the 95th percentile",
    "WIDEST_Z": "ends of an integral",
    "LEAST_CONTRIBUTION": "contributions below it share a line",
    "NODES": "of a sum in place of an integral",
    "FINER": "steps between nodes of a sum",
    "WIDEST": "where nothing is left of an integral",
    "CELLS_AT_ONCE": "bounds memory",
    "BLOCK": "bounds memory",
    "DRAWS": "how many draws two figures need",
    "QUANTILES": "limits of 90 % of the draws, and their middle",
    "KEY_BYTES": "of a generator of random numbers",
    "LEAST": "keeps a logarithm or a quotient finite",
    "POINTS": "of a grid",
    "REACH": "of a grid, in standard deviations",
    "BETAS": "points of a grid",
    "HALF": "middle of the step of a rank",
    "PHI_SCALE": "of a series for the normal distribution",
    "PHI_TERMS": "terms of a series",
}
# Words that are both a term and something else: names of columns and records, how Polars joins, at-risk functions,
# a property of a term.
WORDS = {"left", "edge", "line", "area", "piece", "grown", "organic"}
COLUMNS = {*RECORDS, *(name for spec in RECORDS.values() for name in spec.schema())}
TERMS = {term for its in vocabularies().values() for term in its.term} - COLUMNS - WORDS

MODULES = [path for folder in RULED for path in sorted((ROOT / folder).rglob("*.py"))]


def constants(path: Path, named: Collection[str] = ()) -> Iterator[ast.Constant]:
    tree = ast.parse(path.read_text("utf-8"))
    tree.body = [node for node in tree.body if not (isinstance(node, ast.Assign) and _name(node) in named)]
    docs = {id(node.body[0].value) for node in ast.walk(tree) if _documented(node)}
    yield from (node for node in ast.walk(tree) if isinstance(node, ast.Constant) and id(node) not in docs)


def _name(node: ast.Assign) -> str:
    return node.targets[0].id if isinstance(node.targets[0], ast.Name) else ""


def _documented(node: ast.AST) -> bool:
    body = getattr(node, "body", None)
    return isinstance(body, list) and bool(body) and isinstance(body[0], ast.Expr)


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(ROOT)))
def test_no_number_but_the_few_that_are_no_judgement(path):
    found = [
        (node.lineno, node.value)
        for node in constants(path, NAMED)
        if type(node.value) in (int, float, complex) and node.value not in ALLOWED
    ]

    assert not found


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(ROOT)))
def test_no_text_is_a_term(path):
    found = [
        (node.lineno, node.value)
        for node in constants(path)
        if isinstance(node.value, str) and node.value in TERMS - NO_TERMS_HERE.get(path.name, set())
    ]

    assert not found


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(ROOT)))
def test_risk_imports_no_engine_and_touches_no_file(path):
    tree = ast.parse(path.read_text("utf-8"))
    names = {alias.name for node in ast.walk(tree) if isinstance(node, ast.Import) for alias in node.names}
    names |= {str(node.module) for node in ast.walk(tree) if isinstance(node, ast.ImportFrom)}

    assert not {n for n in names if n.split(".")[0] in {"duckdb", "pathlib", "os"} or n.startswith("collection.store")}
