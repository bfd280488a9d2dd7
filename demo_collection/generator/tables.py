"""Reads the static tables of the generator in `tables/`: CSV, and TOML where a table is a tree."""

import csv
from collections.abc import Callable, Mapping
from functools import cache
from operator import attrgetter
from pathlib import Path
from typing import Any

import tomli

Row = dict[str, Any]
TABLES = Path(__file__).parent / "tables"
COPIED = TABLES / "copied"  # files of the demonstration that hold nothing drawn


def table(name: str, **types: Callable[[str], Any]) -> list[Row]:
    """Rows of a CSV table. `types`: column to what its cells are read with; other cells and empty ones stay text."""
    with (TABLES / f"{name}.csv").open(encoding="utf-8", newline="") as handle:
        return [{c: types[c](v) if v and c in types else v for c, v in line.items()} for line in csv.DictReader(handle)]


def grouped(name: str, key: str, **types: Callable[[str], Any]) -> dict[str, list[Row]]:
    """Rows of a CSV table by the value of one column."""
    groups: dict[str, list[Row]] = {}
    for line in table(name, **types):
        groups.setdefault(line[key], []).append(line)
    return groups


def keyed(name: str, key: str, **types: Callable[[str], Any]) -> dict[str, Row]:
    """Rows of a CSV table by a column in which no value occurs twice."""
    return {line[key]: line for line in table(name, **types)}


def words(cell: str) -> list[str]:
    """The values of a cell that holds several."""
    return cell.split(";") if cell else []


@cache
def tree(name: str) -> Mapping[str, Any]:
    """A TOML table."""
    return tomli.loads((TABLES / f"{name}.toml").read_text("utf-8"))


def rates() -> Mapping[str, Any]:
    """The known rates from which all histories are drawn."""
    return tree("true_rates")


def sorts() -> Mapping[str, Any]:
    """Sorts of objects."""
    return tree("sorts")["sort"]


@cache
def _columns() -> Mapping[str, Row]:
    return {
        record: {line["column"]: line["usual_value"] for line in lines}
        for record, lines in grouped("columns", "record").items()
    }


def row(record: str, values: Row | None = None, of: object = None, **more: Any) -> Row:
    """A row with all columns of its record in order; a column that is not given has its usual value.

    A usual value `=name` is the attribute `name` of the object that the row is of.
    """
    columns, given = _columns()[record], {**(values or {}), **more}
    if unknown := given.keys() - columns.keys():
        raise KeyError(f"{record} has no {sorted(unknown)}")
    return {column: given[column] if column in given else _usual(cell, of) for column, cell in columns.items()}


def _usual(cell: str, of: object) -> Any:
    value = attrgetter(cell[1:])(of) if cell.startswith("=") else cell
    return "" if value is None else value
