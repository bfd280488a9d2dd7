"""Everything the pages import, loaded before anybody asks: two threads that import at once may see half a module."""

import ast
from collections.abc import Iterator
from importlib import import_module
from importlib.util import find_spec
from pathlib import Path

from dashboard.pages import PAGES

HERE = Path(__file__).parent
ALSO = ("pandas",)  # altair looks for it in what is loaded, and would see half of it while Streamlit loads it


def load_all() -> None:
    """Import what the frame and every page import."""
    for name in ALSO:
        import_module(name)
    for path in (HERE / "app.py", *(HERE / page.file for page in PAGES)):
        for name in imported_by(path):
            import_module(name)


def imported_by(path: Path) -> Iterator[str]:
    """Modules that a file imports at its top, modules named after `from` too."""
    for node in ast.parse(path.read_text("utf-8")).body:
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module:
            yield node.module
            parts = [f"{node.module}.{alias.name}" for alias in node.names]
            yield from (name for name in parts if hasattr(import_module(node.module), "__path__") and find_spec(name))
