"""`enamels estimates`: the options that nobody estimated hours for, as a workbook to fill and bring back."""

from pathlib import Path

import click

from collection import pipeline
from collection.commands.documents_out import write_workbook, written
from collection.commands.options import as_of_option, json_option, store_option
from collection.commands.output import Answer, emit
from collection.documents.sheet import workbook
from collection.questions.estimates import bias, bias_sentence, to_estimate, to_estimate_sentence
from collection.settings import as_of_day
from collection.store import Store
from schemas.records.care import Option


@click.command(epilog="Example: enamels estimates --out estimates.xlsx")
@click.option("--out", type=click.Path(path_type=Path, dir_okay=False), metavar="FILE.xlsx", help="Workbook to fill.")
@click.option("--replace", is_flag=True, help="Write over what an earlier run wrote.")
@as_of_option
@store_option
@json_option
def estimates(out: Path | None, replace: bool, as_of: str | None, store_path: Path, as_json: bool) -> None:
    """List options without hours, those to act on now first; with --out, write them to a workbook to fill.

    Filled, it is brought back by `enamels intake FILE.xlsx --as option`: empty cells change nothing.
    """
    triage = pipeline.assess_store(Store(store_path), lambda c: as_of_day(as_of, c))
    rows, past = to_estimate(triage), bias(triage)
    document = {"to_estimate": rows, "bias": past}
    words = to_estimate_sentence(triage, rows) or "Every open option has its hours."
    if out is not None and rows.height:
        answer = written(write_workbook(workbook(rows), out, replace=replace), words=words)
        back = f"Fill it, then: enamels intake {out.name} --as {Option.record}"
        emit(Answer(f"{answer.words}\n{back}", {**document, **answer.document}), as_json=as_json)
        return
    listed = [f"  {row['option_id']}: {row['name'] or ''}: {row['what'] or ''}" for row in rows.iter_rows(named=True)]
    emit(Answer("\n".join(filter(None, (words, *listed, bias_sentence(past)))), document), as_json=as_json)
