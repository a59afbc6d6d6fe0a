"""What the choice takes for the day of a build, against the bench sheet and the record."""

import datetime as dt
import math

import pytest

from quotelib.bench.sheet import bench_sheet
from quotelib.build.placement import place
from quotelib.catalogue.price_list import PriceList
from quotelib.choose.server import choose_server
from quotelib.enquiry.reading import read_request
from quotelib.promise.answer import answer
from quotelib.ready.unattended import most_hours
from quotelib.ready.workshop import workshop
from tests.ten_builds import ALL

DATE = dt.date(2026, 11, 28)
CHOSEN = {"services": "SVC-TAKE-BACK;SVC-MIGRATE"}


@pytest.mark.parametrize("more", [{}, CHOSEN, {"builds": "7"}], ids=["one", "services", "seven"])
@pytest.mark.parametrize("name", ALL)
def test_a_server_alone_leaves_on_the_day_of_its_record(
    starter: PriceList, name: str, more: dict[str, str]
) -> None:
    cells = {"enquiry_id": "E", "customer": "Somebody", **ALL[name], **more}
    request = read_request([cells], starter)
    (asked,) = request.servers
    best = choose_server(starter, asked).best
    record = answer(starter, request, DATE, alternatives=False).record
    assert best is not None and record is not None and record.shipping is not None
    (item,) = record.shipping.items
    bench = workshop(starter, DATE, asked.base.deal.services)
    found = bench.leaves(best.build, asked.base.builds)
    assert found is not None and dt.date.fromordinal(found) <= (record.ship_date or dt.date.max)
    changes = any(array.action in {"grow", "replace"} for array in best.build.arrays)
    if not changes and item.unattended_hours is not None:
        assert record.ship_date == dt.date.fromordinal(found)


@pytest.mark.parametrize("name", ALL)
def test_hours_by_itself_are_those_of_the_bench_sheet(starter: PriceList, name: str) -> None:
    cells = {"enquiry_id": "E", "customer": "Somebody", **ALL[name]}
    (asked,) = read_request([cells], starter).servers
    best = choose_server(starter, asked).best
    assert best is not None
    sheet = bench_sheet(starter, best.build, place(best.build), asked.base.deal, may_erase=True)
    known = sum(w.high_hours for w in sheet.waits if w.what not in {"growth", "rebuilds"})
    assert math.isclose(most_hours(best.build, starter.terms.bench.soak_hours), known)
