"""What does each candidate cost and do: price and estimates, filled in for many at once."""

from collections.abc import Iterable
from decimal import Decimal

from quotelib.catalogue.price_list import PriceList
from quotelib.pricing.lines import PriceBook
from quotelib.pricing.totals import Deal, net_total
from quotelib.quote.candidate import Candidate
from quotelib.quote.enquiry import Enquiry
from quotelib.quote.screening import screen


def deal_of(enquiry: Enquiry) -> Deal:
    """Take from an enquiry what bears on its price."""
    return Deal(enquiry.builds, enquiry.discount_pct, enquiry.tax_code)


def judge(candidates: list[Candidate], price_list: PriceList, enquiry: Enquiry) -> None:
    """Fill in price, estimates and advice.

    Parameters
    ----------
    candidates : list of Candidate
        Changed in place.
    price_list : PriceList
    enquiry : Enquiry
    """
    price(candidates, price_list, enquiry)
    estimate(candidates, price_list, enquiry)


def estimate(candidates: list[Candidate], price_list: PriceList, enquiry: Enquiry) -> None:
    """Fill in estimates and advice."""
    workload = price_list.workloads[enquiry.workload] if enquiry.workload else None
    screen(candidates, workload, price_list.terms)


def price(candidates: Iterable[Candidate], price_list: PriceList, enquiry: Enquiry) -> None:
    """Fill in the net, once for all layouts that cost the same."""
    book = PriceBook(price_list, enquiry.currency or price_list.terms.currency)
    deal = deal_of(enquiry)
    known: dict[tuple[int, int, bool], Decimal] = {}
    for candidate in candidates:
        build = candidate.build
        key = (id(build.parts), build.layout.drives, build.layout.rule.is_array)
        if key not in known:
            known[key] = net_total(build, book, deal)
        candidate.net = known[key]
