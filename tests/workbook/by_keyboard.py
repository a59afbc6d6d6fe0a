"""A quote from nothing by keyboard alone, and the batch it must agree with."""

import csv
import datetime as dt
import json
from pathlib import Path
from typing import Any

from quotelib.documents.batch.run import run_batch

from .serving import PATIENCE_MS, settled, tab_to

CUSTOMER = "Wexcombe Bell Foundry (invented)"
TYPED = {
    "Customer": CUSTOMER,
    "Enquiry number": "KEY-1",
    "Usable capacity, TB": "24",
    "Drive failures to survive": "2",
}


def quote_by_keyboard(page: Any) -> None:
    """Type an enquiry, and write its files."""
    for label, text in TYPED.items():
        tab_to(page, label)
        page.keyboard.type(text)
    settled(page)
    tab_to(page, "RAID level")
    page.keyboard.type("RAID 6")
    page.keyboard.press("Enter")
    settled(page)
    assert page.get_by_role("combobox", name="RAID level").first.input_value() == "RAID 6"
    tab_to(page, "Hot spares")
    page.keyboard.type("1")
    settled(page)
    tab_to(page, "Write quote, bench sheet and record")
    page.keyboard.press("Enter")
    said = page.locator(".ql-written")
    page.wait_for_function(
        "!/^(|Writing …)$/.test(document.querySelector('.ql-written')?.innerText.trim() ?? '')",
        timeout=PATIENCE_MS,
    )
    assert said.inner_text().startswith("Written: Q-"), said.inner_text()


def as_the_batch(folder: Path, prices: Path, tmp_path: Path, date: dt.date | None = None) -> None:
    """Check every figure of the record against a batch of the same enquiry."""
    record = json.loads((folder / "records" / "KEY-1.json").read_text("utf-8"))
    row = {
        "enquiry_id": "KEY-1",
        "customer": CUSTOMER,
        "usable_tb": "24",
        "survive": "2",
        "level": "6",
        "spares": "1",
    }
    enquiries = tmp_path / "enquiries.csv"
    with enquiries.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, row)
        writer.writeheader()
        writer.writerow(row)
    out = tmp_path / "batch"
    result = run_batch(enquiries, out, prices=prices, date=date)
    assert [r["outcome"] for r in result.rows] == ["quoted"]
    assert {name: record["rows"][0]["cells"][name] for name in row} == row
    assert record == json.loads((out / "records" / "KEY-1.json").read_text("utf-8"))
    for kind in ("quotes", "bench"):
        ours = (folder / kind / "KEY-1.html").read_text("utf-8")
        assert ours == (out / kind / "KEY-1.html").read_text("utf-8")
