"""No cost, no margin and nothing else that is the seller's is in any file for the customer."""

import csv
import datetime as dt
import io
import re
import xml.etree.ElementTree as ET
import zipfile
from collections.abc import Callable, Iterator
from decimal import Decimal
from pathlib import Path

import pypdf
import pytest

from quotelib.documents.batch.files import ANNEX
from quotelib.documents.batch.run import run_batch
from quotelib.documents.quoting import read_record
from quotelib.promise.record import QuoteRecord
from tests import small_list

DATE = dt.date(2026, 11, 25)
TELLING = "pays-late-zq7"
# Whoever reads one of these in an offer has read what was not meant for them.
_WORDS = ("margin", "unit_cost", "internal", "hold_reasons", "for_whom", "the floor of", "markup")
_PINS = {"chassis": "BOX-12", "controller": "CARD", "drive": "DISK-8T", "members": "6",
         "level": "6"}  # fmt: skip
_ROWS = (
    {"enquiry_id": "A", "customer": "Kiln & Sons", "note": TELLING, "tax_code": "S",
     "discount_pct": "3", **_PINS},
    {"enquiry_id": "B", "customer": "Kiln & Sons", "note": TELLING, "server": "first", **_PINS},
    {"enquiry_id": "B", "server": "second", "chassis": "BOX-4", "controller": "BOARD",
     "drive": "DISK-4T", "members": "2", "level": "1", "builds": "3"},
    {"enquiry_id": "B", "parts": "DISK-8T*2;CABLE"},
    {"enquiry_id": "B", "line": "Old one taken back", "line_price": "-321",
     "line_cost": "61937.13"},
    {"enquiry_id": "C", "customer": "Kiln & Sons", "note": TELLING, "discount_pct": "60", **_PINS},
    # What is left open is shown with what else there was.
    {"enquiry_id": "D", "customer": "Kiln & Sons", "note": TELLING, "usable_tb": "6",
     "survive": "1"},
)  # fmt: skip


def _prices(folder: Path) -> tuple[Path, list[Decimal]]:
    """Write a price list whose costs are like nothing else in it; give them, too."""
    tables, costs = small_list.copy(), []
    for rows in tables.values():
        for row in rows:
            if "unit_cost" in row and float(row["unit_price"] or 0) > 0:
                costs.append(Decimal(41937 + 1000 * len(costs)) + Decimal("0.13"))
                row["unit_cost"] = str(costs[-1])
                row["unit_price"] = str(costs[-1] * 2 + Decimal("7.31") * len(costs))
    return small_list.write(folder, tables), costs


def _batch(folder: Path, exports: tuple[str, ...]) -> Path:
    prices, _ = _prices(folder / "prices")
    names = list(dict.fromkeys(name for row in _ROWS for name in row))
    with (folder / "e.csv").open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, names)
        writer.writeheader()
        writer.writerows(_ROWS)
    result = run_batch(folder / "e.csv", folder / "out", prices=prices, date=DATE, exports=exports)
    assert dict(result.counts) == {"quoted": 3, "held": 1}, result.rows
    return folder / "out"


def _told_in_xml(data: bytes) -> Iterator[str]:
    """Give what an XML file says: its texts, and its attributes' values."""
    for node in ET.fromstring(data).iter():
        yield from filter(None, (node.text, node.tail, *node.attrib.values()))


def _told_in_pdf(data: bytes) -> Iterator[str]:
    read = pypdf.PdfReader(io.BytesIO(data))
    yield from (str(value) for value in (read.metadata or {}).values())
    yield from (page.extract_text() for page in read.pages)
    for number in range(1, read.trailer["/Size"]):
        held = pypdf.generic.IndirectObject(number, 0, read).get_object()
        if isinstance(held, pypdf.generic.StreamObject):
            yield held.get_data().decode("latin-1")
        yield str(held)


