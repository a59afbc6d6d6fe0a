"""Builds that were set beside a quote stay there as long as nothing else is otherwise."""

import datetime as dt

from quotelib.catalogue.price_list import PriceList
from quotelib.enquiry.reading import read_request
from quotelib.promise.answer import answer
from quotelib.promise.kept_builds import kept_builds
from quotelib.register.revising import answer_again
from tests.asking import order

DATE, LATER = dt.date(2026, 11, 25), dt.date(2026, 11, 26)
FIRST = {"enquiry_id": "E-1", "customer": "Somebody", "usable_tb": "4", "survive": "1"}


def test_asked_again_they_stay_and_revised_they_go(small: PriceList) -> None:
    record = answer(small, read_request([FIRST], small), DATE).record
    assert record is not None
    compared = kept_builds([("As offered", {"Net": "1"}), ("Build 1", {"Net": "2"})])
    given = record.model_copy(update={"compared": compared})
    for request in (None, order(small, usable_tb="4", survive="1")):
        again = answer_again(given, request, small, LATER).record
        assert again is not None and again.compared == compared
    revised = answer_again(given, order(small, usable_tb="8", survive="1"), small, LATER).record
    assert revised is not None and revised.compared is None
