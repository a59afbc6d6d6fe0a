"""Take the pictures of README anew: ``python -m tests.pictures`` (needs chromium).

Of the example enquiries and the starter price list; the notebooks as they are saved.
"""

import shutil
import tempfile
from pathlib import Path
from typing import Any

from playwright.sync_api import sync_playwright

from quotelib.documents.batch.run import run_batch
from quotelib.resources import demo_enquiries
from tests.end_to_end.conftest import CHROMIUM_FLAGS
from tests.end_to_end.running import ROOT, read_csv, write_csv
from tests.workbook.serving import (
    code_hidden,
    free_port,
    jupyterlab,
    open_code_hidden,
    settled,
)

DOCS = ROOT / "docs"
OFFERED = "BSW-1002"
SHOWN = "BSW-1006"
"""A quote with spans, spares and cautions of every kind."""


def documents(page: Any, folder: Path) -> None:
    """Take the top of an offer and of a bench sheet."""
    shown = {"quotes": OFFERED, "bench": SHOWN}
    rows = [row for row in read_csv(demo_enquiries()) if row["enquiry_id"] in shown.values()]
    run_batch(write_csv(folder / "one.csv", rows), folder / "out")
    page.set_viewport_size({"width": 860, "height": 1500})
    for kind, name in (("quotes", "quote"), ("bench", "bench_sheet")):
        page.goto((folder / "out" / kind / f"{shown[kind]}.html").as_uri())
        page.screenshot(path=DOCS / f"{name}.png")


def workbook(page: Any, folder: Path) -> None:
    """Take the page on which one customer is quoted."""
    page.set_viewport_size({"width": 1088, "height": 1394})
    with code_hidden(folder, free_port()) as address:
        open_code_hidden(page, address)
        for label, text in {
            "Customer": "Ampleforth Weather Log (invented)",
            "Enquiry number": "W-1",
            "Drive failures to survive": "2",
            "Usable capacity, TB": "20",
        }.items():
            page.get_by_label(label, exact=True).fill(text)
        settled(page)
        page.wait_for_timeout(1000)  # until what was greyed has come back
        page.screenshot(path=DOCS / "workbook.png")
        page.goto("about:blank")


def notebook(page: Any, folder: Path, name: str) -> None:
    """Take a notebook as it is saved, in JupyterLab."""
    page.set_viewport_size({"width": 1240, "height": 1800})
    with jupyterlab(folder, free_port(), None, name) as address:
        page.goto(address)
        shown = page.locator(".jp-NotebookPanel-notebook").first
        shown.wait_for(timeout=60_000)
        page.add_style_tag(content=".Toastify { display: none }")  # no questions of its makers
        page.wait_for_timeout(8000)  # until the charts are drawn
        shown.screenshot(path=DOCS / f"{name}.png")
        page.goto("about:blank")


def main() -> None:
    """Take all of them."""
    path = shutil.which("chromium")
    with sync_playwright() as playwright, tempfile.TemporaryDirectory() as folder:
        browser = playwright.chromium.launch(executable_path=path, args=CHROMIUM_FLAGS)
        page, desk = browser.new_page(), Path(folder) / "desk"
        desk.mkdir()
        documents(page, Path(folder))
        workbook(page, desk)
        for name in ("check_price_list", "quote_a_batch"):
            notebook(page, desk, name)
        browser.close()


if __name__ == "__main__":
    main()
