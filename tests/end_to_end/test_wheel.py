"""The built wheel, installed where nothing of this checkout can be reached."""

import json
import os
import sys
import sysconfig
import zipfile
from pathlib import Path
from typing import Any

import pytest

from quotelib.resources import demo_enquiries, notebooks, templates
from tests.workbook.serving import code_hidden, free_port, open_code_hidden, write_quote

from .running import DATE, ROOT, Batch, all_files, run, same_as, some_examples

pytestmark = pytest.mark.skipif(
    not (ROOT / "pyproject.toml").exists(), reason="there is no checkout to build a wheel from"
)
PYTHON = (sys.executable, "-S")
"""Without site: no .pth file, so that an editable install of the checkout is not there."""


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Build the wheel."""
    out = tmp_path_factory.mktemp("wheel")
    build = ("-m", "build", "--wheel", "--no-isolation", "--outdir", out, ROOT)
    done = run(*build, program=(sys.executable,))
    assert done.returncode == 0, done.stdout + done.stderr
    (path,) = out.glob("quotelib-*.whl")
    return path


@pytest.fixture(scope="module")
def installed(wheel: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Install the wheel, and nothing else, into a folder of its own."""
    target = tmp_path_factory.mktemp("installed")
    pip = ("-m", "pip", "install", "--quiet", "--no-deps", "--no-index", "--target", target, wheel)
    done = run(*pip, program=(sys.executable,))
    assert done.returncode == 0, done.stdout + done.stderr
    return target


@pytest.fixture(scope="module")
def path(installed: Path, tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    """Give the environment: the wheel, and this Python's packages without quotelib."""
    links = tmp_path_factory.mktemp("packages")
    for folder in {sysconfig.get_path("purelib"), sysconfig.get_path("platlib")}:
        for entry in Path(folder).iterdir():
            if "quotelib" not in entry.name and not (links / entry.name).exists():
                (links / entry.name).symlink_to(entry)
    return {
        "PYTHONPATH": os.pathsep.join([str(installed), str(links)]),
        # Without site, Python does not know the environment whose data nbconvert looks for.
        "JUPYTER_PATH": str(Path(sys.prefix, "share", "jupyter")),
    }


def test_templates_and_notebooks_are_inside(wheel: Path) -> None:
    """All of them, and nothing that running a notebook has left beside it."""
    with zipfile.ZipFile(wheel) as archive:
        names = set(archive.namelist())
    want = {f"templates/{name}" for name in all_files(templates()) if "/." not in f"/{name}"}
    want |= {f"notebooks/{path.name}" for path in notebooks().iterdir() if path.is_file()}
    shipped = {name.removeprefix("quotelib/") for name in names}
    assert {n for n in shipped if n.startswith(("templates/", "notebooks/"))} == want
    assert {
        "templates/offer.ipynb",
        "templates/annex.ipynb",
        "templates/texts/en.toml",
        "templates/enquiries.csv",
        "py.typed",
    } <= shipped
    assert not any(name.startswith(("tests/", "templates/", "notebooks/")) for name in names)


def test_wheel_is_light(wheel: Path) -> None:
    assert wheel.stat().st_size < 1_000_000


def test_it_is_the_wheel_that_runs(installed: Path, path: dict[str, str], tmp_path: Path) -> None:
    code = (
        "import json, sys, quotelib, importlib.metadata as m\n"
        "import papermill\n"
        "found = [e for e in m.entry_points(group='papermill.engine') if e.name == 'quotelib']\n"
        "print(json.dumps([quotelib.__file__, [str(e.dist.locate_file('')) for e in found],"
        " [e.load().__module__ for e in found], sys.path]))"
    )
    done = run("-c", code, program=PYTHON, cwd=tmp_path, env=path)
    assert done.returncode == 0, done.stderr
    module, places, engines, where = json.loads(done.stdout)
    assert Path(module).is_relative_to(installed)
    assert [Path(place) for place in places] == [installed]
    assert engines == ["quotelib.documents.engine"]
    assert str(ROOT) not in where


def test_the_installed_wheel_gives_the_same_bytes(
    demo: Batch, path: dict[str, str], tmp_path: Path
) -> None:
    """On examples of every outcome and currency, in an empty folder, with its own price list.

    And so does any second run: one process instead of two, another hash seed and time zone.
    """
    empty = tmp_path / "empty"
    empty.mkdir()
    ask = "from quotelib.resources import demo_enquiries as d; print(d())"
    shipped = run("-c", ask, program=PYTHON, cwd=empty, env=path).stdout.strip()
    assert shipped and Path(shipped) != demo_enquiries()
    assert Path(shipped).read_bytes() == demo_enquiries().read_bytes()
    some = some_examples(demo, tmp_path / "some.csv", "outcome", "currency")
    batch = ("batch", some, "--out", "out", "--date", DATE, "--jobs", "1")
    other = {"PYTHONHASHSEED": "7", "TZ": "Pacific/Kiritimati", "LC_ALL": "C"}
    done = run(*batch, program=(*PYTHON, "-m", "quotelib.cli"), cwd=empty, env={**path, **other})
    assert done.returncode == 1, done.stdout + done.stderr
    same_as(demo, empty / "out")
    assert [entry.name for entry in empty.iterdir()] == ["out"]


@pytest.mark.browser
def test_open_from_any_folder(
    path: dict[str, str], installed: Path, browser: Any, tmp_path: Path
) -> None:
    """The workbook finds its own page and notebook, and writes nowhere but into the folder."""
    folder = tmp_path / "somewhere else"
    folder.mkdir()
    before = {p for p in installed.rglob("*") if "__pycache__" not in p.parts}
    with code_hidden(folder, free_port(), python=PYTHON, environment=path) as address:
        page = browser.new_page()
        open_code_hidden(page, address)
        write_quote(page, "From afar (invented)", "WHL-1", "8")
        page.close()
    assert {p.name for p in folder.iterdir()} == {
        "quotes",
        "bench",
        "records",
        "quotelib_typed.json",
    }
    assert {p for p in installed.rglob("*") if "__pycache__" not in p.parts} == before
