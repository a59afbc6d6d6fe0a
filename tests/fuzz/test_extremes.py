"""Is every answer from an extreme but legal price list given in bounded time, and no fault?

A few lists in each run; ``EXTREME_LISTS=1000`` for more.
"""

import os
import resource
import time
from pathlib import Path

import pytest

from quotelib.catalogue.price_list import load_price_list
from quotelib.documents.making import annex_page, offer_page
from quotelib.enquiry.reading import read_request
from quotelib.promise.answer import answer
from tests.fuzz.extremes import ASKED, extreme
from tests.fuzz.seeds import DATE
from tests.fuzz.trying import at_most

LISTS = int(os.environ.get("EXTREME_LISTS", "12"))
FIRST = int(os.environ.get("EXTREME_FIRST", "0"))
SECONDS = 60
"""Of the processor for one answer; the longest in a thousand lists stands in DEVELOPERS.md."""
MOST_MIB = 3000


@pytest.mark.parametrize("seed", range(FIRST, FIRST + LISTS))
def test_an_extreme_list_is_answered_from(seed: int, tmp_path: Path) -> None:
    prices = load_price_list(extreme(seed, tmp_path / "prices"))
    for number in (seed, seed + 2, seed + 5):
        cells = ASKED[number % len(ASKED)]
        start = time.process_time()
        with at_most(SECONDS):
            request = read_request([{"enquiry_id": "X", "customer": "Y", **cells}], prices)
            answered = answer(prices, request, DATE)
        took = time.process_time() - start
        assert took < SECONDS, (seed, number)
        if answered.record is None:
            assert all(reason.code and reason.words for reason in answered.reasons)
        elif seed % 20 == 0:
            file = tmp_path / "record.json"
            file.write_text(answered.record.to_json(), "utf-8")
            assert "Nobody" in offer_page(file)
            assert "Nobody" in annex_page(file)
    peak_mib = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    assert peak_mib < MOST_MIB