def told(path: Path) -> Iterator[str]:
    """Give everything that a file says, its name too."""
    yield path.name
    data = path.read_bytes()
    if path.suffix == ".html":
        yield re.sub(r"(?s)<style>.*?</style>", "", data.decode("utf-8"))
    elif path.suffix == ".xml":
        yield from _told_in_xml(data)
    elif path.suffix == ".xlsx":
        with zipfile.ZipFile(io.BytesIO(data)) as parts:
            for name in parts.namelist():
                yield name
                yield from _told_in_xml(parts.read(name))
    else:
        assert path.suffix == ".pdf", path
        yield from _told_in_pdf(data)


def _secrets(record: QuoteRecord, costs: list[Decimal]) -> set[str]:
    amounts = {*costs, record.internal.cost, *record.internal.unit_costs.values()}
    kept = {amount for amount in amounts if amount > 1000}
    kept |= {Decimal("61937.13"), record.internal.cost}
    written = {how for a in kept for how in (f"{a:f}", f"{a:,f}", f"{a:f}".replace(".", ","))}
    pct = record.internal.margin_pct
    assert pct is not None
    reasons = {reason.what.casefold() for reason in record.internal.hold_reasons}
    return written | {TELLING, f"{pct} %", f"{pct}%", *_WORDS, *reasons}


@pytest.mark.parametrize("exports", [("xlsx", "ubl"), ("pdf",)])
def test_no_secret_is_in_any_file_for_the_customer(
    exports: tuple[str, ...], tmp_path: Path, request: pytest.FixtureRequest
) -> None:
    if "pdf" in exports:
        request.getfixturevalue("prints")
    out = _batch(tmp_path, exports)
    _, costs = _prices(tmp_path / "again")
    seen = set()
    for room in ("quotes", "items", "ubl"):
        for path in sorted((out / room).rglob("*.*")) if (out / room).exists() else ():
            record = read_record(out / f"records/{path.name[0]}.json")
            assert record.internal.note == TELLING and record.internal.cost > 40_000
            said = list(told(path))
            whole = "\n".join(said).casefold()
            for secret in _secrets(record, costs):
                assert secret.casefold() not in whole, f"{path}: {secret}"
            # What may be told is found, so that the search can find.
            gross = record.totals.gross
            written = {f"{gross:f}", f"{gross:,f}", f"{float(gross):.15g}"}
            annex = path.stem.endswith(ANNEX)  # which is about the thing, not the money
            assert annex or any(amount in whole for amount in written), path
            assert "kiln" in whole, path
            assert ("possible builds" in whole) is (annex and record.enquiry_id == "D"), path
            seen.add(path.suffix)
    assert seen == {".html"} | {{"ubl": ".xml"}.get(one, f".{one}") for one in exports}


def test_the_search_finds_what_is_in_a_record(tmp_path: Path) -> None:
    out = _batch(tmp_path, ())
    _, costs = _prices(tmp_path / "again")
    for path in (out / "records").glob("*.json"):
        record, text = read_record(path), path.read_text("utf-8").casefold()
        found = {secret for secret in _secrets(record, costs) if secret.casefold() in text}
        assert {TELLING, "internal", "unit_cost", f"{record.internal.cost:f}"} <= found


def test_the_search_looks_into_every_kind(
    tmp_path: Path, prints: Callable[..., bytes]
) -> None:  # fmt: skip
    page = f"<title>a</title><body>{TELLING}<p>41,937.13</p>"
    (tmp_path / "a.pdf").write_bytes(prints(page, DATE))
    (tmp_path / "b.pdf").write_bytes(prints(f"<title>{TELLING}</title><body>41,937.13", DATE))
    for name in ("a.pdf", "b.pdf"):
        said = "\n".join(told(tmp_path / name))
        assert TELLING in said and "41,937.13" in said
    with zipfile.ZipFile(tmp_path / "c.xlsx", "w") as file:
        file.writestr("docProps/core.xml", f"<a><b>{TELLING}</b></a>")
    assert TELLING in "\n".join(told(tmp_path / "c.xlsx"))
