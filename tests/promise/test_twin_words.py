"""What is said of the same controller as mezzanine and as card."""

import pytest

from quotelib.catalogue.price_list import PriceList
from quotelib.choose.search import choose
from quotelib.choose.twins import find_twins
from quotelib.promise.answer import twin_words
from tests.asking import ask

DISKS = {"drive": "DRV-HDD-1200-SAS-10K", "members": "5", "level": "5", "chassis": "CHS-1U-10S"}
ELSEWHERE = {"drive": "DRV-HDD-8T-SAS", "members": "6", "level": "6"}


def words(price_list: PriceList, **cells: str) -> str:
    enquiry = ask(price_list, **cells)
    best = choose(price_list, enquiry).best
    assert best is not None
    (twin,) = find_twins(price_list, enquiry, best.build)
    return twin_words(best.build, twin, "GBP", enquiry.builds)


@pytest.mark.parametrize(
    ("cells", "said"),
    [
        # The amounts are worked out in tests/choose/test_twins.py.
        ({**DISKS, "controller": "CTL-RE-12G-CD"},
         "keeping the slot free with it saves GBP 36.63 net"),
        ({**DISKS, "controller": "CTL-RE-12G-MZ"}, "keeping the slot free saves GBP 36.63 net"),
        ({**DISKS, "controller": "CTL-RF8-12G-CD"},
         "keeping the slot free with it costs GBP 17.38 net more"),
        ({**ELSEWHERE, "controller": "CTL-RB2-12G-CD"}, "takes CHS-2U-12L as chassis"),
        ({**ELSEWHERE, "controller": "CTL-RB2-12G-CD", "chassis": "CHS-2U-8L"},
         "which does not serve here: "),
    ],
)  # fmt: skip
def test_what_is_said(starter: PriceList, cells: dict[str, str], said: str) -> None:
    assert said in words(starter, **cells)
