"""`quotelib open`: whose prices, which date, where files go; what is wrong is told before."""

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import nbformat
import pytest

from quotelib import resources
from quotelib.workbook import serve

from .serving import code_hidden, open_code_hidden, write_quote


def _open(*given: str, cwd: Path) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "quotelib.cli", "open", "--no-browser", *given]
    return subprocess.run(command, capture_output=True, text=True, timeout=60, cwd=cwd)


def test_a_bad_list_is_told_as_a_table(copy_of_small: Path, tmp_path: Path) -> None:
    path = copy_of_small / "drives.csv"
    path.write_text(path.read_text("utf-8").replace("DISK-4T,Disk,hdd", "DISK-4T,Disk,tape"))
    done = _open("--prices", str(copy_of_small), "--out", str(tmp_path / "out"), cwd=tmp_path)
    assert done.returncode == 2
    assert "drives.csv" in done.stderr and "tape" in done.stderr and "media" in done.stderr
    assert "The workbook is at" not in done.stdout
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize(
    ("given", "told"),
    [
        (["--date", "25.11.2026"], "write it as YYYY-MM-DD"),
        (["--prices", "nowhere"], "does not exist"),
        (["--out", "file"], "file"),
        (["index", "--date", "2026-11-25"], "takes no date"),
        (["nothing"], "quote_one_customer"),
    ],
)
def test_what_is_wrong_is_told(given: list[str], told: str, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("not a folder")
    done = _open(*given, cwd=tmp_path)
    assert done.returncode == 2
    assert told in done.stderr
    assert "Traceback" not in done.stderr
    assert "The workbook is at" not in done.stdout


def test_help_lists_the_notebooks(tmp_path: Path) -> None:
    done = _open("--help", cwd=tmp_path)
    assert done.returncode == 0
    text = " ".join(done.stdout.split())
    for name in resources.notebook_names():
        assert name in text


@pytest.mark.parametrize("name", ["quote_one_customer", "check_price_list", "index"])
def test_what_is_given_counts_in_a_notebook(name: str, tmp_path: Path) -> None:
    """The values stand right after those of the notebook, before anything makes use of them."""
    notebook = nbformat.read(resources.notebooks() / f"{name}.ipynb", as_version=4)
    given = {"prices": 'C:\\it\'s "here"'}
    cells = [c for c in serve._prepared(given, tmp_path, None, notebook, "").cells if c.source]
    code = [c.source for c in cells if c.cell_type == "code"]
    assert str(tmp_path) in code[0]
    assert "quotelib" not in code[1]
    names: dict[str, Any] = {}
    exec(code[1], names)
    assert names["prices"] == ""
    exec(code[2], names)
    assert names["prices"] == given["prices"]


@pytest.mark.browser
def test_open_with_a_list_of_ones_own(
    copy_of_small: Path, tmp_path: Path, port: int, page: Any
) -> None:
    here = tmp_path / "desk"
    here.mkdir()
    out = tmp_path / "quotes of today"
    more = ("--prices", str(copy_of_small), "--date", "2026-03-05", "--out", str(out))
    with code_hidden(here, port, more=more) as address:
        log = (tmp_path / "desk.log").read_text("utf-8")
        assert f"Files go to {out}." in log
        open_code_hidden(page, address)
        text = page.inner_text("body")
        assert str(copy_of_small) in text
        assert "5 March 2026" in text
        assert str(out) in text
        write_quote(page, "Own list (invented)", "O-1", "7")
        page.goto("about:blank")
    record = json.loads((out / "records" / "O-1.json").read_text("utf-8"))
    assert record["date"] == "2026-03-05"
    assert record["enquiry"]["usable_tb"] == "7"
    assert record["quote_number"] == "Q-20260305-O-1"
    assert {part["sku"] for part in record["servers"][0]["parts"]} & {"BOX-4", "BOX-12"}
    assert list(here.iterdir()) == []
