"""Time of the choice of whole servers in a fresh process each; prints JSON.

Run: python tests/benchmarks/bench_order.py [repeats]

The limit is two open arrays with a workload each, cores and memory, over the starter list: at most
2 s on two cores, nothing remembered from before.
"""

from __future__ import annotations

import json
import subprocess
import sys

ORDERS = {
    "two open arrays, a workload each, cores and memory": [
        {
            "enquiry_id": "B", "customer": "Invented", "array": "vm", "usable_tb": "20",
            "workload": "virtual_machines", "cores": "64", "memory_gb": "512",
            "options": "NET-2X25G-CD",
        },
        {"enquiry_id": "B", "array": "backup", "usable_tb": "8", "workload": "backup_target"},
    ],
    "three open arrays": [
        {"enquiry_id": "B", "customer": "Invented", "array": "boot", "usable_tb": "0.2"},
        {"enquiry_id": "B", "array": "data", "usable_tb": "8", "workload": "ledger_database"},
        {"enquiry_id": "B", "array": "files", "usable_tb": "20", "workload": "office_files"},
    ],
}  # fmt: skip

ONE = """
import json, sys, time
from quotelib.catalogue.price_list import load_price_list
from quotelib.choose.server import choose_server
from quotelib.enquiry.reading import read_request
prices = load_price_list()
(asked,) = read_request(json.loads(sys.argv[1]), prices).servers
start = time.perf_counter()
best = choose_server(prices, asked).best
print(json.dumps([time.perf_counter() - start, best is not None and str(best.net)]))
"""


def main(repeats: int) -> None:
    """Time each order so often."""
    found = {}
    for name, rows in ORDERS.items():
        runs = [
            json.loads(subprocess.run(
                [sys.executable, "-c", ONE, json.dumps(rows)], check=True, capture_output=True,
            ).stdout)
            for _ in range(repeats)
        ]  # fmt: skip
        times = sorted(seconds for seconds, _ in runs)
        found[name] = {"seconds": [round(one, 2) for one in times], "net": runs[0][1]}
    print(json.dumps(found, indent=2))


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 5)
