"""The README's two lines, the CI script that runs them, and the commands that the README names."""

import hashlib
import re
import shlex
import subprocess
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]


def set_up_lines() -> list[str]:
    return re.findall(r"^python3 -m venv .*$", (ROOT / "README.md").read_text("utf-8"), re.MULTILINE)


def test_there_are_exactly_two_set_up_lines_each_with_an_environment_of_its_own():
    demo, tests = set_up_lines()

    assert "enamels demo" in demo
    assert "-m pytest" in tests
    assert demo.split()[3] != tests.split()[3]


def test_ci_takes_the_lines_out_of_the_readme():
    script = (ROOT / ".ci" / "run").read_text("utf-8")

    assert "README.md" in script
    assert "enamels demo" not in script
    assert "-m pytest" not in script


def test_the_readme_opens_with_the_job_in_one_paragraph():
    title, first = (ROOT / "README.md").read_text("utf-8").split("\n\n")[:2]

    assert title.startswith("# ")
    assert "\n" not in first
    assert len(first) > 300


def test_commands_named_in_the_readme_exist():
    from collection.commands.cli import COMMANDS

    named = set(re.findall(r"enamels (\w+)", (ROOT / "README.md").read_text("utf-8"))) - {"duckdb"}

    assert named <= set(COMMANDS), named - set(COMMANDS)


def reading_commands() -> list[str]:
    """The commands that the README names after the demonstration, but for the one that opens the pages."""
    block = (ROOT / "README.md").read_text("utf-8").split("the commands that only read use it")[1].split("```")[1]
    lines = [line.split("#")[0].split("enamels ", 1)[1].strip() for line in block.splitlines() if "enamels " in line]
    return [line for line in lines if not line.startswith("dashboard")]


@pytest.mark.usefixtures("assessed_once")
@pytest.mark.parametrize("line", reading_commands())
def test_what_the_readme_names_after_the_demonstration_works_as_it_stands(line, demonstration, monkeypatch, enamels):
    before = hashlib.sha256(demonstration.path.read_bytes()).hexdigest()
    monkeypatch.setenv("ENAMELS_STORE", str(demonstration.path))
    code, out, err = enamels(*shlex.split(line))

    assert (code, err) == (0, "")
    assert out.strip()
    assert hashlib.sha256(demonstration.path.read_bytes()).hexdigest() == before


def test_every_relative_link_of_the_pages_exists():
    for page in ("README.md", "DEVELOPERS.md", "demo_collection/README.md"):
        text = (ROOT / page).read_text("utf-8")
        for target in re.findall(r"\]\((?!https?:)([^)#]+)\)", text):
            assert (ROOT / page).parent.joinpath(target).exists(), f"{page}: {target}"


def test_the_files_developers_are_sent_to_exist():
    text = (ROOT / "DEVELOPERS.md").read_text("utf-8")
    named = set(re.findall(r"`((?:collection|schemas|tests|dashboard|demo_collection)/[\w/]+\.(?:py|toml))`", text))

    assert {n for n in named if not (ROOT / n).exists()} == set()


def test_git_sees_no_leftovers():
    listed = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=False).stdout.split()

    assert [
        n for n in listed if n.endswith((".duckdb", ".pyc", ".xlsx")) and not n.startswith("demo_collection/files")
    ] == []
