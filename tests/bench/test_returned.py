"""Drives that come back: when the sheet says what is done with them, and what it says."""

from __future__ import annotations

import datetime as dt

import pytest

from quotelib.catalogue.price_list import PriceList
from quotelib.enquiry.reading import read_request
from quotelib.promise.answer import answer
from quotelib.promise.record import Server
from tests.ten_builds import ALL

PINNED = ALL["passed through"]
OWNED = ALL["board, RAID 1, the customer's chassis"]


def servers(prices: PriceList, *rows: dict[str, str]) -> tuple[Server, ...]:
    first, *more = rows
    cells = [{"enquiry_id": "T", "customer": "Invented", **first}]
    request = read_request([*cells, *({"enquiry_id": "T", **row} for row in more)], prices)
    made = answer(prices, request, dt.date(2026, 11, 25), alternatives=False).record
    assert made is not None
    return made.servers


@pytest.mark.parametrize(
    ("cells", "comes"),
    [
        (PINNED, False),
        # Chosen, and not done drive by drive: a visit, a migration.
        ({**PINNED, "services": "SVC-ONSITE-3Y;SVC-MIGRATE"}, False),
        ({**PINNED, "services": "SVC-ERASE-CERT"}, True),
        # New drives take the bays of those that are in the customer's chassis.
        (OWNED, True),
        ({**PINNED, "owned": "drive", "accept": f"{PINNED['accept']};erases_data"}, False),
        # A supply for their server: their drives stay theirs.
        ({"chassis": "CHS-2U-12L", "owned": "chassis", "options": "PSU-800"}, False),
    ],
)
def test_the_section_is_there_where_drives_come_back(
    starter: PriceList, cells: dict[str, str], comes: bool
) -> None:
    (server,) = servers(starter, cells)
    assert (server.bench.returned is not None) == comes


@pytest.mark.parametrize(("price", "comes"), [("-120.00", True), ("120.00", False)])
def test_what_is_taken_in_payment_comes_back_once(
    starter: PriceList, price: str, comes: bool
) -> None:
    found = servers(
        starter,
        {**PINNED, "server": "A"},
        {**PINNED, "server": "B"},
        {"line": "Old server", "line_price": price, "line_cost": "0"},
    )
    assert [server.bench.returned is not None for server in found] == [comes, False]


def test_no_description_is_read(starter: PriceList) -> None:
    """A visit described as erasure is a visit still."""
    service = starter.services["SVC-ONSITE-3Y"]
    named = service.model_copy(update={"description": "Erasure of drives after NIST SP 800-88"})
    services = {**starter.services, service.sku: named}
    prices = type(starter)(**{**vars(starter), "services": services})
    (server,) = servers(prices, {**PINNED, "services": service.sku})
    assert server.bench.returned is None


def test_method_verification_certificate_and_waste(starter: PriceList) -> None:
    """After NIST SP 800-88 Rev. 1, December 2014 (its terms from memory, its title page seen)."""
    (server,) = servers(starter, {**PINNED, "services": "SVC-ERASE-CERT"})
    returned = server.bench.returned
    assert returned is not None
    handed, method, verified, certified = returned.words
    assert "in writing" in handed and "serial numbers" in handed
    for words in ("NIST SP 800-88", "Rev. 1, 2014", "Rev. 2, 2025", "Clear", "Purge", "Destroy"):
        assert words in method
    # By the medium; a key alone protects only what was always encrypted.
    for words in ("Disks:", "Flash:", "cryptographic", "encrypted from the first write"):
        assert words in method
    assert "samples" in verified and "another person" in verified
    for words in ("serial number", "method", "verification", "person", "date", "local law"):
        assert words in certified
    assert returned.columns[0] == "Serial no."
