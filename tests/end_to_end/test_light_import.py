"""Importing quotelib, and checking a price list, must not wait for what draws and renders."""

import json
import sys
from pathlib import Path

import pytest

from .running import run

HEAVY = {"pandas", "altair", "papermill", "nbconvert", "IPython", "ipywidgets", "vl_convert"}
HEAVY |= {"sqlalchemy", "alembic", "psycopg"}
CODE = """
import json, sys
sys.stdout, told = sys.stderr, sys.stdout
{code}
print(json.dumps(sorted({{name.partition(".")[0] for name in sys.modules}})), file=told)
"""


def loaded(code: str, cwd: Path) -> set[str]:
    """List the packages that are loaded after some code ran in a fresh Python."""
    done = run("-c", CODE.format(code=code), program=(sys.executable,), cwd=cwd)
    assert done.returncode == 0, done.stderr
    return set(json.loads(done.stdout))


@pytest.mark.parametrize(
    "code",
    [
        "import quotelib",
        "from quotelib import cli; assert cli.main(['check']) == 0",
        "from quotelib.catalogue.price_list import load_price_list; load_price_list()",
    ],
    ids=("import", "check", "price_list"),
)
def test_nothing_heavy_is_loaded(code: str, tmp_path: Path) -> None:
    modules = loaded(code, tmp_path)
    assert "quotelib" in modules
    assert modules & HEAVY == set()


def test_the_look_at_modules_sees_heavy_ones(tmp_path: Path) -> None:
    assert "vl_convert" in loaded("import quotelib.documents.charts", tmp_path)
    assert "papermill" in loaded("import papermill", tmp_path)
