"""Another user of the machine, who listens, connects and reads wherever that is possible."""

import json
import os
import signal
import subprocess
import sys
import tempfile
import time
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any

import pytest
from jupyter_client.blocking.client import BlockingKernelClient

from quotelib.workbook import private
from tests import other_user
from tests.other_user import needs_root

from .serving import PATIENCE_MS, address_of, free_port

CUSTOMER = "Wren Hollow Dairy (invented)"
# The kernel does what the page has it do when somebody types, shows the margin and writes.
_TYPED = f"""
import gc
page = next(o for o in gc.get_objects() if type(o).__name__ == "Workbook")
page.blocks.seller.value = True
page.order.take({{"customer": {CUSTOMER!r}, "enquiry_id": "WH-1", "usable_tb": "20"}})
page.recompute()
page.write()
"""

_PRIVATE = {"sockets in a folder": "pass", "encrypted": "private._socket_folder = str"}
_RUN = {
    how: f"""
import os, sys
from quotelib import cli
from quotelib.workbook import private
os.umask(0o077)
{change}
sys.exit(cli.main(sys.argv[1:]))
"""
    for how, change in {
        **_PRIVATE,
        "as Jupyter does by itself": "private.kernel_options = tuple",
    }.items()
}


@contextmanager
def _browser(folder: Path) -> Iterator[str]:
    """Give a command that stands in for a browser: it keeps what it is called with, and stays."""
    program, called = folder / "browser", folder / "called"
    program.write_text(f'#!/bin/sh\necho "$1" >{called}.part\necho $$ >>{called}.part\n'
                       f"mv {called}.part {called}\nsleep 300\n")  # fmt: skip
    program.chmod(0o755)
    try:
        yield f"{program} %s &"
    finally:
        with suppress(OSError, IndexError):
            os.kill(int(called.read_text().split()[1]), signal.SIGKILL)


def _waited(what: Path) -> Path:
    deadline = time.monotonic() + PATIENCE_MS / 1000
    while not what.exists():
        assert time.monotonic() < deadline, f"{what} does not come"
        time.sleep(0.1)
    return what


def _command_lines() -> Iterator[tuple[int, list[str]]]:
    for path in Path("/proc").glob("[0-9]*/cmdline"):
        with suppress(OSError):
            yield int(path.parent.name), path.read_text("utf-8").split("\0")


def _sockets(pid: int) -> list[str]:
    links = []
    for path in Path(f"/proc/{pid}/fd").iterdir():
        with suppress(OSError):
            links.append(str(path.readlink()))
    return [link[8:-1] for link in links if link.startswith("socket:[")]


def _tries(orders: dict[str, Any], then: Any) -> dict[str, Any]:
    """Have the other user try, and do something once it listens; give what it got."""
    command = [sys.executable, other_user.__file__]
    with subprocess.Popen(
        command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    ) as process:
        assert process.stdin and process.stdout
        process.stdin.write(json.dumps(orders) + "\n")
        process.stdin.flush()
        assert process.stdout.readline() == "listening\n"
        then()
        process.stdin.write("enough\n")
        process.stdin.flush()
        found = json.loads(process.stdout.readline())
    assert isinstance(found, dict)
    return found


@needs_root
@pytest.mark.parametrize("how", ["sockets in a folder", "encrypted", "as Jupyter does by itself"])
def test_who_else_uses_the_machine_gets_nothing(public: Path, tmp_path: Path, how: str) -> None:
    port, out, here = free_port(), public / "out", tmp_path / "here"
    here.mkdir()
    command = [sys.executable, "-c", _RUN[how], "open", "--port", str(port), "--out", str(out)]
    with (
        _browser(public) as browser,
        address_of(command, here, {"BROWSER": browser}) as address,
    ):
        redirect = _waited(public / "called").read_text().split()[0].removeprefix("file://")
        assert address in Path(redirect).read_text("utf-8")
        with urllib.request.urlopen(address, timeout=90) as page:
            page.read()  # all of it: then the kernel has made the page
        server = next(pid for pid, line in _command_lines() if {str(port), _RUN[how]} <= set(line))
        kernel, file = next(
            (pid, Path(line[line.index("-f") + 1]))
            for pid, line in _command_lines()
            if "ipykernel_launcher" in line and f"\nPPid:\t{server}\n" in _status(pid)
        )
        orders = {
            "port": port,
            "inodes": [*_sockets(server), *_sockets(kernel)],
            "sockets": str(file.parent),
            "paths": ["/", f"/api/kernels/{file.stem.removeprefix('kernel-')}"],
            "token": address.partition("token=")[2],
            "places": [str(public), str(file), str(file.parent), redirect],
        }
        found = _tries(orders, lambda: _type(file, out))
    assert port in found["ports"]
    assert found["entered"] == []
    assert [status for status, _ in found["asked"]] == [302, 403]  # to where the token is asked for
    assert not any(CUSTOMER in body or "ql-" in body for _, body in found["asked"])
    assert found["command_lines"] == []
    assert {line.partition(":")[0] for line in found["readable"]} == {
        str(public / name) for name in ("anybody.txt", "browser")
    }
    if how in _PRIVATE:
        assert found["heard"] == ""
    else:  # whoever listens there hears it: what is tried above would succeed
        assert CUSTOMER in found["heard"] and "argin" in found["heard"]


def _status(pid: int) -> str:
    try:
        return Path(f"/proc/{pid}/status").read_text("utf-8")
    except OSError:
        return ""


def _type(file: Path, out: Path) -> None:
    client = BlockingKernelClient(connection_file=str(file))
    client.load_connection_file()
    client.start_channels()
    try:
        said = []
        client.execute_interactive(_TYPED, timeout=60, output_hook=lambda m: said.append(str(m)))
        _waited(out / "records" / "WH-1.json")
        # What the page shows is published: this user's own client hears it.
        while CUSTOMER not in "".join(said) or "argin" not in "".join(said):
            said.append(str(client.get_iopub_msg(timeout=60)))
    finally:
        client.stop_channels()


def test_a_folder_with_a_long_name_holds_no_sockets(monkeypatch: pytest.MonkeyPatch) -> None:
    """The path of a socket takes 107 bytes (unix(7): 108 with the byte that ends it)."""
    long = Path(tempfile.mkdtemp(prefix="x" * 60))
    monkeypatch.setenv("XDG_RUNTIME_DIR", str(long))
    monkeypatch.setattr(tempfile, "tempdir", str(long))
    try:
        assert private._socket_folder() == "/tmp"
    finally:
        long.rmdir()


@needs_root
def test_a_folder_that_anybody_can_change_holds_no_sockets(public: Path) -> None:
    folder = public / "r"
    folder.mkdir()
    assert private._holds_sockets(str(folder))
    folder.chmod(0o777)
    assert not private._holds_sockets(str(folder))
    folder.chmod(0o1777)
    assert private._holds_sockets(str(folder))
    os.chown(folder, other_user.NOBODY, -1)
    folder.chmod(0o700)
    assert not private._holds_sockets(str(folder))
