"""`enamels dashboard`: the pages, in a browser on this machine."""

import os
import socket
import subprocess
import sys
from pathlib import Path

import click

from collection.commands.options import store_option
from schemas.errors import WrongUsage

ADDRESS, PORT = "127.0.0.1", 8501
SERVER = "dashboard.serve"  # by name: nothing here may import it
BROWSE_AFTER_S = 2  # the server takes about that long to answer
# -P: nothing in the working folder is taken for a module of Python's or of ours.
PYTHON = (sys.executable, "-P")


@click.command(epilog="Example: enamels dashboard --store enamels-demo/enamels.duckdb")
@click.option("--port", type=click.IntRange(1, 65_535), default=PORT, show_default=True, help="Port on this machine.")
@store_option
def dashboard(port: int, store_path: Path) -> None:
    """Open the pages in a browser on this machine; nobody else can reach them. Stop with Ctrl+C."""
    start(port, store_path, browse=sys.stdout.isatty())


def start(port: int, store_path: Path, *, browse: bool) -> None:
    """Serve the pages in place of this process; `browse` also opens them in the browser of this machine.

    Raises WrongUsage where the port is taken.
    """
    _must_be_free(port)
    address = f"http://{ADDRESS}:{port}"
    click.echo(f"The pages are at {address} (stop with Ctrl+C).")
    if browse:
        later = f"import time, webbrowser; time.sleep({BROWSE_AFTER_S}); webbrowser.open({address!r})"
        subprocess.Popen([*PYTHON, "-c", later], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    sys.stdout.flush()
    started = command(port)
    # In place of this process, so that stopping it stops the pages.
    os.execve(started[0], started, {**os.environ, "ENAMELS_STORE": str(store_path.resolve())})


def _must_be_free(port: int) -> None:
    with socket.socket() as asked:
        if asked.connect_ex((ADDRESS, port)):
            return
    what, to_do = "something answers there already", "Look there: the pages may be open. Or choose another with --port."
    raise WrongUsage(f"http://{ADDRESS}:{port}", what, "a port nobody uses", to_do)


def command(port: int) -> list[str]:
    """What is started."""
    return [*PYTHON, "-m", SERVER, f"--port={port}"]
