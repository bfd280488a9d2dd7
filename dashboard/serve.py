"""Starting the server: the collection is read and ranked while the browser is still finding its way here.

python -m dashboard.serve --server.port=8501 --server.address=127.0.0.1 ...   (options of `streamlit run`)
"""

import sys
import threading
from importlib import import_module
from pathlib import Path

from streamlit.logger import set_log_level
from streamlit.web import cli

from dashboard import data

APP = Path(__file__).with_name("app.py")
DRAWN_WITH = "dashboard.views.parts"  # by name: loading it takes as long as the server takes to listen


def main(options: list[str]) -> None:
    """Serve the pages until stopped."""
    set_log_level("ERROR")  # it warns of every thread that is no page, before it has read its options
    threading.Thread(target=_warm, daemon=True).start()
    cli.main(["run", str(APP), *options])


def _warm() -> None:
    """Read, rank, load what draws."""
    data.warm()
    import_module(DRAWN_WITH)


if __name__ == "__main__":
    main(sys.argv[1:])
