"""Where is a register: a file in a folder, or a database that a team shares by address."""

import os
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import sqlalchemy as sa
from sqlalchemy.engine import URL, Connection, Engine, make_url
from sqlalchemy.exc import ArgumentError, DBAPIError
from sqlalchemy.pool import NullPool

from quotelib.errors import InputError, Problem
from quotelib.register.trouble import wrong

FILE = "register.sqlite3"
_PRIVATE = 0o600
_PATIENCE_S = 5


@dataclass(frozen=True)
class Place:
    """A place that a register is in, or may be.

    Parameters
    ----------
    name : str
        What to call it, without a password.
    path : Path or None
        Of its file; None where it has an address.
    """

    name: str
    path: Path | None
    engine: Engine

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """Look at it as it is at one moment.

        Raises
        ------
        InputError
            Where the database cannot do what it is asked.
        """
        yield from self._doing(self.engine)

    @contextmanager
    def writing(self) -> Iterator[Connection]:
        """Change it: all of what is done within, or nothing. Keep it short, others wait.

        Raises
        ------
        InputError
            As `reading`; what two asked for at once is left to whoever asks to try again.
        """
        yield from self._doing(self.engine.execution_options(writing=True))

    def _doing(self, engine: Engine) -> Iterator[Connection]:
        try:
            with engine.begin() as connection:
                yield connection
        except DBAPIError as error:
            raise InputError([wrong(self.name, error)]) from error

    @property
    def there(self) -> bool:
        """Tell whether there is anything; an address says so by answering."""
        return self.path is None or self.path.exists()

    def make(self) -> None:
        """Make a file that nobody else can read, where there is none."""
        if self.path is None or self.path.exists():
            return
        self.path.parent.mkdir(parents=True, exist_ok=True)
        os.close(os.open(self.path, os.O_RDWR | os.O_CREAT, _PRIVATE))


def place(where: str | Path, wait_s: float) -> Place:
    """Find a place; nothing is read or made yet.

    Parameters
    ----------
    where : str or path
        A folder, or an address (``postgresql://...``).
    wait_s : float
        How long to wait for others who are writing.

    Raises
    ------
    InputError
        Where it is neither.
    """
    text = str(where)
    if "://" in text:
        return _by_address(text, wait_s)
    path = Path(where) / FILE
    if not text.strip() or Path(where).is_file():
        right = "name a folder, or an address that begins with postgresql://"
        why = "is a file" if text.strip() else "names no place"
        raise InputError([Problem("register", None, "", text, why, right)])
    return Place(str(where), path, _by_file(path, wait_s))


def _by_file(path: Path, wait_s: float) -> Engine:
    # rw: a name that is mistyped must not become a new register.
    uri = f"{path.resolve().as_uri()}?mode=rw"

    def connect() -> sqlite3.Connection:
        return sqlite3.connect(uri, uri=True, timeout=wait_s, isolation_level=None)

    engine = sa.create_engine("sqlite+pysqlite://", creator=connect, poolclass=NullPool)

    @sa.event.listens_for(engine, "connect")
    def _connected(connection: sqlite3.Connection, _: object) -> None:
        connection.execute("PRAGMA foreign_keys = ON")
        # What is said to be given has to be on the disk, also after the power fails.
        connection.execute("PRAGMA synchronous = EXTRA")

    @sa.event.listens_for(engine, "begin")
    def _begun(connection: Connection) -> None:
        # Who is going to write says so first: two who both read cannot both go on to write.
        writing = connection.get_execution_options().get("writing")
        connection.exec_driver_sql("BEGIN IMMEDIATE" if writing else "BEGIN")

    return engine


def _by_address(text: str, wait_s: float) -> Place:
    right = "write it as postgresql://USER@HOST/DATABASE"
    try:
        url = make_url(text)
    except (ArgumentError, ValueError):
        # Not said again: there may be a password in it.
        raise InputError([Problem("register", None, "", "", "is no address", right)]) from None
    if url.get_backend_name() not in {"postgresql", "postgres"}:
        given = url.drivername
        why = "is no kind of database that a register can be in"
        raise InputError([Problem("register", None, "", given, why, right)])
    name = url.render_as_string(hide_password=True)
    return Place(name, None, _by_server(url.set(drivername="postgresql+psycopg"), wait_s))


def _by_server(url: URL, wait_s: float) -> Engine:
    waits = f"-c lock_timeout={max(1, round(wait_s * 1000))} -c client_encoding=UTF8"
    more: dict[str, Any] = {"application_name": "quotelib", "options": waits}
    if "connect_timeout" not in url.query:
        more["connect_timeout"] = _PATIENCE_S
    engine = sa.create_engine(url, poolclass=NullPool, connect_args=more)

    @sa.event.listens_for(engine, "begin")
    def _begun(connection: Connection) -> None:
        if not connection.get_execution_options().get("writing"):
            connection.exec_driver_sql("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY")

    return engine
