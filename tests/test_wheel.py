"""Installed from a wheel it works too: TOML, language files and demonstration ship inside."""

import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).parents[1]
RUN = """
import sys
sys.path[:] = [p for p in sys.path if p != {root!r}]
sys.path.insert(0, {folder!r})
sys.meta_path[:] = [f for f in sys.meta_path if "editable" not in type(f).__module__ + type(f).__name__.lower()]
from collection.commands.cli import run
code = run(sys.argv[1:])
import collection, schemas, demo_collection
assert all(m.__file__.startswith({folder!r}) for n, m in sys.modules.items()
           if n.split(".")[0] in ("collection", "schemas", "demo_collection", "dashboard") and getattr(m, "__file__", None))
sys.exit(code)
"""


@pytest.fixture(scope="module")
def installed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("wheel")
    subprocess.run(
        [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(folder)],
        cwd=ROOT,
        check=True,
        capture_output=True,
    )
    (wheel,) = folder.glob("*.whl")
    target = folder / "site"
    install = [
        sys.executable,
        "-m",
        "pip",
        "install",
        "--no-deps",
        "--no-index",
        "--quiet",
        "--no-compile",
        "--disable-pip-version-check",
        "--target",
        str(target),
        str(wheel),
    ]
    subprocess.run(install, check=True, capture_output=True)
    return target


def enamels(installed: Path, *arguments: str, folder: Path) -> "subprocess.CompletedProcess[str]":
    code = RUN.format(root=str(ROOT), folder=str(installed))
    environment = {k: v for k, v in os.environ.items() if k not in ("PYTHONPATH", "ENAMELS_STORE")}
    return subprocess.run(
        [sys.executable, "-c", code, *arguments],
        cwd=folder,
        env=environment,
        capture_output=True,
        text=True,
        check=False,
    )


def test_the_dictionary_prints(installed, tmp_path):
    done = enamels(installed, "dictionary", "--json", folder=tmp_path)

    assert done.returncode == 0, done.stderr
    assert "object" in json.loads(done.stdout)["records"]


@pytest.fixture(scope="module")
def demonstrated(installed: Path, tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, dict[str, Any]]:
    """The folder in which what was installed built its demonstration, and what it answered."""
    folder = tmp_path_factory.mktemp("demonstrated")
    done = enamels(installed, "demo", "--no-open", "--json", folder=folder)
    assert done.returncode == 0, done.stderr
    return folder, json.loads(done.stdout)


def test_the_demonstration_is_built_and_ranked(demonstrated):
    assert demonstrated[1]["coverage"]["checked"] > 0


PAGE = """
import os, sys
from pathlib import Path
code = 0
os.environ["ENAMELS_STORE"] = str(Path("enamels-demo/enamels.duckdb").resolve())
from streamlit.testing.v1 import AppTest
page = AppTest.from_file({folder!r} + "/dashboard/app.py", default_timeout=60).run()
assert not page.exception, page.exception
assert "need attention now" in " ".join(str(e.proto) for e in page.main), "the page does not answer"
assert (Path({folder!r}) / "dashboard/.streamlit/config.toml").is_file()
"""


def test_a_page_is_drawn(installed, demonstrated):
    code = RUN.replace("code = run(sys.argv[1:])\n", PAGE).format(root=str(ROOT), folder=str(installed))
    environment = {k: v for k, v in os.environ.items() if k not in ("PYTHONPATH", "ENAMELS_STORE")}
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=demonstrated[0], env=environment, capture_output=True, text=True, check=False
    )

    assert done.returncode == 0, done.stderr[-1500:]
