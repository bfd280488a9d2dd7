"""The glossary of DEVELOPERS.md and the code say the same: each word stands in the code, and none of the vague ones."""

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
CODE = [p for name in ("schemas", "collection", "dashboard", "demo_collection") for p in (ROOT / name).rglob("*.py")]
VAGUE = {"found", "kept", "said", "told", "made", "taken", "beside", "thing"}
# Columns of records, and words of the trade with one of those in them.
ALLOWED = {
    "made_at", "made_by", "made_on", "made_safe_on", "taken_on", "taken_by", "packing_as_found", "not_made_safe",
    "kept_apart", "not_found", "log_kept", "with_log_kept", "kept_width", "made_safe",
}  # fmt: skip


def assigned(path: Path) -> Iterator[tuple[int, str]]:
    """Names that a module gives: variables, arguments, functions, classes."""
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        if isinstance(node, ast.Name) and isinstance(node.ctx, ast.Store):
            yield node.lineno, node.id
        elif isinstance(node, ast.arg):
            yield node.lineno, node.arg
        elif isinstance(node, ast.FunctionDef | ast.ClassDef):
            yield node.lineno, node.name


@pytest.mark.parametrize("path", CODE, ids=lambda path: path.relative_to(ROOT).as_posix())
def test_no_name_is_a_word_that_says_nothing(path):
    names = [(line, name) for line, name in assigned(path) if name.strip("_").lower() not in ALLOWED]

    assert [(line, name) for line, name in names if VAGUE & set(name.lower().split("_"))] == []


def test_each_word_of_the_glossary_is_used_in_the_code():
    text = (ROOT / "DEVELOPERS.md").read_text("utf-8").split("## Glossary")[1].split("## Recipes")[0]
    words = [word.lower().replace(" ", "_") for word in re.findall(r"\*\*([\w ]+)\*\*", text)]
    code = "\n".join(path.read_text("utf-8") for path in CODE).lower()

    assert len(words) >= 15
    assert [word for word in words if word not in code] == []
