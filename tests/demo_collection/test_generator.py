"""The committed files are what the generator draws, to the byte."""

import ast
import subprocess
import sys
from pathlib import Path

import pytest

from demo_collection import manifest
from demo_collection.generator.tables import row
from demo_collection.generator.write_files import write_all

ROOT = Path(__file__).parents[2]
MOST_BYTES = 8_000_000


@pytest.fixture(scope="module")
def drawn(tmp_path_factory):
    folder = tmp_path_factory.mktemp("drawn") / "files"
    write_all(folder)
    return folder


def test_generating_gives_the_committed_bytes(drawn):
    names = sorted(p.name for p in drawn.iterdir())

    assert names == sorted(p.name for p in manifest.FILES.iterdir())
    assert [n for n in names if (drawn / n).read_bytes() != (manifest.FILES / n).read_bytes()] == []


def test_another_process_draws_the_same(drawn, tmp_path):
    done = subprocess.run(
        [sys.executable, "-m", "demo_collection.generator", tmp_path / "again"],
        cwd=ROOT,
        check=True,
        env={"PYTHONHASHSEED": "7"},
    )

    assert done.returncode == 0
    assert {p.name: p.read_bytes() for p in (tmp_path / "again").iterdir()} == {
        p.name: p.read_bytes() for p in drawn.iterdir()
    }


def test_nothing_is_written_into_a_folder_that_holds_something(tmp_path):
    (tmp_path / "mine.txt").write_text("mine")

    with pytest.raises(FileExistsError):
        write_all(tmp_path)
    assert [p.name for p in tmp_path.iterdir()] == ["mine.txt"]


def test_a_row_has_the_columns_of_its_record_and_no_other():
    assert row("option_effect", rate_left=0.1) == {"option_id": "", "hazard_id": "", "rate_left": 0.1}
    with pytest.raises(KeyError, match="colour"):
        row("option_effect", colour="blue")


def test_every_committed_file_is_delivered_once_and_all_are_small():
    delivered = [name for d in manifest.DELIVERIES for name in d.files] + list(manifest.CLIMATE_FILES)

    assert sorted(delivered) == sorted(p.name for p in manifest.FILES.iterdir())
    assert sum(p.stat().st_size for p in manifest.FILES.iterdir()) <= MOST_BYTES


def test_the_generator_imports_nothing_of_the_register():
    imported = {
        name.split(".")[0]
        for path in (Path(manifest.__file__).parent / "generator").glob("*.py")
        for node in ast.walk(ast.parse(path.read_text("utf-8")))
        for name in _names(node)
    }

    assert not imported & {"collection", "schemas", "dashboard"}


def _names(node: ast.AST) -> list[str]:
    if isinstance(node, ast.ImportFrom):
        return [node.module or ""]
    return [alias.name for alias in node.names] if isinstance(node, ast.Import) else []
