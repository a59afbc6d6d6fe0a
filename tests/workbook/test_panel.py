"""What is always in sight of an answer, against the record it is of."""

from decimal import Decimal
from pathlib import Path

import pytest

from quotelib.documents.quoting import quote
from quotelib.promise.record import QuoteRecord
from quotelib.workbook.panel import Said, panel

DATE = "2026-11-25"
ASKED = {"enquiry_id": "P-1", "customer": "Eel Pie Bindery (invented)", "usable_tb": "20"}


def _said(record: QuoteRecord) -> dict[str, Said]:
    return {said.label: said for part in panel(record) for said in part.said}


def _quote(small: Path, **more: str) -> QuoteRecord:
    return quote({**ASKED, **more}, str(small), DATE)


def test_says_what_the_record_says(copy_of_small: Path) -> None:
    record = _quote(copy_of_small, survive="1", builds="3", max_price="9000", tax_code="S")
    said = _said(record)
    (server,) = record.servers
    (array,) = server.arrays
    assert said["Layout"].words == array.words
    assert said["Chassis"].more == server.chassis
    assert said["Drive"].more == array.drive
    assert said["Holds"].words.startswith(
        f"{Decimal(array.capacity.usable_bytes) / 10**12:.2f}"[:4]
    )
    assert said["Survives"].words == "any 1 drive failure"
    net, each = record.totals.net, record.totals.net_per_build
    assert each is not None
    assert said["All 3"].words == f"GBP {net:,f}"
    assert said["Each"].words == f"GBP {each:,f}"
    assert said["With tax"].words == f"GBP {record.totals.gross:,f}"
    assert said["Budget"] == Said(
        "Budget", f"GBP {Decimal(9000) - each:,f} below it for each server", "", "good"
    )
    estimates = {e.key: e for e in array.estimates}
    assert estimates["host_iops"].shown in said["Speed"].words
    assert estimates["loss_pct"].shown in said["Loss"].words


def test_a_budget_that_is_just_met(copy_of_small: Path) -> None:
    net = _quote(copy_of_small).totals.net
    assert _said(_quote(copy_of_small, max_price=f"{net:f}"))["Budget"].words == "just met"


def test_a_ship_date_where_there_is_one(copy_of_small: Path) -> None:
    import datetime as dt

    record = _quote(copy_of_small)
    assert "Ships" not in _said(record)
    dated = record.model_copy(update={"ship_date": dt.date(2026, 12, 4)})
    assert _said(dated)["Ships"].words == "4 December 2026"


def test_what_we_advise_against(copy_of_small: Path) -> None:
    held = _said(_quote(copy_of_small, level="0"))["Advised against"]
    assert held.sort == "bad" and "redundancy" in held.words
    accepted = _said(_quote(copy_of_small, level="0", accept="no_redundancy;loss_over_limit"))
    assert accepted["Accepted"].sort == "note"


@pytest.mark.parametrize("cells", [{"usable_tb": "0.1"}, {"usable_tb": "", "parts": "DISK-8T*2"}])
def test_nothing_is_made_up(copy_of_small: Path, cells: dict[str, str]) -> None:
    said = _said(_quote(copy_of_small, **cells))
    assert "Budget" not in said and "Each" not in said
    if "parts" in cells:
        assert not {"Holds", "Speed", "Layout"} & said.keys()
