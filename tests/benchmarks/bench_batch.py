"""Quotes a second: a batch against a plain papermill loop of the same notebooks; prints JSON.

Run: python tests/benchmarks/bench_batch.py [enquiries] [plain quotes]

Both make the offer, its annex and the bench sheet of pinned builds on the starter list, in the same
run on the same machine. The batch is the command with two jobs, from its start to its end. The
loop does what anybody does who has only the notebooks: papermill with an ordinary kernel for
each, then nbconvert, one quote after the other. Limit: 25 times the quotes a second.
"""

from __future__ import annotations

import csv
import json
import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterable, Iterator, Mapping
from itertools import cycle, islice
from pathlib import Path

import nbformat
import papermill

from quotelib import resources
from quotelib.documents.pages import to_html

JOBS = 2
DATE = "2026-11-25"
PINS = ("chassis", "controller", "drive", "members", "level", "spans")
# Open enquiries whose answers are pinned afterwards: level, media, TB.
BUILDS = (
    ("1", "hdd", "2"), ("5", "hdd", "12"), ("6", "hdd", "20"), ("6", "hdd", "60"),
    ("10", "hdd", "8"), ("50", "hdd", "40"), ("60", "hdd", "50"), ("1", "ssd", "1"),
    ("5", "ssd", "3"), ("6", "ssd", "5"), ("10", "ssd", "2"), ("10", "ssd", "4"),
)  # fmt: skip
WORKLOADS = ("office_files", "ledger_database", "video_edit", "backup_target", "")


def batch(rows: Iterable[Mapping[str, str]], out: Path) -> tuple[float, list[dict[str, str]]]:
    """Run the command over enquiries; give its seconds and the rows of the summary."""
    rows = list(rows)
    out.mkdir(parents=True)
    file = out / "enquiries.csv"
    with file.open("w", encoding="utf-8", newline="") as opened:
        writer = csv.DictWriter(opened, sorted({column for row in rows for column in row}))
        writer.writeheader()
        writer.writerows(rows)
    started = time.perf_counter()
    command = [sys.executable, "-m", "quotelib.cli", "batch", str(file), "--out", str(out)]
    done = subprocess.run(
        [*command, "--date", DATE, "--jobs", str(JOBS)], capture_output=True, text=True, check=False
    )
    seconds = time.perf_counter() - started
    if done.returncode == 2:
        raise SystemExit(done.stdout + done.stderr)
    with (out / "summary.csv").open(encoding="utf-8", newline="") as opened:
        return seconds, list(csv.DictReader(opened))


def pinned(count: int, folder: Path) -> Iterator[dict[str, str]]:
    """Make enquiries for builds that are decided: other levels, media, sizes and workloads."""
    asked = (
        {
            "enquiry_id": f"OPEN-{place}",
            "customer": "Nobody (invented)",
            "level": level,
            "media": media,
            "usable_tb": size,
        }
        for place, (level, media, size) in enumerate(BUILDS)
    )
    _, found = batch(asked, folder)
    builds = [row for row in found if row["outcome"] in {"quoted", "held"}]
    for place, row in enumerate(islice(cycle(builds), count)):
        yield {
            "enquiry_id": f"BENCH-{place:04}",
            "customer": f"Customer {place} (invented)",
            "workload": WORKLOADS[place // len(builds) % len(WORKLOADS)],
            "builds": str(1 + place % 3),
            **{pin: row[pin] for pin in PINS},
        }


def parameters(template: Path, cells: Mapping[str, str], record: Path) -> dict[str, str]:
    """Give what a template asks for: the file of a record, or the enquiry's cells."""
    known = papermill.inspect_notebook(str(template))
    if "record" in known:
        return {"record": str(record)}
    # Every one, blank or not: the notebook's own example must not shine through.
    return {name: cells.get(name, "") for name in known} | {"date": DATE}


def plain(cells: Mapping[str, str], record: Path, folder: Path) -> None:
    """Make one quote as anybody would who has papermill, nbconvert and the notebooks."""
    for kind, name in (("offer", "offer"), ("annex", "annex"), ("bench", "bench_sheet")):
        template = resources.templates() / f"{name}.ipynb"
        made = folder / f"{name}.ipynb"
        papermill.execute_notebook(
            str(template), str(made), parameters(template, cells, record), progress_bar=False
        )
        page = to_html(nbformat.read(made, as_version=4), title=cells["enquiry_id"], kind=kind)
        (folder / f"{name}.html").write_text(page, "utf-8")


def main() -> None:
    """Print all figures as JSON."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 100
    sample = int(sys.argv[2]) if len(sys.argv) > 2 else 4
    with tempfile.TemporaryDirectory() as named:
        folder = Path(named)
        enquiries = list(pinned(count, folder / "open"))
        seconds, rows = batch(enquiries, folder / "batch")
        made = [row["enquiry_id"] for row in rows if row["quote_file"] and row["bench_file"]]
        if len(made) < count:
            raise SystemExit(f"only {len(made)} of {count} enquiries gave a quote")
        started = time.perf_counter()
        for cells in enquiries[:: max(1, count // sample)][:sample]:
            plain(cells, folder / "batch" / "records" / f"{cells['enquiry_id']}.json", folder)
        alone = (time.perf_counter() - started) / sample
    report = {
        "cores": os.cpu_count(),
        "load_average": round(os.getloadavg()[0], 2),
        "quotes": count,
        "jobs": JOBS,
        "batch_seconds": round(seconds, 2),
        "batch_quotes_a_second": round(count / seconds, 2),
        "plain_quotes": sample,
        "plain_seconds_a_quote": round(alone, 2),
        "plain_quotes_a_second": round(1 / alone, 3),
        "ratio": round(count / seconds * alone, 1),
    }
    print(json.dumps(report, indent=2))


if __name__ == "__main__":
    main()
