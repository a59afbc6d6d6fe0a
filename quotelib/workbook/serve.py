"""How is the workbook opened from a shell: Voila serves it, code hidden, to this machine only."""

import os
import secrets
import tempfile
import webbrowser
from collections.abc import Mapping
from functools import partial
from pathlib import Path
from typing import Any

import nbformat
from jupyter_core.paths import jupyter_config_path
from papermill.inspection import inspect_notebook
from papermill.iorw import load_notebook_node
from papermill.parameterize import parameterize_notebook

from quotelib import resources
from quotelib.catalogue.price_list import load_price_list
from quotelib.documents.quoting import read_date
from quotelib.errors import InputError, Problem, one_line
from quotelib.text import either
from quotelib.workbook.as_page import as_page
from quotelib.workbook.library import make_for_kernels
from quotelib.workbook.private import kernel_options, redirect_file
from quotelib.workbook.widgets import FRONT

HOST = "127.0.0.1"
_OPTIONS = (
    "--no-browser",
    "--template=quotelib",
    # A page that went away without a word leaves a kernel: it ends after a while.
    "--MappingKernelManager.cull_idle_timeout=900",
    "--MappingKernelManager.cull_interval=120",
    "--show_tracebacks=True",
    "--Voila.log_level=40",
)


def serve(
    name: str,
    prices: str,
    date: str,
    out: Path | None,
    port: int,
    browser: bool,
    register: str = "",
) -> int:
    """Serve a notebook of ours, named without its ending, until stopped; give the exit status.

    `prices` (the starter list), `date` (today) and `register` (none) may be blank; `out` is made
    where it is missing, the current folder where None; where `port` is in use, a free one near it
    is taken. Raises InputError where there is no such notebook, it does not take what is given, or
    that cannot be used; OSError where `out` cannot be written.
    """
    notebook = resources.notebooks() / f"{name}.ipynb"
    if not notebook.is_file():
        right = f"use {either(resources.notebook_names())}"
        raise InputError([Problem("notebook", None, "", name, "is not among ours", right)])
    given = _checked(name, notebook, prices, date, register)
    private = kernel_options()
    folder = (out or Path.cwd()).resolve()
    folder.mkdir(parents=True, exist_ok=True)
    tempfile.TemporaryFile(dir=folder).close()  # or else it cannot be written to
    from tornado.ioloop import IOLoop
    from voila.app import Voila

    search = [str(FRONT), os.environ.get("JUPYTER_PATH", "")]
    os.environ["JUPYTER_PATH"] = os.pathsep.join(filter(None, search))
    token = secrets.token_urlsafe(16)
    # By default it would run a voila.py that it finds in the current folder, whoever put it there.
    app = Voila.instance(config_file_paths=jupyter_config_path())
    here = (f"--port={port}", f"--Voila.ip={HOST}", f"--token={token}")
    app.initialize([str(notebook), *here, *_OPTIONS, *private])
    app.voila_configuration.prelaunch_hook = partial(_prepared, given, folder)

    def ready() -> None:
        make_for_kernels(Path(app.connection_dir))
        address = f"http://{HOST}:{app.port}/?token={token}"
        print(f"The workbook is at {address}", flush=True)
        print(f"Files go to {one_line(folder)}. Press Ctrl and C here to stop.", flush=True)
        if browser:
            webbrowser.open(redirect_file(Path(app.connection_dir), address).as_uri())

    IOLoop.current().add_callback(ready)  # runs once the server listens
    app.start()
    return 0


def _checked(name: str, notebook: Path, prices: str, date: str, register: str) -> dict[str, str]:
    """Check what a notebook shall be given; give it by the notebook's own names."""
    given = {"prices": str(Path(prices).resolve()) if prices else "", "date": date.strip()}
    address = "://" in register or not register
    given["register"] = register if address else str(Path(register).resolve())
    given = {parameter: value for parameter, value in given.items() if value}
    takes = inspect_notebook(notebook)
    if wrong := [parameter for parameter in given if parameter not in takes]:
        why = f"takes no {either(wrong)}"
        raise InputError([Problem("notebook", None, "", name, why, "leave that out")])
    read_date(date)
    if prices:
        load_price_list(prices)
    if register:
        from quotelib.register.book import Register

        Register(register, make=name != "quotes_given")
    return given


def _prepared(given: Mapping[str, str], folder: Path, request: Any, notebook: Any, cwd: str) -> Any:
    """Give a notebook its parameters, and let it work in a folder that can be written to.

    No program is taken from there: others may be able to put files into it.
    """
    notebook = parameterize_notebook(load_notebook_node(notebook), dict(given))
    for cell in notebook.cells:
        if cell.cell_type == "markdown":
            cell.source = as_page(cell.source)
    first = (
        "import os\nimport sys\n\nsys.path[:] = filter(None, sys.path)\n"
        f"os.chdir({str(folder)!r})\n"
        "from quotelib.documents.charts.drawing import show_as_pictures\n\nshow_as_pictures()"
    )
    notebook.cells.insert(0, nbformat.v4.new_code_cell(first))
    return notebook
