"""A PostgreSQL of our own, from Debian's package, for as long as a test runs.

It runs as another user where the tests run as root, since it refuses to be root itself.
"""

import contextlib
import itertools
import os
import pwd
import shutil
import socket
import subprocess
import tempfile
from collections.abc import Iterator
from pathlib import Path

import psycopg
import pytest

_FOLDERS = sorted(Path("/usr/lib/postgresql").glob("*/bin"), reverse=True)
BIN = next((folder for folder in _FOLDERS if (folder / "initdb").exists()), None)
needs_server = pytest.mark.skipif(
    BIN is None and "CI" not in os.environ, reason="there is no PostgreSQL (Debian: postgresql)"
)
_NUMBERS = itertools.count(1)


def _user() -> str | None:
    """Name who runs the server; None: whoever runs the tests."""
    if os.geteuid() != 0:
        return None
    names = {entry.pw_name for entry in pwd.getpwall()}
    return "postgres" if "postgres" in names else "nobody"


def _run(*command: str | Path) -> None:
    done = subprocess.run(
        list(map(str, command)), user=_user(), cwd="/", stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stdout


class Server:
    """A server that listens on this machine alone."""

    def __init__(self, folder: Path, port: int) -> None:
        self.folder, self.port = folder, port

    @property
    def address(self) -> str:
        """Give the address of the database that is always there."""
        return self.address_of("postgres")

    def address_of(self, database: str, user: str = "seller") -> str:
        """Give the address of a database."""
        return f"postgresql://{user}@127.0.0.1:{self.port}/{database}"

    def new_database(self) -> str:
        """Make a database; give its address."""
        name = f"register{next(_NUMBERS)}"
        with psycopg.connect(self.address, autocommit=True) as connection:
            connection.execute(f"CREATE DATABASE {name}")
        return self.address_of(name)


@contextlib.contextmanager
def running() -> Iterator[Server]:
    """Run a server."""
    assert BIN is not None, "there is no PostgreSQL: apt-get install postgresql"
    folder = Path(tempfile.mkdtemp(prefix="quotelib-server-", dir="/tmp"))
    data, user = folder / "data", _user()
    if user is not None:
        shutil.chown(folder, user)
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    options = (
        f"-p {port} -c listen_addresses=127.0.0.1 -c unix_socket_directories={folder}"
        " -c max_connections=60 -c lc_messages=C"
    )
    try:
        _run(BIN / "initdb", "-D", data, "-U", "seller", "-A", "trust", "-E", "UTF8", "--locale=C")
        log = folder / "log"
        _run(BIN / "pg_ctl", "-D", data, "-l", log, "-w", "-o", options, "start")
        try:
            yield Server(folder, port)
        finally:
            _run(BIN / "pg_ctl", "-D", data, "-m", "immediate", "stop")
    finally:
        shutil.rmtree(folder, ignore_errors=True)
