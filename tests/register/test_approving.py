"""Somebody says yes to what holds a quote: in the register and the record, never in the offer."""

from __future__ import annotations

import dataclasses
import datetime as dt
from decimal import Decimal
from pathlib import Path

import pytest

from quotelib.catalogue.price_list import PriceList
from quotelib.documents.making import write_documents
from quotelib.errors import InputError
from quotelib.register.approving import approve
from quotelib.register.book import Register
from quotelib.register.revising import answer_again, says_the_same
from tests.register.quotes import DATE, made

LATER = DATE + dt.timedelta(days=3)
LOW = {"discount_pct": "15"}
"""A discount that takes the margin under the floor."""
NO_COPY = {"level": "0"}


def dearer(price_list: PriceList, by: Decimal) -> PriceList:
    """Give a list on which every drive costs so much more to the customer."""
    drives = {
        sku: drive.model_copy(update={"unit_price": drive.unit_price + by})
        for sku, drive in price_list.drives.items()
    }
    return dataclasses.replace(price_list, drives=drives, fingerprint=f"other{by}")


@pytest.fixture
def held(register: Register, small: PriceList) -> Register:
    """Give a register with a quote that is held for its margin, and one for a finding."""
    both = [made(small, "LOW", **LOW), made(small, "BARE", **LOW, **NO_COPY)]
    assert [[r.code for r in one.internal.hold_reasons] for one in both] == [
        ["margin_floor"], ["no_redundancy", "margin_floor"],
    ]  # fmt: skip
    register.give(both, "Kim")
    return register


def test_a_margin_under_the_floor(held: Register, small: PriceList) -> None:
    given = approve(held, "2026-0001", ["margin_floor"], "Lou", small, LATER, "a good customer")
    record = given.record
    assert (given.news, record.numbered) == ("revised", "2026-0001 rev. 2")
    assert (record.outcome, record.draft, record.internal.hold_reasons) == ("quoted", False, ())
    assert not any("draft" in step for step in record.next_steps)
    (said,) = record.internal.approvals
    assert (said.code, said.by, said.note) == ("margin_floor", "Lou", "a good customer")
    assert "under the floor" in said.what
    assert abs(said.moment - dt.datetime.now(dt.UTC)) < dt.timedelta(minutes=5)
    # The one before stays as it was, and the price is the same.
    before = held.revision("2026-0001", 1).record
    assert (before.outcome, before.totals) == ("held", record.totals)
    assert [(e.kind, e.value, e.note, e.done_by) for e in held.history("2026-0001")[1:]] == [
        ("approval", "margin_floor", "a good customer", "Lou"),
        ("revision", "quoted", "", "Lou"),
    ]


def test_findings_one_after_the_other(held: Register, small: PriceList) -> None:
    first = approve(held, "2026-0002", ["no_redundancy"], "Lou", small, LATER)
    assert [r.code for r in first.record.internal.hold_reasons] == ["margin_floor"]
    assert first.record.draft
    second = approve(held, "2026-0002", ["margin_floor"], "Max", small, LATER)
    assert second.record.outcome == "quoted"
    said = [(one.code, one.by) for one in second.record.internal.approvals]
    assert said == [("no_redundancy", "Lou"), ("margin_floor", "Max")]
    accepted = {f.code for f in second.record.servers[0].findings if f.accepted}
    assert accepted == {"no_redundancy"}


def test_it_stays_so_while_nothing_else_changes_and_no_longer(
    held: Register, small: PriceList
) -> None:
    approve(held, "2026-0001", ["margin_floor"], "Lou", small, DATE)
    approve(held, "2026-0002", ["no_redundancy", "margin_floor"], "Lou", small, DATE)
    for number, asked in (("2026-0001", made(small, "LOW", **LOW)), ("2026-0002", None)):
        before = held.revision(number).record
        came = answer_again(before, None, small, LATER).record
        assert came is not None and came.outcome == "quoted"
        assert says_the_same(before, came)
        if asked is not None:
            # Nor does a batch that knows nothing of it give the quote anew.
            assert held.give([asked], "Kim")[0].news == "as it was"
    # At another price it is another margin, so the yes does not hold.
    before = held.revision("2026-0001").record
    came = answer_again(before, None, dearer(small, Decimal(-1)), LATER).record
    assert came is not None and came.outcome == "held"
    assert [r.code for r in came.internal.hold_reasons] == ["margin_floor"]
    assert came.internal.approvals == ()
    assert not any("Said yes" in change.line for change in came.changes)


def test_what_cannot_be_accepted(held: Register, small: PriceList) -> None:
    def refused(match: str, *codes: str, prices: PriceList = small) -> None:
        with pytest.raises(InputError, match=match):
            approve(held, "2026-0001", codes, "Lou", prices, LATER)
        assert held.revision("2026-0001").revision == 1

    refused("is not held for no_redundancy; it is held for margin_floor", "no_redundancy")
    refused(
        r"cannot be accepted as it was given: today it would be another quote \(net GBP [\d.,]+, "
        r"given at GBP [\d.,]+\); revise it first \(quotelib revise 2026-0001\), then say yes",
        "margin_floor", prices=dearer(small, Decimal(5)),
    )  # fmt: skip
    with pytest.raises(InputError, match="is held, so it was not offered yet; say yes to what"):
        held.became("2026-0001", "ordered", "Kim")
    held.became("2026-0001", "declined", "Kim")
    refused("is declined, so it is not revised", "margin_floor")


def test_no_paper_that_leaves_the_house_says_who(
    held: Register, small: PriceList, tmp_path: Path
) -> None:
    given = approve(
        held, "2026-0001", ["margin_floor"], "Quillon Brathwick", small, LATER, "owed a favour"
    )  # fmt: skip
    names = write_documents(given.record, tmp_path, "LOW", given.text)
    told = ("quillon", "favour", "margin_floor", "approv", "under the floor")
    for name in names.values():
        text = (tmp_path / name).read_text("utf-8").lower()
        words = [word for word in told if word in text]
        assert words == (list(told) if name.startswith("records/") else []), name
