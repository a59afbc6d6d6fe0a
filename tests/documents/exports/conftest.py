"""What these tests share: the published schema, and whether anything prints."""

import os
import shutil
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from lxml import etree

from quotelib.documents.exports import pdf
from quotelib.documents.exports.browser import COMMAND

ROOT = Path(__file__).resolve().parents[3]
_FOLDER = "QUOTELIB_UBL"


@pytest.fixture(scope="session")
def schema() -> etree.XMLSchema:
    """Give the schema that OASIS published; it is not ours to pass on, and so not in this tree."""
    folder = Path(os.environ.get(_FOLDER) or ROOT.parent / "shared/ubl-2.1")
    file = folder / "xsd/maindoc/UBL-Quotation-2.1.xsd"
    if not file.is_file():
        pytest.skip(f"the schema of UBL 2.1 is not there ({file}); name its folder in {_FOLDER}")
    return etree.XMLSchema(etree.parse(file))


@pytest.fixture
def short() -> Iterator[Path]:
    """Make a folder whose name is short: the name of a browser's socket starts with it."""
    with tempfile.TemporaryDirectory(prefix="quotelib-") as folder:
        yield Path(folder)


@pytest.fixture(scope="module")
def prints() -> Iterator[Callable[..., bytes]]:
    """Have a browser print, and end it afterwards."""
    if shutil.which(os.environ.get(COMMAND) or "chromium") is None:
        if os.environ.get("CI"):
            pytest.fail("there is no chromium command (CI is set, so that nothing is skipped)")
        pytest.skip(f"there is no chromium command; install one or set {COMMAND}")
    yield pdf.printed
    pdf.end()
