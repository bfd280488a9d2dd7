"""The server starts isolated: nothing of the folder it is started in is run or read."""

import os
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request

import pytest

from collection.commands.dashboard import command
from dashboard import pages
from dashboard.pages import ALSO, HERE, imported_by, load_all

CONFIG = "[server]\nenableCORS = false\nenableXsrfProtection = false\n[client]\nshowErrorDetails = 'full'\n"


def test_nothing_in_the_working_folder_is_run_and_no_configuration_there_is_read(tmp_path):
    run = f"open({str(tmp_path / 'RUN')!r}, 'a').write('x')\nraise SystemExit\n"
    for name in (
        "polars.py",
        "dashboard/serve.py",
        "dashboard/__init__.py",
        "streamlit.py",
        "webbrowser.py",
        "socket.py",
    ):
        (tmp_path / name).parent.mkdir(exist_ok=True)
        (tmp_path / name).write_text(run)
    (tmp_path / ".streamlit").mkdir()
    (tmp_path / ".streamlit" / "config.toml").write_text(CONFIG)
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    environment = {**os.environ, "ENAMELS_STORE": str(tmp_path / "none.duckdb"), "STREAMLIT_SERVER_PORT": "1"}
    server = subprocess.Popen(command(port), cwd=tmp_path, env=environment, stderr=subprocess.PIPE)
    try:
        assert _status(f"http://127.0.0.1:{port}/_stcore/health") == 200
        assert _status(f"http://127.0.0.1:{port}/", Origin="http://localhost:1") == 403
        assert not (tmp_path / "RUN").exists()
    finally:
        server.terminate()
        server.wait(10)
        server.stderr.close()


def _status(url: str, **headers: str) -> int:
    for _ in range(600):
        try:
            with urllib.request.urlopen(urllib.request.Request(url, headers=headers), timeout=2) as answer:
                return answer.status
        except urllib.error.HTTPError as refused:
            return refused.code
        except OSError:
            time.sleep(0.05)
    pytest.fail("the server did not start")


def test_all_that_the_pages_import_is_known_before_anybody_asks():
    names = {name for page in pages.PAGES for name in imported_by(HERE / page.file)}

    assert {"streamlit", "dashboard.views.parts", "collection.questions.year_plan"} <= names
    load_all()
    assert names | set(ALSO) <= set(sys.modules)
