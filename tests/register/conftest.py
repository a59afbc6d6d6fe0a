"""What the tests of the register share: both kinds of place it can be in, and quotes to give."""

import datetime as dt
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from quotelib.catalogue.price_list import PriceList
from quotelib.promise.record import QuoteRecord
from quotelib.register.book import Register
from tests.register.quotes import made
from tests.register.server import Server, needs_server, running

Made = Callable[..., QuoteRecord]


@pytest.fixture(scope="session")
def server() -> Iterator[Server]:
    """Run a PostgreSQL."""
    with running() as one:
        yield one


@pytest.fixture(params=["sqlite", pytest.param("postgresql", marks=needs_server)])
def where(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """Name a place where there is no register yet."""
    if request.param == "sqlite":
        return str(tmp_path / "register")
    server: Server = request.getfixturevalue("server")
    return server.new_database()


@pytest.fixture
def register(where: str) -> Register:
    """Make a register."""
    return Register(where, make=True, wait_s=5)


@pytest.fixture
def record(small: PriceList) -> Made:
    """Answer an enquiry of some number."""

    def make(
        enquiry_id: str = "A", date: dt.date = dt.date(2026, 11, 28), **cells: str
    ) -> QuoteRecord:
        return made(small, enquiry_id, date, **cells)

    return make
