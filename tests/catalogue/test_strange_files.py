"""Is a pipe, a device, or a file that holds more than it claims, told at once?"""

import errno
import os
import time
from pathlib import Path

import pytest

from quotelib import bounded
from quotelib.catalogue.price_list import PriceList, read_folder, stamp
from quotelib.cli import main
from quotelib.documents.quoting import read_record
from quotelib.enquiry.reading import read_enquiries
from quotelib.errors import InputError
from quotelib.workbook.autosave import FILE_NAME, Autosave
from tests.catalogue.breaking import DRIVES, TERMS_TOML

pytestmark = pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes among files here")
CONTENTS = "contents.csv"
SECONDS = 10


def pipe(path: Path) -> None:
    os.mkfifo(path)


def endless(path: Path) -> None:
    path.symlink_to("/dev/zero")


STRANGE = pytest.mark.parametrize("strange", [pipe, endless], ids=["pipe", "endless device"])


@STRANGE
@pytest.mark.parametrize("file", [DRIVES, TERMS_TOML, CONTENTS])
def test_in_a_price_list(strange, file: str, copy_of_starter: Path) -> None:
    (copy_of_starter / file).unlink()
    strange(copy_of_starter / file)
    start = time.process_time()
    price_list, problems = read_folder(copy_of_starter)
    assert time.process_time() - start < SECONDS
    assert price_list is None
    (told,) = [p for p in problems if p.file == file]
    assert "cannot be read (it is a pipe or a device, no regular file)" in str(told)
    assert stamp(copy_of_starter)


@STRANGE
def test_for_enquiries_and_records(strange, small: PriceList, tmp_path: Path) -> None:
    path = tmp_path / "given"
    strange(path)
    with pytest.raises(InputError, match="it is a pipe or a device"):
        read_enquiries(path, small)
    with pytest.raises(InputError, match="it is a pipe or a device"):
        read_record(path)


@STRANGE
def test_for_what_was_typed(strange, tmp_path: Path) -> None:
    strange(tmp_path / FILE_NAME)
    assert Autosave(tmp_path).earlier == []


@pytest.mark.skipif(not Path("/proc/self/maps").exists(), reason="no such files here")
def test_no_more_is_read_than_may_be_whatever_the_size_claims() -> None:
    path = Path("/proc/self/maps")
    assert path.stat().st_size == 0
    with pytest.raises(OSError, match="larger than 100 bytes") as caught:
        bounded.read_bytes(path, 100)
    assert caught.value.errno == errno.EFBIG
    assert bounded.read_text(path)


def test_as_much_as_may_be_is_read(tmp_path: Path) -> None:
    path = tmp_path / "full"
    path.write_bytes(b"x" * 100)
    assert bounded.read_bytes(path, 100) == b"x" * 100


def test_a_list_without_counts_is_called_unwatched(
    copy_of_starter: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["check", "--prices", str(copy_of_starter)]) == 0
    assert CONTENTS not in capsys.readouterr().out
    (copy_of_starter / CONTENTS).unlink()
    lines = (copy_of_starter / "accessories.csv").read_text("utf-8").splitlines(keepends=True)
    (copy_of_starter / "accessories.csv").write_text(lines[0], "utf-8")
    assert main(["check", "--prices", str(copy_of_starter)]) == 0
    said = capsys.readouterr().out
    assert "0 accessories" in said
    assert "contents.csv is not there: a file cut off between two rows, or to its header" in said
