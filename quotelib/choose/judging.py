"""What does each candidate cost and do: price, estimates and advice, for many at once."""

from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal

from quotelib.build import advice
from quotelib.build.findings import Finding, finding
from quotelib.catalogue.price_list import PriceList
from quotelib.catalogue.terms import Terms
from quotelib.choose.candidate import Candidate
from quotelib.enquiry.enquiry import Enquiry
from quotelib.predict.screening import screen
from quotelib.pricing.lines import PriceBook
from quotelib.pricing.totals import price
from quotelib.units import plain


def judge(candidates: Sequence[Candidate], price_list: PriceList, enquiry: Enquiry) -> None:
    """Fill in price, estimates and advice, in place."""
    fill_price(candidates, price_list, enquiry)
    fill_estimates(candidates, price_list, enquiry)


def fill_price(candidates: Iterable[Candidate], price_list: PriceList, enquiry: Enquiry) -> None:
    """Fill in the net, once for all layouts that cost the same."""
    book = PriceBook(price_list, enquiry.currency or price_list.terms.currency)
    known: dict[object, Decimal] = {}
    for candidate in candidates:
        build = candidate.build
        drives = tuple((a.drives, a.layout.rule.is_array) for a in build.arrays)
        key = (id(build.parts), drives)
        if key not in known:
            known[key] = price(build, book, enquiry.deal).net
        candidate.net = known[key]


def fill_estimates(
    candidates: Sequence[Candidate], price_list: PriceList, enquiry: Enquiry
) -> None:
    """Fill in estimates and the advice that follows from them."""
    terms = price_list.terms
    found = screen([c.build for c in candidates], enquiry.load(price_list), terms)
    for candidate, screened in zip(candidates, found, strict=True):
        candidate.host_iops = screened.host_iops
        candidate.host_mb_s = screened.host_mb_s
        candidate.loss_pct = screened.loss_pct
        over = _loss_over_limit(screened.loss_pct, terms)
        candidate.advice = (*advice.advice(candidate.build), *over)


def _loss_over_limit(loss_pct: float | None, terms: Terms) -> Iterator[Finding]:
    limit = float(terms.risk.advise_loss_pct)
    if loss_pct is not None and loss_pct > limit:
        yield finding(
            "loss_over_limit",
            f"the estimated chance of losing data over {plain(terms.risk.years)} years is "
            f"{loss_pct:.2g} %, above the {limit:g} % from which we advise against it",
            "choose a level that survives more failures, fewer or smaller drives or a hot "
            "spare, or accept the risk",
        )
