"""Lint, layout and types, so that `pytest` is the one command."""

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
TOP_LEVEL = {
    "README.md",
    "DEVELOPERS.md",
    "pyproject.toml",
    "collection",
    "dashboard",
    "schemas",
    "tests",
    "demo_collection",
}


@pytest.mark.parametrize(
    "command", [["ruff", "check", "."], ["ruff", "format", "--check", "."], ["mypy"]], ids=" ".join
)
def test_the_tools_have_nothing_to_say(command):
    done = subprocess.run([sys.executable, "-m", *command], cwd=ROOT, capture_output=True, text=True, check=False)

    assert done.returncode == 0, done.stdout + done.stderr


def test_the_top_level_holds_what_it_should_and_nothing_else():
    listed = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=False)
    if listed.returncode:
        pytest.skip("not a git checkout")  # an unpacked archive has no list of files
    found = {line.split("/")[0] for line in listed.stdout.splitlines()}

    assert {name for name in found if not name.startswith(".")} <= TOP_LEVEL


def test_no_registry_address_and_no_lock_file():
    for path in [ROOT / "pyproject.toml", ROOT / "README.md", ROOT / "DEVELOPERS.md", ROOT / ".ci" / "run"]:
        assert "pypi" not in path.read_text("utf-8").lower()
    assert not list(ROOT.glob("*.lock"))
