"""What fio writes, by hand, and the quotes it is held against.

Version 3 as that of Debian 12 (3.33) wrote it here (seen); version 2 from memory of its releases:
rates in KiB a second, times in microseconds, a percentile of nothing to fill up.
"""

import json
from functools import cache
from pathlib import Path
from typing import Any

from quotelib.documents.quoting import quote
from quotelib.measured.compare import asked_of
from quotelib.promise.record import QuoteRecord
from tests.bench.test_staying import ARRAY, ERASED, GROW, KEEP, REPLACE
from tests.ten_builds import SIX

DATE = "2026-11-25"
NAME = "quotelib-s1-a1-"
WHEN = 1795864973  # Saturday, 28 November 2026, 11:22:53 UTC

OLD = {**KEEP, "controller": "CTL-RB2-12G-CD", "owned": "chassis;controller;drive",
       "from_controller": "", "members": "6", "server": "one", "array": "old"}  # fmt: skip
NEW = {**ARRAY, "enquiry_id": "E", "members": "4", "server": "one", "array": "new"}
STAYING = {"keep": KEEP, "grow": GROW, "replace": REPLACE}
DATABASE = {"workload": "ledger_database"}

__all__ = ["ERASED", "NEW", "OLD", "STAYING"]


@cache
def record(name: str = "card, RAID 5, twelve drives", **more: str) -> QuoteRecord:
    cells = {"enquiry_id": "M-1", "customer": "Invented", **SIX[name], **DATABASE, **more}
    return quote(cells, date=DATE)


def rows(*cells: dict[str, str]) -> QuoteRecord:
    return quote(cells, date=DATE)


def estimate(of: QuoteRecord, key: str) -> tuple[float, float, float]:
    """Give low, value and high of an estimate of the first array."""
    (found,) = [one for one in of.servers[0].arrays[0].estimates if one.key == key]
    assert found.low is not None and found.value is not None and found.high is not None
    return found.low, found.value, found.high


def options(of: QuoteRecord, key: str) -> dict[str, str]:
    """Give the options of a job as the job file has them, all in one as of a command line."""
    more = {"filename": "/dev/sdz", "direct": "1", "ioengine": "libaio", "runtime": "240"}
    return {**more, **asked_of(of)[NAME + key][1].options}


def side(iops: float = 0, mb_s: float = 0, ms: float = 0, **percentiles: float) -> dict[str, Any]:
    """Write what version 3 says of reads or writes."""
    told = {f"{float(name[1:].replace('_', '.')):f}": 1e6 * ms for name, ms in percentiles.items()}
    return {
        "bw_bytes": int(mb_s * 1e6),
        "bw": int(mb_s * 1e6 / 1024),
        "iops": iops,
        "runtime": 240_001 if iops else 0,
        "total_ios": int(iops * 240),
        "lat_ns": {"min": 0, "max": 0, "mean": 1e6 * ms, "stddev": 0.0, "N": int(iops * 240)},
        "clat_ns": {"mean": 0.9e6 * ms, "percentile": told} if told else {"mean": 0.9e6 * ms},
    }


def job(name: str, given: dict[str, str], **more: Any) -> dict[str, Any]:
    return {
        "jobname": name, "groupid": 0, "error": 0, "job options": given,
        "read": side(), "write": side(), **more,
    }  # fmt: skip


def output(*jobs: dict[str, Any], **more: Any) -> dict[str, Any]:
    time = "Sat Nov 28 11:22:53 2026"
    return {"fio version": "fio-3.33", "timestamp": WHEN, "time": time, "jobs": [*jobs], **more}


def old_side(iops: float, kib_s: float, us: float) -> dict[str, Any]:
    """Write what version 2 says of reads or writes."""
    empty = {"0.00": 0, "99.000000": 9 * us}
    return {
        "io_bytes": int(kib_s * 240), "bw": kib_s, "iops": iops, "runtime": 240_010,
        "total_ios": int(iops * 240), "lat": {"min": 1, "max": 9, "mean": us, "stddev": 0.1},
        "clat": {"mean": us, "percentile": empty},
    }  # fmt: skip


def write(folder: Path, data: object, name: str = "fio.json", before: str = "") -> Path:
    path = folder / name
    path.write_text(before + json.dumps(data, indent=2), "utf-8")
    return path
