"""Who may import whom (the architecture as a test): a walk over the syntax trees names file, line and rule."""

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
OURS = ("schemas", "collection", "dashboard", "demo_collection")
# Folder or file: what it must not import.
FORBIDDEN = {
    "schemas": ("collection", "dashboard", "demo_collection"),
    "collection": ("dashboard",),
    "collection/risk": ("collection.store", "collection.intake", "collection.commands"),
    "collection/questions": ("collection.store", "collection.intake", "collection.commands"),
    "collection/validation": ("collection.intake", "collection.store", "collection.commands", "collection.recording"),
    "dashboard/charts": ("streamlit", "collection.store"),
}
# Library: where alone it may be imported.
ONLY = {
    "duckdb": ("collection/store/",),
    "streamlit": (
        "dashboard/app.py",
        "dashboard/data.py",
        "dashboard/serve.py",
        "dashboard/filters.py",
        "dashboard/views/",
    ),
    "altair": ("dashboard/theme.py", "dashboard/charts/"),
    "click": ("collection/commands/",),
    "xlsxwriter": (
        "collection/documents/sheet.py",
        "collection/intake/files/refused_workbook.py",
        "collection/store/workbook.py",
        "demo_collection/",
    ),
    "typst": ("collection/documents/",),
    "PIL": ("collection/documents/",),
    "pypdf": ("collection/documents/",),
    "fastexcel": ("collection/intake/files/workbook_child.py",),
}
# The two edges where any error becomes a sentence.
EDGES = {"collection/commands/cli.py", "dashboard/app.py"}
MODULES = [p for name in OURS for p in sorted((ROOT / name).rglob("*.py"))]
TESTS = sorted((ROOT / "tests").rglob("*.py"))
LONGEST_MODULE, LONGEST_FUNCTION = 250, 30


def place(path: Path) -> str:
    return path.relative_to(ROOT).as_posix()


def imports(path: Path) -> Iterator[tuple[int, str]]:
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        if isinstance(node, ast.Import):
            yield from ((node.lineno, alias.name) for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module:
            yield from ((node.lineno, f"{node.module}.{alias.name}") for alias in node.names)


@pytest.mark.parametrize("path", MODULES, ids=place)
def test_imports_run_one_way(path):
    wrong = [
        f"{place(path)}:{line} imports {name}: {folder} must not"
        for folder, names in FORBIDDEN.items()
        if place(path).startswith(folder)
        for line, name in imports(path)
        for forbidden in names
        if name == forbidden or name.startswith(f"{forbidden}.")
    ]

    assert wrong == []


@pytest.mark.parametrize("path", MODULES, ids=place)
def test_a_library_is_imported_where_it_belongs(path):
    wrong = [
        f"{place(path)}:{line} imports {name}"
        for line, name in imports(path)
        if (allowed := ONLY.get(name.split(".")[0])) and not place(path).startswith(allowed)
    ]

    assert wrong == []


@pytest.mark.parametrize("path", MODULES, ids=place)
def test_nothing_is_caught_broadly_but_at_the_edges(path):
    broad = [
        node.lineno
        for node in ast.walk(ast.parse(path.read_text("utf-8")))
        if isinstance(node, ast.ExceptHandler)
        and (node.type is None or (isinstance(node.type, ast.Name) and node.type.id in ("Exception", "BaseException")))
        and not any(
            isinstance(inner, ast.Raise) and inner.exc is None for inner in node.body
        )  # caught to tidy, raised on
    ]

    assert broad == [] or place(path) in EDGES


@pytest.mark.parametrize("path", MODULES, ids=place)
def test_modules_and_functions_stay_small(path):
    text = path.read_text("utf-8")
    long = [
        (node.name, node.end_lineno - node.lineno + 1)
        for node in ast.walk(ast.parse(text))
        if isinstance(node, ast.FunctionDef)
        and node.end_lineno
        and node.end_lineno - node.lineno + 1 > LONGEST_FUNCTION
    ]

    assert text.count("\n") <= LONGEST_MODULE
    assert long == []


def test_modules_of_tests_and_benchmarks_stay_small():
    """Functions among them may be longer than those of the product: a case is told in one piece."""
    long = [f"{place(p)} ({lines})" for p in TESTS if (lines := p.read_text("utf-8").count("\n")) > LONGEST_MODULE]

    assert not long, f"at most {LONGEST_MODULE} lines: {', '.join(long)}"


def test_no_utils():
    assert [place(p) for p in MODULES if p.stem in ("utils", "util", "helpers", "common", "misc")] == []
