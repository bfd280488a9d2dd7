"""Fixtures: stores, empty and of the demonstration; files written as a museum would; intake as the command does it."""

import gc
import shutil
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path

import polars as pl
import pytest
import xlsxwriter
from filelock import FileLock

from collection.commands import cli
from collection.frames import Checking
from collection.intake import pipeline as way_in
from collection.store import Change, Store
from collection.store.creation import create
from tests import demonstration as once
from tests.assessed_once import AssessedOnce
from tests.demonstration import TODAY
from tests.stores_attached import attach_stores
from tests.workbooks_here import read_here

Checking.on = True  # frames are held to their schemas while tests run
# Where an assertion in these fails, it says what differed, as in a test.
pytest.register_assert_rewrite(
    "tests.collection.store.deliveries", "tests.dashboard.filtered", "tests.dashboard.sights"
)


# Files that take longest begin first, so that neither worker is left alone with one at the end.
LONGEST = (
    "tests/browser/test_every_page.py", "tests/test_wheel.py", "tests/test_renaming.py", "tests/test_static.py",
    "tests/browser/", "tests/dashboard/test_address.py", "tests/dashboard/test_pages.py",
    "tests/dashboard/test_plan_page.py", "tests/dashboard/test_plan_accept_and_asides.py",
    "tests/demo_collection/test_demo_command.py", "tests/demo_collection/test_explained.py",
    "tests/collection/intake/test_hostile_workbooks.py", "tests/collection/store/", "tests/collection/risk/test_laws.py",
)  # fmt: skip


# Files of tests for which a store must come into being as a museum makes it, with a number of its own.
FROM_NOTHING = tuple(
    f"tests/collection/store/test_{name}.py"
    for name in (
        "backup", "faulty_stores", "full_and_read_only_disks", "kills", "migrations", "opening_old_stores", "processes",
        "restore",
    )
)  # fmt: skip


# Files of tests that have workbooks read as a museum has them read, each in a process of its own within limits.
OF_READERS = tuple(
    f"tests/collection/intake/test_{name}.py"
    for name in ("hostile_files", "hostile_workbooks", "cells_of_workbooks", "intake_command")
)


# Tests for which a store must be opened as a museum opens it.
OF_OPENING = ("tests/collection/store/", "tests/browser/", "tests/dashboard/test_while_written.py")


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    places = {item.path: _place(item.nodeid) for item in items}
    items.sort(key=lambda item: places[item.path])


def pytest_collection_finish() -> None:
    """What was imported to collect the tests stays to the end: it need not be searched for garbage again and again."""
    gc.collect()
    gc.freeze()


def _place(name: str) -> int:
    return next((n for n, start in enumerate(LONGEST) if name.startswith(start)), len(LONGEST))


@pytest.fixture(scope="session")
def empty_store(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An empty store, to be copied."""
    path = tmp_path_factory.mktemp("empty") / "enamels.duckdb"
    create(path)
    return path


@pytest.fixture(scope="module", autouse=True)
def new_stores(request: pytest.FixtureRequest, empty_store: Path) -> Iterator[None]:
    """A store that a test needs is a copy of an empty one; where the making itself is looked at, it is made anew."""

    def copied(path: Path) -> None:
        path.parent.mkdir(parents=True, exist_ok=True)
        shutil.copyfile(empty_store, path)

    with pytest.MonkeyPatch.context() as patch:
        if not request.path.as_posix().endswith(FROM_NOTHING):
            patch.setattr("collection.store.store.create", copied)
        yield


@pytest.fixture(scope="module", autouse=True)
def workbooks_here(request: pytest.FixtureRequest) -> Iterator[None]:
    """Workbooks are read in this process, where the process that reads them is not looked at."""
    with pytest.MonkeyPatch.context() as patch:
        if not request.path.as_posix().endswith(OF_READERS):
            read_here(patch)
        yield


@pytest.fixture(scope="module", autouse=True)
def stores_attached(request: pytest.FixtureRequest) -> Iterator[None]:
    """A store is attached to a DuckDB that runs already, where its opening is not looked at."""
    with pytest.MonkeyPatch.context() as patch:
        if not any(part in request.path.as_posix() for part in OF_OPENING):
            attach_stores(patch)
        yield


@pytest.fixture(scope="session")
def memory() -> AssessedOnce:
    return AssessedOnce()


@pytest.fixture
def assessed_once(memory: AssessedOnce, monkeypatch: pytest.MonkeyPatch) -> None:
    """Commands that ask of a store in a state that was asked about before are answered from memory."""
    monkeypatch.setattr("collection.pipeline.assess_store", memory.assess_store)


@pytest.fixture
def store(tmp_path: Path) -> Store:
    return Store(tmp_path / "enamels.duckdb")


@pytest.fixture(scope="session")
def built(tmp_path_factory: pytest.TempPathFactory, worker_id: str) -> once.Made:
    """The demonstration, made once whatever the number of workers; to be copied and never written to."""
    ours = tmp_path_factory.getbasetemp()
    folder = (ours if worker_id == "master" else ours.parent) / "enamels-demo"
    whole = folder.with_suffix(".whole")
    with FileLock(folder.with_suffix(".lock")):
        if not whole.exists():
            once.make(folder)
            whole.touch()
    return once.Made(folder)


@pytest.fixture(scope="session")
def demonstration(tmp_path_factory: pytest.TempPathFactory, built: once.Made) -> Store:
    """The store of the demonstration; each worker has its own copy."""
    copied = Store(tmp_path_factory.mktemp("demonstration") / "enamels.duckdb")
    shutil.copyfile(built.store.path, copied.path)
    return copied


@pytest.fixture
def enamels(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> Callable[..., tuple[int, str, str]]:
    """Run a command in a folder of its own; gives code, standard output and standard error."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("ENAMELS_STORE", str(tmp_path / "enamels.duckdb"))

    def run(*arguments: str) -> tuple[int, str, str]:
        code = cli.run(list(arguments))
        output = capsys.readouterr()
        return code, output.out, output.err

    return run


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


@pytest.fixture(scope="session")
def bring_into() -> Callable[..., way_in.Intake]:
    """Bring files into a store as `enamels intake --yes` does."""

    def bring(
        store: Store, *paths: Path, record: str | None = None, mapping: Path | None = None, dry_run: bool = False
    ) -> way_in.Intake:
        kept = way_in.held_or_empty(store)
        saved = way_in.load_mapping(mapping) if mapping else {}
        opened = way_in.open_files(paths, kept, record, saved)
        return way_in.intake(store, opened, kept, by="tester", today=TODAY, dry_run=dry_run, with_readings=True)

    return bring


@pytest.fixture
def bring_in(store: Store, bring_into: Callable[..., way_in.Intake]) -> Callable[..., way_in.Intake]:
    """Bring files into the store."""
    return partial(bring_into, store)


@pytest.fixture
def put(store: Store) -> Callable[..., None]:
    """Write rows straight into the store, as a form does."""

    def write(**rows: pl.DataFrame) -> None:
        store.write(Change(rows), by="tester")

    return write
