"""Says where cards and drives sit otherwise in record files than the second program has them."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from .reading import Row
from .reference import PLACES


def places_in(server: dict[str, Any]) -> dict[str, Any]:
    """Pick out of a server of a record what the second program says of places, too."""
    placement = server["placement"]
    seats = [seat for seat in placement["seats"] if seat["takes"] == "slot"]
    return {
        "chassis": placement["chassis"],
        "builds": server["builds"],
        "slots": sorted([seat["sku"], seat["number"]] for seat in seats),
        "bays": [[bay["bay"], bay["use"], bay["array"]] for bay in placement["bays"]],
    }


def place_differences(records: Path, reference_rows: list[Row]) -> list[str]:
    """Compare the places of every server that was built, in the order of the quotes."""
    expected: dict[str, list[dict[str, Any]]] = {}
    for row in reference_rows:
        if row["outcome"] in ("quoted", "held"):
            expected.setdefault(row["enquiry_id"], [])
            if row[PLACES]:
                expected[row["enquiry_id"]].append(json.loads(row[PLACES]))
    differences = []
    for enquiry_id, servers in expected.items():
        path, where = records / f"{enquiry_id}.json", f"record of {enquiry_id!r}"
        if not path.exists():
            differences.append(f"{where}: there is none")
            continue
        written = json.loads(path.read_text(encoding="utf-8"))["servers"]
        if len(written) != len(servers):
            differences.append(f"{where}: has {len(written)} servers, not {len(servers)}")
        for n, (server, wanted) in enumerate(zip(written, servers, strict=False), start=1):
            found = places_in(server)
            differences += [
                f"{where}, server {n}: {name} is {found[name]}, not {wanted[name]}"
                for name in wanted
                if found[name] != wanted[name]
            ]
    return differences
