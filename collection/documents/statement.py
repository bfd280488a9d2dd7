"""The year in measures on one page, beside the year before, with what each measure is."""

from collections.abc import Mapping

import polars as pl

from collection.documents.cells import paragraphs
from collection.documents.document import Block, Document
from collection.documents.lists import document
from collection.documents.words import columns, say, text, title
from collection.questions.statement import sentence, two_years
from collection.questions.triage import Triage
from collection.questions.words import coverage_sentence


def statement_page(triage: Triage, year: int, now: pl.DataFrame, before: pl.DataFrame, frozen: str = "") -> Document:
    """The page of one year; now, before: schema STATEMENT of the year and of the year before it.

    frozen : a sentence on what of them is frozen.
    """
    rows = two_years(now, before)
    first = [sentence(triage, year, rows), frozen, coverage_sentence(triage.coverage()), triage.settings.invented]
    headings = (*columns("measure"), ("before", f"{year - 1}"), ("now", f"{year}"))
    blocks = [
        Block("text", "", paragraphs(first)),
        Block("table", "", tuple(_figures(row) for row in rows.iter_rows(named=True)), headings),
        Block("text", "", paragraphs([text("statement_limits")])),
        Block("table", title("measures"), tuple(_defined(row, now) for row in rows.iter_rows(named=True)),
              columns("measure", "is_defined", "version")),
    ]  # fmt: skip
    return document("", f"{title('statement')} {year}", triage.as_of, blocks)


def _figures(row: Mapping[str, str]) -> Mapping[str, str]:
    return {"measure": row["label"], "before": row["before"], "now": row["now"]}


def _defined(row: Mapping[str, str], now: pl.DataFrame) -> Mapping[str, str]:
    """What a measure is, by which version, and that it was another in the year before."""
    its = now.filter(measure=row["measure"]).row(0, named=True)
    version = say("version_and_change", version=its["definitions_version"], changed=row["changed"]).strip("; ")
    return {"measure": its["label"], "is_defined": f"{row['definition']}; {its['method']}", "version": version}
