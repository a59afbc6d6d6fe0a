"""Which wishes does a server have, and what is the same server without one of them."""

from collections.abc import Iterator
from dataclasses import replace

from quotelib.catalogue.price_list import PriceList
from quotelib.choose.candidate import Candidate, estimates
from quotelib.enquiry.column import Asked
from quotelib.enquiry.enquiry import Enquiry
from quotelib.enquiry.request import ServerAsked
from quotelib.predict.inputs import behind


def demands(price_list: PriceList, asked: ServerAsked) -> Iterator[tuple[Asked, Enquiry | None]]:
    """List what is demanded of a server (None) and of each array, the workload's own left out."""
    for demand in asked.base.asked(price_list):
        if demand.of != "array":
            yield demand, None
    for array in asked.arrays:
        for demand in array.asked(price_list):
            if demand.of == "array" and array.value(demand.column) is not None:
                yield demand, array


def without(asked: ServerAsked, array: Enquiry | None, *columns: str) -> ServerAsked:
    """Give the same server with some columns left out, of all of it (None) or of one array."""
    arrays = tuple(
        one.without(*columns) if array is None or one is array else one for one in asked.arrays
    )
    base = asked.base if array is not None else asked.base.without(*columns)
    return replace(asked, base=base, arrays=arrays)


def seen_by(
    best: Candidate, price_list: PriceList, asked: ServerAsked, array: Enquiry | None
) -> Candidate:
    """Give what a demand looks at: the server (None), or the one array it is made of."""
    if array is None:
        return best
    own = best.build.arrays[asked.arrays.index(array)]
    (found,) = estimates([behind(best.build, own)], price_list, array.load(price_list))
    one = replace(best.build, arrays=(own,))
    seen = replace(best, build=one, usable_bytes=own.usable_bytes)
    seen.take(found)
    return seen
