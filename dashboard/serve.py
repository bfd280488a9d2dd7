"""Starting the server: isolated from the folder it is started in, answering only to itself, warm when asked.

python -P -m dashboard.serve --port=8501   (ENAMELS_STORE names the store, with its whole path)
"""

import argparse
import os
import threading
from pathlib import Path

HERE = Path(__file__).parent
ADDRESS = "127.0.0.1"
NAMES = (ADDRESS, "localhost")
CONFIG = {
    "server.address": ADDRESS,
    "server.headless": True,
    "server.fileWatcherType": "none",
    "server.enableCORS": True,
    "server.enableXsrfProtection": True,
    "server.enableStaticServing": False,
    "browser.gatherUsageStats": False,
    "client.showErrorDetails": "none",
    "client.toolbarMode": "minimal",
    "client.disableDataExport": True,
    "client.showSidebarNavigation": False,
    "logger.hideWelcomeMessage": True,  # the command has said where the pages are
    "logger.level": "error",
    "runner.magicEnabled": False,
    "runner.postScriptGC": False,  # it kept the end of each page back for longer than the page takes
}


def main() -> None:
    """Serve the pages until stopped."""
    parser = argparse.ArgumentParser(prog="dashboard.serve")
    parser.add_argument("--port", type=int, required=True)
    port = parser.parse_args().port
    _isolate()
    _serve(port)


def _isolate() -> None:
    """No configuration but ours: not of the working folder, not of the environment."""
    os.chdir(HERE)
    for name in [name for name in os.environ if name.startswith("STREAMLIT_")]:
        del os.environ[name]


def _serve(port: int) -> None:
    """Streamlit behind the gate; reading and ranking begin at once."""
    import streamlit
    from starlette.middleware import Middleware
    from streamlit.logger import set_log_level

    from dashboard.gate import Gate
    from dashboard.pages import PAGES, START, load_all

    set_log_level("ERROR")  # it warns of every thread that is no page, before it has read its options
    load_all()
    threading.Thread(target=_warm, daemon=True).start()
    hosts = [f"{name}:{port}" for name in NAMES]
    others = [page.address for page in PAGES if page is not START]
    gate = Middleware(Gate, hosts=hosts, start=START.address, pages=others)
    app = streamlit.App(HERE / "app.py", middleware=[gate])
    app.run(config={**CONFIG, "server.port": port, "browser.serverPort": port})


def _warm() -> None:
    """Read and rank."""
    from dashboard import data

    data.warm()


if __name__ == "__main__":
    main()
