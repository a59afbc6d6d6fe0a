"""What else there is to say of the choice of a server of several arrays, or with options to choose.

The same as `search.Choice` says of one array, worked out when it is asked for.
"""

from dataclasses import dataclass, replace
from decimal import Decimal
from functools import cached_property

from quotelib.catalogue.price_list import PriceList
from quotelib.choose.candidate import Candidate
from quotelib.choose.counts import Counts, Removed
from quotelib.choose.front_server import front_of_server
from quotelib.choose.near_server import is_long, near
from quotelib.choose.refused import Nearest
from quotelib.choose.search import MOST_PRICE, Choice
from quotelib.choose.server_counts import Counting, LeftOut
from quotelib.choose.strongest import Strongest, TooMany
from quotelib.choose.whole import Search, best_of
from quotelib.choose.wishes import demands, seen_by, without
from quotelib.enquiry.column import Asked
from quotelib.enquiry.request import ServerAsked


@dataclass(frozen=True)
class WholeChoice(Choice):
    """The server to propose or why there is none.

    Parameters
    ----------
    server : (PriceList, ServerAsked)
        What was asked.
    """

    server: tuple[PriceList, ServerAsked] | None = None

    @cached_property
    def _counting(self) -> Counting:
        assert self.server is not None  # given wherever one is made
        return Counting(*self.server)

    @cached_property
    def counts(self) -> Counts | None:
        """Count the servers there are, that fit and that meet every demand.

        One counts with each of the processors and memory that may be added to it. Where counting
        takes too long (`server_counts.MOST_WEIGHED`), there are at least so many.
        """
        counting = self._counting
        (fit,), all_fit = counting.numbers([counting.everything])
        (meet,), all_meet = counting.numbers([frozenset()])
        return Counts(counting.possible(), fit, meet, not all_fit, not all_meet)

    @cached_property
    def removed(self) -> tuple[Removed, ...]:
        """Say of each demand how many servers it alone removed, and what dropping it saves.

        The server's demands first, then those of each array.
        """
        assert self.server is not None
        counting, (prices, asked) = self._counting, self.server
        variants: list[LeftOut] = [
            frozenset([(place, demand.column)]) for place, demand in counting.demands
        ]
        (meet, *numbers), exact = counting.numbers([frozenset(), *variants])
        found = []
        for (place, demand), number in zip(counting.demands, numbers, strict=True):
            row = None if place is None else asked.arrays[place]
            instead = self._instead(prices, asked, place, demand)
            saves = None
            if instead is not None and self.best is not None:
                saves = (self.best.net or Decimal(0)) - (instead.net or Decimal(0))
                saves = saves if saves > 0 else None
                instead = None if instead.build == self.best.build else instead
            found.append(Removed(demand, number - meet, instead, saves, row, not exact))
        return tuple(found)

    def _instead(
        self, prices: PriceList, asked: ServerAsked, place: int | None, demand: Asked
    ) -> Candidate | None:
        """Choose without a demand; what the workload demands by itself still counts."""
        row = None if place is None else asked.arrays[place]
        if (asked.base if row is None else row).value(demand.column) is None:
            return self.best
        less = without(asked, row, demand.column)
        best = self.best
        if best is None or best.open_advice(asked.base.accept):
            return best_of(prices, less)
        # The best itself would do: no advice needs to be overruled, nothing dearer matters.
        most = best.net_of_builds or Decimal(0)
        return Search(prices, less, sound=True, most=most).run()

    @cached_property
    def nearest(self) -> tuple[Nearest, ...]:
        """Give, for a refusal, the sound servers that miss one demand by the least.

        Of a long list, where that takes too long (`near_server.MOST_ROWS`), none.
        """
        if self.best is not None:
            return ()
        assert self.server is not None
        prices, asked = self.server
        found = []
        for demand, row in demands(prices, asked):
            there = near(prices, asked, demand, row, sound=True)
            if there is not None and there.nearest:
                gives = demand.shown(seen_by(there.candidate, prices, asked, row))
                found.append(Nearest(demand, True, there.candidate, row, gives))
        return tuple(found)

    @cached_property
    def largest(self) -> Candidate | None:
        """Give, for a refusal, the sound server of the most capacity of all arrays at any price.

        It meets every demand but those of size and price. None, too, of a long list
        (`near_server.MOST_ROWS`).
        """
        if self.best is not None:
            return None
        assert self.server is not None
        prices, asked = self.server
        less = without(asked, None, "max_price")
        if is_long(prices, less):
            return None
        less = replace(less, arrays=tuple(row.without("usable_tb") for row in less.arrays))
        try:
            return Strongest(prices, less, sound=True).strongest("most_capacity")
        except TooMany:
            return None

    @cached_property
    def front(self) -> tuple[Candidate, ...]:
        """Give the servers that no other beats, within what an alternative may cost.

        None where there are too many to compare (`front_server.MOST_COMBINED`).
        """
        if self.best is None:
            return ()
        assert self.server is not None
        prices, asked = self.server
        sound = not self.best.open_advice(asked.base.accept)
        most = (self.best.net_of_builds or Decimal(0)) * MOST_PRICE
        limit = None if asked.base.value("max_price") is not None else most
        try:
            return front_of_server(prices, asked, sound=sound, most=limit)
        except TooMany:
            return ()
