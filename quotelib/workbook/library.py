"""Where is the drawing library from: bundled once, without the network, while the page is at work.

Bundling takes seconds in which its process does nothing else, so that it is done in another.
"""

import os
import subprocess
import sys
import time
from functools import cache
from pathlib import Path

from quotelib.documents.charts.drawing import VEGA_LITE
from quotelib.workbook.widgets import front

_PLACE = "QUOTELIB_DRAWING_LIBRARY"
_PATIENCE_S = 20.0
_BUNDLE = (
    "import os, sys, vl_convert\n"
    "made = vl_convert.javascript_bundle(sys.argv[1], vl_version=sys.argv[2])\n"
    "with open(sys.argv[3] + '.part', 'x', encoding='utf-8') as file:\n"
    "    file.write(made)\n"
    "os.replace(sys.argv[3] + '.part', sys.argv[3])\n"
)


def make_for_kernels(folder: Path) -> None:
    """Start to bundle it into a folder of this user's own, for the kernels started after this."""
    path = folder / "drawing.js"
    os.environ[_PLACE] = str(path)
    quiet = subprocess.DEVNULL
    subprocess.Popen(_command(path), stdin=quiet, stdout=quiet, stderr=quiet)


@cache
def library() -> str:
    """Give the library; made elsewhere already, or now."""
    if place := os.environ.get(_PLACE):
        path, until = Path(place), time.monotonic() + _PATIENCE_S
        while time.monotonic() < until:
            if path.is_file():
                return path.read_text("utf-8")
            time.sleep(0.05)
    import tempfile

    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "drawing.js"
        subprocess.run(_command(path), stdin=subprocess.DEVNULL, check=True)
        return path.read_text("utf-8")


def _command(path: Path) -> list[str]:
    # -P: no module is taken from the folder one is in.
    return [sys.executable, "-P", "-c", _BUNDLE, front("library.js"), VEGA_LITE, str(path)]
