"""How the browser tests reach the workbook: served as a user serves it, in a folder of its own."""

import os
import re
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from types import MappingProxyType
from typing import Any

import nbformat
from papermill.iorw import load_notebook_node
from papermill.parameterize import parameterize_notebook

from quotelib.enquiry.columns import COLUMNS
from quotelib.resources import notebooks

PATIENCE_MS = 90_000
"""A busy machine is slow; what takes longer is a fault."""


def free_port() -> int:
    """Find a port nobody uses."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


@dataclass
class Watch:
    """What a page did that it must not do."""

    problems: list[str] = field(default_factory=list)
    expect_silence: bool = True

    def on(self, page: Any) -> None:
        """Listen to a page."""
        page.on("console", self._console)
        page.on("pageerror", lambda error: self.problems.append(f"page error: {error}"))
        page.on("requestfailed", self._failed)
        page.on("response", self._response)
        page.on("request", self._request)

    def _console(self, message: Any) -> None:
        if message.type == "error" and self.expect_silence:
            self.problems.append(f"console error: {message.text}")

    def _failed(self, request: Any) -> None:
        if self.expect_silence and "ERR_ABORTED" not in str(request.failure):
            self.problems.append(f"failed request: {request.url} {request.failure}")

    def _response(self, response: Any) -> None:
        if response.status >= 400 and self.expect_silence:
            self.problems.append(f"status {response.status}: {response.url}")

    def _request(self, request: Any) -> None:
        local = request.url.startswith(("http://127.0.0.1:", "ws://127.0.0.1:", "data:", "blob:"))
        if not local:
            self.problems.append(f"outside request: {request.url}")


@contextmanager
def _running(
    command: list[str],
    folder: Path,
    told: re.Pattern[str],
    more_environment: Mapping[str, str] = MappingProxyType({}),
) -> Iterator[str]:
    """Run a server until it has told its address; stop it and its kernels afterwards."""
    log = folder.parent / f"{folder.name}.log"
    environment = {**os.environ, "PYTHONUNBUFFERED": "1", **more_environment}
    with log.open("w", encoding="utf-8") as out:
        process = subprocess.Popen(
            command,
            cwd=folder,
            stdout=out,
            stderr=subprocess.STDOUT,
            env=environment,
            start_new_session=True,
        )
    try:
        deadline = time.monotonic() + 90
        while not (found := told.search(log.read_text("utf-8"))):
            assert process.poll() is None, log.read_text("utf-8")
            assert time.monotonic() < deadline, log.read_text("utf-8")
            time.sleep(0.1)
        yield found.group(0)
    finally:
        os.killpg(process.pid, signal.SIGTERM)
        try:
            process.wait(20)
        except subprocess.TimeoutExpired:
            os.killpg(process.pid, signal.SIGKILL)


@contextmanager
def code_hidden(
    folder: Path,
    port: int,
    name: str = "quote_one_customer",
    python: tuple[str, ...] = (sys.executable,),
    environment: Mapping[str, str] = MappingProxyType({}),
    more: tuple[str, ...] = (),
) -> Iterator[str]:
    """Serve as ``quotelib open`` does; give the address."""
    command = [*python, "-m", "quotelib.cli", "open", name, "--no-browser", "--port", str(port)]
    with address_of([*command, *more], folder, environment) as found:
        yield found


@contextmanager
def address_of(
    command: list[str], folder: Path, environment: Mapping[str, str] = MappingProxyType({})
) -> Iterator[str]:
    """Run a command that opens a notebook, until its end; give the address it tells."""
    address = re.compile(r"http://127\.0\.0\.1:\d+/\S+")
    with _running(command, folder, address, environment) as found:
        yield found


@contextmanager
def jupyterlab(
    folder: Path, port: int, prices: Path | None, name: str = "quote_one_customer"
) -> Iterator[str]:
    """Serve a copy of a notebook in JupyterLab, for a price list or as it is; give its address."""
    notebook = load_notebook_node(str(notebooks() / f"{name}.ipynb"))
    if prices is not None:
        notebook = parameterize_notebook(notebook, {"prices": str(prices)})
    nbformat.write(notebook, folder / f"{name}.ipynb")
    command = [
        *(sys.executable, "-m", "jupyterlab", "--no-browser", f"--port={port}"),
        *("--ServerApp.ip=127.0.0.1", "--IdentityProvider.token=", "--allow-root"),
        *("--LabApp.news_url=None", f"--ServerApp.root_dir={folder}"),
        "--LabApp.check_for_updates_class=jupyterlab.handlers.announcements.NeverCheckForUpdate",
    ]
    if hasattr(os, "geteuid") and os.geteuid() != 0:
        command.remove("--allow-root")
    with _running(command, folder, re.compile(r"http://127\.0\.0\.1:\d+/lab")) as found:
        yield f"{found}/tree/{name}.ipynb?reset"


@contextmanager
def watched(browser: Any, folder: Path) -> Iterator[Any]:
    """Open the page on the starter list in a folder of its own; it must do nothing amiss."""
    watch = Watch()
    folder.mkdir()
    with code_hidden(folder, free_port()) as address:
        context = browser.new_context(viewport={"width": 1280, "height": 900})
        page = context.new_page()
        page.set_default_timeout(60_000)
        watch.on(page)
        open_code_hidden(page, address)
        yield page
        context.close()
    assert watch.problems == []


def open_code_hidden(page: Any, address: str) -> None:
    """Open the page and wait until it can be typed into."""
    page.goto(address)
    page.get_by_label("Customer", exact=True).wait_for(timeout=PATIENCE_MS)


def open_in_lab(page: Any, address: str) -> None:
    """Open the notebook, run it by keyboard, and wait until it can be typed into."""
    page.goto(address)
    page.locator(".jp-Notebook .jp-Cell").first.wait_for(timeout=PATIENCE_MS)
    page.locator(".jp-Notebook-ExecutionIndicator[data-status=idle]").first.wait_for(
        state="attached", timeout=PATIENCE_MS
    )
    page.get_by_text("(ipykernel) | Idle").wait_for(timeout=PATIENCE_MS)
    there = page.get_by_label("Customer", exact=True)
    for _ in range(5):
        page.locator(".jp-Notebook .jp-InputArea-editor").first.click()
        for _ in range(3):  # the settings, what was given in their place, the page
            page.keyboard.press("Shift+Enter")
        try:
            there.wait_for(timeout=PATIENCE_MS // 5)
            return
        except Exception:  # the kernel was not ready to listen yet
            continue
    there.wait_for(timeout=1000)


def settled(page: Any) -> None:
    """Wait until what is typed has arrived and nothing is being worked out."""
    page.wait_for_timeout(300)
    page.wait_for_function(_ARRIVED, arg=list(COLUMNS), timeout=PATIENCE_MS)
    page.wait_for_function(
        "!document.querySelector('.ql-dot, .ql-behind, .ql-anew')", timeout=PATIENCE_MS
    )


# The rows to copy, and the list with a row that asks for nothing yet, are made of what the kernel
# has got.
_ARRIVED = """(columns) => {
  const row = document.querySelector('[data-name=copy_row] textarea').value
    + (document.querySelector('.ql-lines')?.textContent ?? '');
  return columns.every((name) => {
    const typed = document.querySelector(`[data-name=${name}] :is(input[type=text], textarea)`);
    return !typed || typed.closest('.ql-picker')
      || row.includes(typed.value.trim().replaceAll('"', '""'));
  });
}"""


def write_quote(page: Any, customer: str, number: str, usable_tb: str) -> None:
    """Fill in the least there is, and press the button that writes the files."""
    cells = {"Customer": customer, "Enquiry number": number, "Usable capacity, TB": usable_tb}
    for label, text in cells.items():
        page.get_by_label(label, exact=True).fill(text)
    settled(page)
    press_write(page)


def press_write(page: Any) -> None:
    """Press the button that writes the files, and wait until they are written."""
    page.get_by_role("button", name="Write quote, bench sheet and record").click()
    page.wait_for_function(
        "document.querySelector('.ql-written')?.innerText.startsWith('Written:')",
        timeout=PATIENCE_MS,
    )


def choose(page: Any, field: str, option: str) -> None:
    """Choose the first option that has some text from a list, with the mouse."""
    page.locator(f"[data-name={field}] [role=combobox]").click()
    page.locator(f"[data-name={field}] [role=option]", has_text=option).first.click()


def tab_to(page: Any, label: str, most: int = 120) -> None:
    """Press Tab until the control with a label has the focus, as somebody without a mouse does."""
    for _ in range(most):
        page.keyboard.press("Tab")
        if page.evaluate(_LABEL_OF_FOCUS) == label:
            return
    raise AssertionError(f"Tab does not reach {label!r}")


_LABEL_OF_FOCUS = """() => {
  const node = document.activeElement;
  const by = node.getAttribute("aria-labelledby");
  const text = by ? document.getElementById(by)?.textContent
    : node.labels?.length ? node.labels[0].textContent : node.textContent;
  return (text || "").trim();
}"""
