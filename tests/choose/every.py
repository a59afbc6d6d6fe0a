"""Every build there is, without any of the search's shortcuts, each made once."""

from collections.abc import Iterator
from itertools import product

from quotelib.build import fit
from quotelib.build.build import Build
from quotelib.build.layout import Layout
from quotelib.catalogue.price_list import PriceList
from quotelib.enquiry.columns import PINS
from quotelib.enquiry.enquiry import Enquiry
from quotelib.levels import LEVELS
from tests.small_list import build


class Everything:
    """Builds of all parts in every layout of as many drives as have bays, in up to 4 spans.

    Only those that nothing stops. They are tried when first asked for, and kept: cases with
    other demands share them.
    """

    def __init__(self, prices: PriceList) -> None:
        self._prices = prices
        self._tried: dict[tuple[str, Layout, str], Build | None] = {}

    def agreeing(self, enquiry: Enquiry) -> Iterator[Build]:
        """Yield those that agree with the pins; no spares unless pinned."""
        listed = (self._prices.chassis, self._prices.controllers, self._prices.drives)
        most = max(chassis.bays for chassis in self._prices.chassis.values())
        members = range(1, most - (enquiry.spares or 0) + 1)
        every = (*listed, members, LEVELS, range(1, 5))
        pinned = (enquiry.value(name) for name in PINS[: len(every)])
        left = [
            [one for one in those if pin in (None, one)]
            for pin, those in zip(pinned, every, strict=True)
        ]
        for chassis, controller, drive, count, level, spans in product(*left):
            layout = Layout(level, count, spans, enquiry.spares or 0)
            found = self._sound(f"{chassis} {controller} {drive}", layout, " ".join(enquiry.owned))
            if found:
                yield found

    def _sound(self, skus: str, layout: Layout, owned: str) -> Build | None:
        key = (skus, layout, owned)
        if key not in self._tried:
            made = build(self._prices, skus, layout, owned=owned)
            self._tried[key] = None if fit.stops(made) else made
        return self._tried[key]
