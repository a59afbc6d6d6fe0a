"""`quotelib open`: whose prices, which date, where files go; what is wrong is told before."""

import subprocess
import sys
from pathlib import Path
from typing import Any

import nbformat
import pytest

from quotelib import cli, resources
from quotelib.workbook import serve

from .serving import code_hidden, free_port


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
        (["index", "--register", "here"], "takes no register"),
        (["quotes_given", "--register", "nowhere"], "is not there; name another"),
        (["--register", "file"], "is a file; name a folder"),
        (["nothing"], "quote_one_customer"),
    ],
)
def test_what_is_wrong_is_told(
    given: list[str],
    told: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    (tmp_path / "file").write_text("not a folder")
    monkeypatch.chdir(tmp_path)
    monkeypatch.setitem(sys.modules, "voila.app", None)  # it must not come so far as to serve
    assert cli.main(["open", "--no-browser", *given]) == 2
    said = capsys.readouterr()
    assert told in said.err
    assert "Traceback" not in said.err
    assert "The workbook is at" not in said.out


def test_the_command_itself_ends_with_2_and_words(tmp_path: Path) -> None:
    done = _open("nothing", cwd=tmp_path)
    assert (done.returncode, done.stdout) == (2, "")
    assert "quote_one_customer" in done.stderr
    assert "Traceback" not in done.stderr


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


def test_no_program_is_taken_from_the_folders_somebody_works_in(tmp_path: Path) -> None:
    """Others may be able to put a file there: into a shared folder, or into /tmp."""
    here, out = tmp_path / "here", tmp_path / "out"
    here.mkdir()
    out.mkdir()
    (here / "voila.py").write_text(f"open({str(tmp_path / 'obeyed')!r}, 'w')")
    (out / "stranger.py").write_text("")
    # -P: as the installed command, which does not look for modules here either.
    python = (sys.executable, "-P")
    with code_hidden(here, free_port(), python=python, more=("--out", str(out))):
        pass  # a kernel starts only where somebody looks
    assert not (tmp_path / "obeyed").exists()
    notebook = nbformat.read(resources.notebooks() / "index.ipynb", as_version=4)
    first = serve._prepared({}, out, None, notebook, "").cells[0].source
    code = f"{first}\ntry:\n    import stranger\nexcept ImportError:\n    print(os.getcwd())"
    # As a kernel starts: with the blank name of the current folder in front.
    run = ["-c", f"import sys; sys.path.insert(0, '')\n{code}"]
    done = subprocess.run([sys.executable, *run], capture_output=True, text=True, cwd=here)
    assert done.stdout.strip() == str(out), done.stderr
