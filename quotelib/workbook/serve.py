"""How is the workbook opened from a shell: Voila serves it, code hidden, to this machine only."""

import os
import secrets
import socket
import webbrowser
from pathlib import Path
from typing import Any

import nbformat

from quotelib import resources
from quotelib.errors import InputError, Problem, any_of
from quotelib.workbook.widgets import FRONT

PORT = 8878
HOST = "127.0.0.1"
NOTEBOOK = "quote_one_customer"


def names() -> list[str]:
    """List the notebooks that can be opened."""
    return sorted(path.stem for path in resources.notebooks().glob("*.ipynb"))


def serve(name: str = NOTEBOOK, *, port: int = PORT, browser: bool = True) -> int:
    """Serve a notebook until somebody stops it.

    Parameters
    ----------
    name : str
        Of a notebook that ships with the package, without its ending.
    port : int
        The first one to try; a free one after it is taken where it is in use.
    browser : bool
        Whether to open a browser.

    Returns
    -------
    int
        Exit status.

    Raises
    ------
    InputError
        Where there is no such notebook.
    """
    notebook = resources.notebooks() / f"{name}.ipynb"
    if not notebook.is_file():
        right = f"use {any_of(names())}"
        raise InputError([Problem("notebook", None, "", name, "is not among ours", right)])
    from tornado.ioloop import IOLoop
    from voila.app import Voila

    search = [str(FRONT), os.environ.get("JUPYTER_PATH", "")]
    os.environ["JUPYTER_PATH"] = os.pathsep.join(filter(None, search))
    token = secrets.token_urlsafe(16)
    port = _free(port)
    address = f"http://{HOST}:{port}/?token={token}"
    app = Voila.instance()
    app.initialize(
        [
            str(notebook),
            f"--port={port}",
            f"--Voila.ip={HOST}",
            f"--token={token}",
            "--no-browser",
            "--Voila.port_retries=0",
            "--template=quotelib",
            # A page that went away without a word leaves a kernel: it ends after a while.
            "--MappingKernelManager.cull_idle_timeout=900",
            "--MappingKernelManager.cull_interval=120",
            "--show_tracebacks=True",
            "--Voila.log_level=40",
        ]
    )

    app.voila_configuration.prelaunch_hook = _here

    def ready() -> None:
        print(f"The workbook is at {address}", flush=True)
        print(f"Files go to {Path.cwd()}. Press Ctrl and C here to stop.", flush=True)
        if browser:
            webbrowser.open(address)

    IOLoop.current().add_callback(ready)  # runs once the server listens
    app.start()
    return 0


def _here(request: Any, notebook: Any, cwd: str) -> Any:
    """Let a notebook work in the current folder: its own may be one nobody can write to."""
    move = f"import os\n\nos.chdir({str(Path.cwd())!r})"
    notebook.cells.insert(0, nbformat.v4.new_code_cell(move))
    return notebook


def _free(port: int) -> int:
    for candidate in range(port, port + 50):
        with socket.socket() as probe:
            try:
                probe.bind((HOST, candidate))
            except OSError:
                continue
            return candidate
    return port
