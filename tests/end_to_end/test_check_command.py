"""`quotelib check`: every problem of a price list in one go."""

import re
from pathlib import Path

import pytest

from quotelib import cli

from .running import run


def test_starter_list_has_no_problem() -> None:
    done = run("check")
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout.startswith("No problem in ")


# File, text to find (once), text to put there, and how the problem must be told.
PLANTED = [
    # A wrong type.
    ("drives.csv", "2.5,600,512", "2.5,lots,512", "capacity_gb lots is not a number"),
    # A value of a list that is not in it.
    ("drives.csv", "hdd,sas,2.5,900", "tape,sas,2.5,900", "media tape is not known"),
    # An impossible combination: a card without brackets.
    ("controllers.csv", "mezzanine,,24,512", "card,,24,512", "brackets"),
    # A negative price.
    ("chassis.csv", "688.00,884.00", "688.00,-884.00", "unit_price -884.00 is negative"),
    # A reference to nothing.
    ("slots.csv", "CHS-1U-10S,1,4,8,low", "CHS-9U,1,4,8,low", "chassis_sku CHS-9U is not in"),
    # A sku that is there twice.
    ("services.csv", "SVC-PACK", "SVC-ARRAY", "sku SVC-ARRAY is there already, in row 5"),
    # An accessory for a part that is not sold.
    ("accessories.csv", "carrier,CHS-1U-8N;", "carrier,CHS-7U;", "needed_by CHS-7U is neither"),
    # An unknown column.
    ("workloads.csv", "block_kib", "block_kb", "block_kb block_kb is not a known column"),
    # A percentage beyond a hundred.
    ("terms.toml", "S = 20.0", "S = 200.0", "tax.S 200.0 is too large"),
    # A currency that is none.
    ("terms.toml", "USD = 1.3010", "DOL = 1.3010", "rates.DOL DOL is not a currency"),
]


def test_ten_planted_faults_are_told_at_once(
    copy_of_starter: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert len(PLANTED) == 10
    for file, old, new, _ in PLANTED:
        path = copy_of_starter / file
        text = path.read_text("utf-8")
        place = text.index(old)
        path.write_text(text[:place] + new + text[place + len(old) :], "utf-8")
    assert cli.main(["check", "--prices", str(copy_of_starter)]) == 1
    told = capsys.readouterr().out
    flat = " ".join(told.split())
    assert [words for *_, words in PLANTED if words not in flat] == []
    # Each stands under its file, with its row where it has one.
    for file in {file for file, *_ in PLANTED}:
        assert re.search(rf"^{re.escape(file)}$", told, re.MULTILINE)
    # Eleven: a column by another name is one too many and one too few.
    assert told.rstrip().endswith(f"\n11 problems in {copy_of_starter}")


def test_the_command_itself_ends_with_1_and_a_table(copy_of_starter: Path) -> None:
    path = copy_of_starter / "chassis.csv"
    path.write_text(path.read_text("utf-8").replace("CTL-BOARD-6", "CTL-GONE"), "utf-8")
    done = run("check", "--prices", copy_of_starter)
    assert (done.returncode, done.stderr) == (1, "")
    assert "CTL-GONE" in done.stdout and done.stdout.rstrip().endswith(str(copy_of_starter))
    assert f"1 problem in {copy_of_starter}" in done.stdout


@pytest.mark.parametrize("kind", ["missing", "empty", "file"])
def test_a_folder_that_is_no_price_list(
    kind: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = tmp_path / "prices"
    if kind == "empty":
        folder.mkdir()
    elif kind == "file":
        folder.write_text("", "utf-8")
    assert cli.main(["check", "--prices", str(folder)]) == 1
    told = capsys.readouterr().out
    right = {"missing": "does not exist", "empty": "is missing", "file": "is not a folder"}[kind]
    assert right in told and "Traceback" not in told
