"""Choosing for a row of the rates what the museum goes by: its starting value, or what its own checks have taught."""

from collections.abc import Mapping
from datetime import date
from typing import Any

import polars as pl

from collection.as_of import as_known
from collection.questions.learned_rates import KEY, basis_words, cell_words, rate_rows, years_words
from collection.risk.inspections import inspections
from collection.risk.rate_rows import LEARNED, YEARS
from collection.snapshot import Collection
from collection.store import Change, Store
from schemas.errors import NotFound, RegisterError, WrongUsage

STARTING = "starting"
CHOICES = (LEARNED, STARTING)
BETWEEN = "/"


def choose(
    store: Store, collection: Collection, row: Mapping[str, Any], chosen: str, *, by: str, why: str, today: date
) -> str:
    """Write which figures the museum goes by; returns what came of it in a sentence.

    Parameters
    ----------
    collection : cut to the day whose checks are meant. row : of schema RATE_ROWS, as the person saw it; a row that
        somebody else changed since is left as it is, and the answer says so.
    chosen : learned or starting.
    """
    if problem := missing(row, chosen, by=by, why=why):
        return problem
    change = Change({"own_rate": _own_rate(row, chosen, collection.day, by.strip(), why.strip(), today)})
    try:
        written = store.write(change, by=by.strip())
    except RegisterError as error:
        return f"Nothing was written. {error}"
    name = cell_words(str(row["cell"]))
    if written.conflicts.height:
        return f"Somebody else chose for {name} meanwhile; it was left as it is. Look again."
    return f"For {name} the register now goes by {_words(row, chosen)}."


def missing(row: Mapping[str, Any], chosen: str, *, by: str, why: str) -> str:
    """What is still to be said before it can be written; empty when all is said."""
    if chosen == LEARNED and row["years_likely"] is None:
        return f"The checks say nothing of {cell_words(str(row['cell']))} yet: there is nothing learned to choose."
    lacking = {"give your name": by.strip(), "say why": why.strip()}
    todo = [what for what, is_there in lacking.items() if not is_there]
    return f"First {' and '.join(todo)}." if todo else ""


def row_of(collection: Collection, cell: str) -> dict[str, Any]:
    """The row of schema RATE_ROWS of a cell. Raises NotFound where neither checks nor the museum say anything of it."""
    rows = rate_rows(collection, inspections(collection)).filter(pl.col("cell") == cell)
    if rows.is_empty():
        raise NotFound(
            "--choose", f"the checks say nothing of '{cell}'", "a row that `enamels rates` lists", "Name one."
        )
    return rows.row(0, named=True)


def choose_by_command(store: Store, day: date, cell: str, chosen: str, *, by: str, why: str, today: date) -> str:
    """The same for a cell by its name. Raises NotFound, WrongUsage."""
    if chosen not in CHOICES:
        raise WrongUsage("--choose", f"'{chosen}' is no choice", " or ".join(CHOICES), "Choose one of them.")
    known = as_known(store.read(), day)
    row = row_of(known, cell)
    if problem := missing(row, chosen, by=by, why=why):
        raise WrongUsage("--choose", problem.rstrip("."), "a name and a reason", "Give --by and --why.")
    return choose(store, known, row, chosen, by=by, why=why, today=today)


def _own_rate(row: Mapping[str, Any], chosen: str, day: date, by: str, why: str, today: date) -> pl.DataFrame:
    key = dict(zip(KEY, str(row["cell"]).split(BETWEEN), strict=True))
    learned = {name: row[name] for name in (*YEARS, "spread")} | {"basis": basis_words(row, day)}
    figures = learned if chosen == LEARNED else {}
    version = {} if row["version"] is None else {"row_version": row["version"]}
    noted = {"chosen": chosen, "set_by": by, "set_on": today, "why": why}
    return pl.DataFrame([key | figures | version | noted])


def _words(row: Mapping[str, Any], chosen: str) -> str:
    if chosen == STARTING:
        return f"the starting value, {row['starting']}: judgement, published by nobody"
    return f"what its own checks say: {years_words(*(row[name] for name in YEARS))}"


__all__ = ["CHOICES", "choose", "choose_by_command", "missing", "row_of"]
