"""Workbooks read in this process, by the same function that a process of its own runs: to start one takes half a second.

What the process and its limits are for is tested where they are kept (`tests/conftest.py` says where).
"""

import resource
import subprocess
import traceback
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from collection.intake.files import workbook_child


def read_here(patch: pytest.MonkeyPatch) -> None:
    """While the patch lasts, no process is started for a workbook, and no limit is set on this one."""
    in_place_of = SimpleNamespace(run=_run, TimeoutExpired=subprocess.TimeoutExpired)
    without_limits = SimpleNamespace(RLIMIT_AS=resource.RLIMIT_AS, setrlimit=lambda *_: None)
    patch.setattr("collection.intake.files.workbook.subprocess", in_place_of)
    patch.setattr("collection.intake.files.workbook_child.resource", without_limits)


def _run(command: list[str], **_: Any) -> subprocess.CompletedProcess[bytes]:
    _, script, source, folder, most_bytes = command
    assert script == workbook_child.__file__
    try:
        workbook_child.main(Path(source), Path(folder), int(most_bytes))
    except Exception:  # whatever ends the process
        return subprocess.CompletedProcess(command, 1, b"", traceback.format_exc().encode())
    return subprocess.CompletedProcess(command, 0, b"", b"")
