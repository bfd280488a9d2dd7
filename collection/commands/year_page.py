"""`enamels statement` and `trustees`: the year on one page, in measures or in three numbers."""

from datetime import date
from pathlib import Path

import click

from collection import pipeline
from collection.commands.documents_out import out_option, write_pdf, written
from collection.commands.options import as_of_option, by_option, json_option, require_named_store, store_option
from collection.commands.output import Answer, emit
from collection.documents.year_page import statement_page, trustees_page
from collection.learning.back_test import later_day
from collection.questions.estimate import Estimate
from collection.questions.statement import measures_in_words, sentence, two_years
from collection.questions.triage import Triage
from collection.recording.statements import YearlyStatement, freeze, yearly_statement
from collection.settings import as_of_day
from collection.store import Store
from schemas.errors import WrongUsage

FIRST_YEAR = 1


@click.command(
    epilog="Examples: enamels statement 2025; enamels statement 2025 --json; enamels statement 2025 --freeze"
)
@click.argument("year", type=int)
@out_option
@click.option("--freeze", "freezing", is_flag=True, help="Keep the figures of this year as they are now, for good.")
@by_option
@store_option
@json_option
def statement(year: int, out: Path, replace: bool, freezing: bool, by: str, store_path: Path, as_json: bool) -> None:
    """Write the year in measures that mean the same next year, beside the year before; with --freeze, keep it so."""
    if freezing:
        require_named_store(store_path)
    store = Store(store_path)
    _require_begun(store, year)
    its = yearly_statement(store, year)
    done = ""
    if freezing:
        done = freeze(store, its, by=by, today=as_of_day(None, store.read()))
        its = yearly_statement(store, year)
    rows = two_years(its.now, its.before)
    page = statement_page(its.triage, year, its.now, its.before, its.frozen)
    path = write_pdf(page, out / f"statement_{year}.pdf", replace=replace)
    lines = [f"{label}: {figures}" for label, figures in measures_in_words(rows)]
    words = "\n".join([*filter(None, (done, sentence(its.triage, year, rows), its.frozen)), *lines, f"  {path}"])
    emit(Answer(words, document(its, path) if as_json else {}), as_json=as_json)


def _require_begun(store: Store, year: int) -> None:
    """Raise WrongUsage for a year that has not begun, or that no calendar has."""
    today = as_of_day(None, store.read())
    if not FIRST_YEAR < year <= today.year:
        raise WrongUsage("YEAR", f"{year} has not begun", f"a year up to {today.year}", "Choose an earlier year.")


def document(its: YearlyStatement, path: Path) -> dict[str, object]:
    """The same for programs."""
    return {
        "year": its.year,
        "until": its.triage.as_of.isoformat(),
        "frozen": its.frozen,
        "files": [str(path)],
        "measures": [_measure(row) for row in its.now.to_dicts()],
        "year_before": [_measure(row) for row in its.before.to_dicts()],
        "defined_otherwise_before": [
            row["measure"] for row in two_years(its.now, its.before).to_dicts() if row["changed"]
        ],
    }


def _measure(row: dict[str, object]) -> dict[str, object]:
    figures: Estimate = {name: row[name] for name in ("value", "low", "high", "n", "method", "refused")}  # type: ignore[misc]
    named = ("measure", "label", "unit", "definition", "definitions_version")
    return {**{name: row[name] for name in named}, **figures}


@click.command(epilog="Example: enamels trustees --as-of 2026-09-30")
@out_option
@as_of_option
@store_option
@json_option
def trustees(out: Path, replace: bool, as_of: str | None, store_path: Path, as_json: bool) -> None:
    """Write one page for trustees: three numbers, one picture, what changed in a year."""
    store = Store(store_path)
    now = pipeline.assess_store(store, lambda c: as_of_day(as_of, c))
    document = trustees_page(now, _year_before(store, now.as_of))
    path = write_pdf(document, out / f"trustees_{now.as_of}.pdf", replace=replace)
    emit(written(path, words="One page for trustees."), as_json=as_json)


def _year_before(store: Store, day: date) -> Triage | None:
    """The collection as it was known a year before; None where nobody had checked anything then."""
    then = pipeline.assess_store(store, lambda _: later_day(day, -1))
    return then if then.coverage()["checked"] else None
