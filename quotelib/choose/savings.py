"""What does each demand cost: the cheaper server that would do if it were not made."""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from quotelib.catalogue.price_list import PriceList
from quotelib.choose.asking import asking
from quotelib.choose.candidate import Candidate
from quotelib.choose.integers import floored
from quotelib.choose.server import choose_server, single_array
from quotelib.choose.whole import Search
from quotelib.choose.wishes import demands, seen_by, without
from quotelib.enquiry.column import Asked
from quotelib.enquiry.enquiry import Enquiry
from quotelib.enquiry.request import ServerAsked


@dataclass(frozen=True, slots=True)
class Cheaper:
    """What would be chosen if a demand were not made, where it costs less.

    Parameters
    ----------
    array : Enquiry or None
        The row of the array of which it is demanded; None: of the server.
    gives : str
        What it gives instead, in words.
    """

    demand: Asked
    array: Enquiry | None
    candidate: Candidate
    gives: str


def find_cheaper(price_list: PriceList, asked: ServerAsked, best: Candidate) -> Iterator[Cheaper]:
    """Find what leaving out each demand by itself saves against the best, all else as asked.

    What the workload itself demands still counts.
    """
    limit = best.net_of_builds or Decimal(0)
    sound = not best.open_advice(asked.base.accept)
    for demand, array in demands(price_list, asked):
        if demand.needs == "price":
            continue  # a lower price never needs a higher limit
        less = without(asked, array, demand.column)
        array_alone = single_array(less)
        if sound and array_alone is not None:
            # The best itself would do: no advice needs to be overruled, nothing dearer matters.
            asked_less = asking(price_list, array_alone)
            most = floored(limit, asked_less.table.scales.places)
            found = asked_less.first(sound=True, most=most)
        elif sound:
            found = Search(price_list, less, sound=True, most=limit).run()
        else:
            found = choose_server(price_list, less).best
        if found is not None and (found.net_of_builds or Decimal(0)) < limit:
            gives = demand.shown(seen_by(found, price_list, asked, array))
            yield Cheaper(demand, array, found, gives)
