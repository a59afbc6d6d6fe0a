"""Which server is it, whatever is asked of it, or what is in the way where there is none."""

from collections.abc import Sequence
from functools import lru_cache

from quotelib.build.build import Build
from quotelib.catalogue.price_list import PriceList
from quotelib.choose.asking import anything_listed, asking
from quotelib.choose.candidate import Candidate
from quotelib.choose.refusing import open_options, why_none
from quotelib.choose.search import Choice, choose
from quotelib.choose.whole import best_of as best_of
from quotelib.choose.whole_choice import WholeChoice
from quotelib.enquiry.columns import loose
from quotelib.enquiry.enquiry import Enquiry
from quotelib.enquiry.request import Request, ServerAsked
from quotelib.pricing.quote import Ordered


def single_array(asked: ServerAsked) -> Enquiry | None:
    """Give the one array of a server of which nothing else is left open; None for any other."""
    alone = len(asked.arrays) == 1 and not open_options(asked.base)
    return asked.arrays[0] if alone else None


@lru_cache(maxsize=256)
def choose_server(price_list: PriceList, asked: ServerAsked) -> Choice:
    """Choose the server to propose, or say why there is none.

    Returns
    -------
    Choice
        As `search.choose` describes it; of several arrays or chosen options the best alone stands
        in `feasible`. Ties go on from array to array in their order, then to processors and memory.
    """
    array = single_array(asked)
    if array is not None:
        return choose(price_list, array)
    best = best_of(price_list, asked)
    if best is not None:
        return WholeChoice(best, (), server=(price_list, asked))
    refused = tuple(why_none(price_list, asked))
    return WholeChoice(None, refused, server=(price_list, asked))


def best_server(price_list: PriceList, asked: ServerAsked) -> Candidate | None:
    """Find the server to propose, without asking why where there is none."""
    array = single_array(asked)
    if array is None:
        return best_of(price_list, asked)
    if not anything_listed(price_list, array):
        return None
    return asking(price_list, array).first()


def ordered(price_list: PriceList, request: Request, builds: Sequence[Build]) -> Ordered:
    """Give what a request comes to with the builds chosen for its servers."""
    parts = loose(price_list)
    deals = (server.base.deal for server in request.servers)
    return Ordered(
        tuple(zip(builds, deals, strict=True)),
        tuple(parts[sku] for sku in request.parts),
        request.services,
        request.lines,
    )
