"""The rules of the house: which room may import which, style and types."""

import shutil
import sys
from pathlib import Path

import pytest

from .running import ROOT, run

TOOLS = {
    "layers": ("lint-imports", "--no-cache"),
    "style": ("ruff", "check", "--no-cache", "."),
    "format": ("ruff", "format", "--no-cache", "--check", "--diff", "."),
    "types": ("mypy",),
}


@pytest.mark.skipif(not (ROOT / "pyproject.toml").exists(), reason="there is no checkout")
@pytest.mark.parametrize("rule", TOOLS)
def test_the_rules_are_kept(rule: str) -> None:
    name, *arguments = TOOLS[rule]
    tool = shutil.which(name, path=str(Path(sys.executable).parent)) or shutil.which(name)
    assert tool is not None, f"{name} is not installed: pip install -e '.[test]'"
    done = run(*arguments, program=(tool,), cwd=ROOT)
    if done.returncode:
        pytest.fail(f"{name} {' '.join(arguments)}\n{done.stdout}{done.stderr}", pytrace=False)
