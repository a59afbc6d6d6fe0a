"""What the tests share: the starter price list, a copy to break, and a small list to count on."""

import gc
import shutil
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest

from quotelib.catalogue.price_list import PriceList, load_price_list
from quotelib.resources import starter_prices
from tests import small_list


def pytest_collection_finish() -> None:
    """Spare the collector of garbage what lives to the end: it took a tenth of the time."""
    gc.collect()
    gc.freeze()
    gc.set_threshold(10_000, 20, 20)


@pytest.fixture(scope="session")
def starter() -> PriceList:
    """Give the starter price list."""
    return load_price_list()


@pytest.fixture
def copy_of_starter(tmp_path: Path) -> Path:
    """Give a folder with a copy of the starter price list, to be written to."""
    return Path(shutil.copytree(starter_prices(), tmp_path / "price_list"))


@pytest.fixture(scope="session")
def small() -> PriceList:
    """Give the small price list, in memory."""
    return small_list.price_list()


@pytest.fixture
def copy_of_small(tmp_path: Path) -> Path:
    """Give a folder with the small price list, to be written to."""
    return small_list.write(tmp_path / "prices")


@pytest.fixture
def public() -> Iterator[Path]:
    """Make a folder that everybody can enter: pytest's own are closed to others."""
    folder = Path(tempfile.mkdtemp(prefix="quotelib-test-", dir="/tmp"))
    folder.chmod(0o755)
    (folder / "anybody.txt").write_text("anybody")
    (folder / "anybody.txt").chmod(0o644)
    yield folder
    shutil.rmtree(folder)
