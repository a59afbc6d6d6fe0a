"""How is the workbook opened from a shell: Voila serves it, code hidden, to this machine only."""

import ast
import os
import secrets
import socket
import tempfile
import webbrowser
from collections.abc import Mapping
from contextlib import suppress
from functools import partial
from pathlib import Path
from typing import Any

import nbformat

from quotelib import resources
from quotelib.catalogue.price_list import load_price_list
from quotelib.documents.quoting import read_date
from quotelib.errors import InputError, Problem
from quotelib.text import either
from quotelib.workbook.widgets import FRONT

HOST = "127.0.0.1"
_OPTIONS = (
    "--no-browser",
    "--Voila.port_retries=0",
    "--template=quotelib",
    # A page that went away without a word leaves a kernel: it ends after a while.
    "--MappingKernelManager.cull_idle_timeout=900",
    "--MappingKernelManager.cull_interval=120",
    "--show_tracebacks=True",
    "--Voila.log_level=40",
)


def serve(name: str, *, prices: str, date: str, out: Path | None, port: int, browser: bool) -> int:
    """Serve a notebook of ours, named without its ending, until stopped; give the exit status.

    `prices` (the starter list) and `date` (today) may be blank; `out` is made where it is missing,
    the current folder where None; where `port` is in use, a free one after it is taken. Raises
    InputError where there is no such notebook, it does not take what is given, or that cannot be
    used; OSError where `out` cannot be written.
    """
    notebook = resources.notebooks() / f"{name}.ipynb"
    if not notebook.is_file():
        right = f"use {either(resources.notebook_names())}"
        raise InputError([Problem("notebook", None, "", name, "is not among ours", right)])
    given = _checked(name, notebook, prices, date)
    folder = (out or Path.cwd()).resolve()
    folder.mkdir(parents=True, exist_ok=True)
    tempfile.TemporaryFile(dir=folder).close()  # or else it cannot be written to
    from tornado.ioloop import IOLoop
    from voila.app import Voila

    search = [str(FRONT), os.environ.get("JUPYTER_PATH", "")]
    os.environ["JUPYTER_PATH"] = os.pathsep.join(filter(None, search))
    token = secrets.token_urlsafe(16)
    port = _free(port)
    address = f"http://{HOST}:{port}/?token={token}"
    app = Voila.instance()
    here = (f"--port={port}", f"--Voila.ip={HOST}", f"--token={token}")
    app.initialize([str(notebook), *here, *_OPTIONS])
    app.voila_configuration.prelaunch_hook = partial(_prepared, given, folder)

    def ready() -> None:
        print(f"The workbook is at {address}", flush=True)
        print(f"Files go to {folder}. Press Ctrl and C here to stop.", flush=True)
        if browser:
            webbrowser.open(address)

    IOLoop.current().add_callback(ready)  # runs once the server listens
    app.start()
    return 0


def _checked(name: str, notebook: Path, prices: str, date: str) -> dict[str, str]:
    """Check what a notebook shall be given; give it by the notebook's own names."""
    given = {"prices": str(Path(prices).resolve()) if prices else "", "date": date.strip()}
    given = {parameter: value for parameter, value in given.items() if value}
    cells = nbformat.read(notebook, as_version=4).cells
    takes = {key for cell in filter(_tagged, cells) for key in _assigned(cell.source)}
    if wrong := [parameter for parameter in given if parameter not in takes]:
        why = f"takes no {either(wrong)}"
        raise InputError([Problem("notebook", None, "", name, why, "leave that out")])
    read_date(date)
    if prices:
        load_price_list(prices)
    return given


def _prepared(given: Mapping[str, str], folder: Path, request: Any, notebook: Any, cwd: str) -> Any:
    """Give a notebook its parameters, and let it work in a folder that can be written to."""
    for cell in filter(_tagged, notebook.cells):
        cell.source = with_parameters(cell.source, given)
    move = f"import os\n\nos.chdir({str(folder)!r})"
    notebook.cells.insert(0, nbformat.v4.new_code_cell(move))
    return notebook


def _tagged(cell: Any) -> bool:
    return "parameters" in cell.metadata.get("tags", ())


def _assigned(source: str) -> dict[str, ast.Assign]:
    """Find the plain names that a cell gives a text, each with the statement that does."""
    return {
        node.targets[0].id: node
        for node in ast.parse(source).body
        if isinstance(node, ast.Assign)
        and isinstance(node.targets[0], ast.Name)
        and isinstance(node.value, ast.Constant)
        and isinstance(node.value.value, str)
    }


def with_parameters(source: str, given: Mapping[str, str]) -> str:
    """Put values in the place of the texts that a cell gives its parameters, by their names."""
    lines = source.splitlines()
    for name, node in _assigned(source).items():
        if name in given:
            first, last = node.lineno - 1, node.end_lineno or node.lineno
            lines[first:last] = [f"{name} = {given[name]!r}", *[""] * (last - first - 1)]
    return "\n".join(lines)


def _free(port: int) -> int:
    for candidate in range(port, port + 50):
        with socket.socket() as probe, suppress(OSError):
            probe.bind((HOST, candidate))
            return candidate
    return port
