"""Fixtures: a store in a folder of its own, files written as a museum would, intake as the command does it."""

from collections.abc import Callable
from datetime import date
from pathlib import Path

import polars as pl
import pytest
import xlsxwriter

from collection.intake import path as way_in
from collection.store import Change, Store

TODAY = date(2026, 9, 30)


@pytest.fixture
def store(tmp_path: Path) -> Store:
    return Store(tmp_path / "enamels.duckdb")


@pytest.fixture
def write_csv(tmp_path: Path) -> Callable[..., Path]:
    def write(name: str, *lines: str, encoding: str = "utf-8") -> Path:
        path = tmp_path / name
        path.write_bytes("\n".join(lines).encode(encoding))
        return path

    return write


@pytest.fixture
def write_xlsx(tmp_path: Path) -> Callable[..., Path]:
    def write(name: str, **sheets: list[list[object]]) -> Path:
        path = tmp_path / name
        with xlsxwriter.Workbook(path) as book:
            for title, rows in sheets.items():
                sheet = book.add_worksheet(title)
                for line, row in enumerate(rows):
                    for column, value in enumerate(row):
                        if value is not None:
                            sheet.write(line, column, value)
        return path

    return write


@pytest.fixture
def bring_in(store: Store) -> Callable[..., way_in.Intake]:
    """Bring files in as `enamels intake --yes` does."""

    def bring(
        *paths: Path, record: str | None = None, mapping: Path | None = None, dry_run: bool = False
    ) -> way_in.Intake:
        kept = way_in.kept_or_empty(store)
        saved = way_in.load_mapping(mapping) if mapping else {}
        opened = way_in.open_files(paths, kept, record, saved)
        return way_in.intake(store, opened, kept, by="tester", today=TODAY, dry_run=dry_run, with_readings=True)

    return bring


@pytest.fixture
def put(store: Store) -> Callable[..., None]:
    """Write rows straight into the store, as a form does."""

    def write(**rows: pl.DataFrame) -> None:
        store.write(Change(rows), by="tester")

    return write
