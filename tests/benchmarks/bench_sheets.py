"""Ordinary spreadsheets of museums, invented in 21 layouts: what of each fact comes in right, wrong, silent, and said.

python tests/benchmarks/bench_sheets.py [--show]

A fact is one value that a person reads in one row. *said*: it is not read, and the row is asked about or refused, its
heading is named as not used, or the sheet is. A question that the sheet leaves open (catalogue or checks, the meaning of
a house scale) is answered once, as a person would; that it was asked is counted.
"""

import sys
import tempfile
from collections import Counter
from datetime import date
from pathlib import Path
from typing import Any

import polars as pl
import xlsxwriter

from collection.intake.mapping.load import load as load_mapping
from collection.intake.opening import NoNumberHeaded, open_files
from collection.intake.pipeline import Examined, examine
from collection.snapshot import Collection
from schemas.errors import RegisterError
from tests.benchmarks.sheet_layouts import COLOURED, DAMAGE, OBJECT, ROWS, Fact, Layout, layouts, numbers

TODAY = date(2026, 11, 26)
OUTCOMES = ("right", "wrong", "silent and said", "silent and unsaid")


def written(folder: Path, layout: Layout) -> Path:
    """The layout as a workbook."""
    path = folder / "list.xlsx"
    with xlsxwriter.Workbook(path) as book:
        for name, rows in layout.sheets.items():
            sheet = book.add_worksheet(name)
            for line, row in enumerate(rows):
                for column, value in enumerate(row):
                    if value is COLOURED:
                        sheet.write_blank(line, column, None, book.add_format({"bg_color": "#e06666"}))
                    elif value is not None:
                        sheet.write(line, column, value)
    return path


def held() -> Collection:
    """A register that holds the objects a list of checks is about."""
    rows = pl.DataFrame({"object_id": numbers(), "title": ["x"] * ROWS})
    parts = rows.select("object_id", part=pl.lit("whole"))
    return Collection.of({"object": rows, "part": parts})


def read(layout: Layout, folder: Path) -> Examined | RegisterError:
    """The layout judged as intake judges it, questions answered as the layout says; or why it is refused."""
    known = held() if layout.record else Collection.of({})
    saved = {}
    if layout.mapping:
        (folder / "m.toml").write_text(layout.mapping, "utf-8")
        saved = load_mapping(folder / "m.toml")
    try:
        opened = open_files([written(folder, layout)], known, None, saved)
        return examine(opened.read_as(layout.record or OBJECT), known, by="benchmark", today=TODAY)
    except (NoNumberHeaded, RegisterError) as error:
        return error


def outcome(fact: Fact, got: Examined | RegisterError) -> str:
    """One of `OUTCOMES`."""
    if isinstance(got, RegisterError):
        return "silent and said"
    rows = got.change.rows.get(fact.record, pl.DataFrame())
    if "object_id" not in rows.columns or fact.column not in rows.columns:
        mine: list[Any] = []
    else:
        values = rows.filter(pl.col("object_id") == fact.object_id)[fact.column].to_list()
        mine = [v[-1] if isinstance(v, list) and v else v for v in values if v is not None]
    if fact.value in mine or (fact.value is None and not mine):
        return "right"
    if mine and fact.record != DAMAGE:
        return "wrong"
    return "silent and said" if said(fact, got) else "silent and unsaid"


def said(fact: Fact, got: Examined) -> bool:
    """Whether intake says that it did not read this: of the row, of its heading, or of the sheet."""
    unused = [h for names in got.answer.unread.headings.values() for h in names]
    if fact.heading in unused or got.answer.left_out:
        return True
    problems = got.answer.problems.filter(pl.col("level") != "note")
    return not problems.filter((pl.col("key") == fact.object_id) | (pl.col("value") == fact.object_id)).is_empty()


def main(show: bool) -> None:
    """Print the counts of each layout and of all."""
    total: Counter[str] = Counter()
    print(f"{'layout':<36}{'rows':>6}" + "".join(f"{name:>20}" for name in OUTCOMES))
    with tempfile.TemporaryDirectory() as place:
        for layout in layouts():
            got = read(layout, Path(place))
            counts = Counter(outcome(fact, got) for fact in layout.facts)
            total += counts
            rows = sum(len(sheet) - 1 for sheet in layout.sheets.values())
            print(f"{layout.name:<36}{rows:>6}" + "".join(f"{counts[name]:>20}" for name in OUTCOMES))
            if show:
                for fact in layout.facts:
                    if (result := outcome(fact, got)) != "right":
                        print(f"    {fact}: {result}")
    print(f"{'all':<42}" + "".join(f"{total[name]:>20}" for name in OUTCOMES))


if __name__ == "__main__":
    main("--show" in sys.argv)
