"""The seller's note is the seller's: it reaches no file that leaves the house."""

import datetime as dt
import json
from pathlib import Path

from quotelib.documents.batch.run import run_batch

from .running import DATE, write_csv

TELLING = "pays-late-zq7"
PINNED = {
    "chassis": "CHS-2U-12L", "controller": "CTL-RB2-12G-CD", "drive": "DRV-HDD-8T-SAS",
    "members": "6", "level": "6",
}  # fmt: skip


def test_the_note_is_in_the_record_and_on_no_paper(tmp_path: Path) -> None:
    row = {"enquiry_id": "N1", "customer": "Invented Ltd", "note": TELLING, **PINNED}
    write_csv(tmp_path / "enquiries.csv", [row])
    out = tmp_path / "out"
    run_batch(tmp_path / "enquiries.csv", out, date=dt.date.fromisoformat(DATE), jobs=1)
    assert json.loads((out / "records/N1.json").read_text("utf-8"))["internal"]["note"] == TELLING
    papers = [path for room in ("quotes", "bench") for path in (out / room).rglob("*.*")]
    assert {path.parent.name for path in papers} == {"quotes", "bench"}
    for path in papers:
        assert TELLING.encode() not in path.read_bytes(), path
