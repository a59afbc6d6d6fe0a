"""What is known of builds under consideration: price, estimates, advice, the order of choice."""

from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache

from quotelib.build import advice
from quotelib.build.build import Build
from quotelib.build.findings import Finding, finding
from quotelib.build.layout import Array
from quotelib.build.slots import host_link_mb_s
from quotelib.catalogue.price_list import PriceList
from quotelib.catalogue.terms import AdviceTerms, Terms
from quotelib.catalogue.work import Workload
from quotelib.enquiry.enquiry import Enquiry
from quotelib.levels import place
from quotelib.predict.inputs import Behind, answers_writes
from quotelib.predict.screening import Screened, screen
from quotelib.pricing.lines import PriceBook
from quotelib.pricing.totals import price
from quotelib.text import both, spoken
from quotelib.units import plain

Rank = tuple[bool, Decimal, int, str, tuple[tuple[str, str, int, int], ...]]


@dataclass(slots=True)
class Candidate:
    """A build under consideration, with what the search knows of it.

    Parameters
    ----------
    net : Decimal or None
        Of the whole quote, in its currency; None until it is needed.
    host_iops, host_mb_s, response_ms, loss_pct : float or None
        Estimates under the enquiry's workload and the terms' years; None: not known.
    advice : tuple of Finding
        Why we would not build it.
    once_total : Decimal
        What of the net is charged once a quote: the same for every build, and no part of its price.
    """

    build: Build
    usable_bytes: int
    net: Decimal | None = None
    host_iops: float | None = None
    host_mb_s: float | None = None
    response_ms: float | None = None
    loss_pct: float | None = None
    advice: tuple[Finding, ...] = ()
    once_total: Decimal = Decimal(0)

    @property
    def net_of_builds(self) -> Decimal | None:
        """Give the net without what is charged once a quote."""
        return None if self.net is None else self.net - self.once_total

    def take(self, found: Screened) -> None:
        """Take over estimates of its only array."""
        self.host_iops, self.host_mb_s = found.host_iops, found.host_mb_s
        self.response_ms, self.loss_pct = found.response_ms, found.loss_pct

    def open_advice(self, accepted: Iterable[str]) -> tuple[Finding, ...]:
        """Give the advice against it that nobody has accepted."""
        allowed = set(accepted)
        return tuple(found for found in self.advice if found.code not in allowed)


def rank(candidate: Candidate, accepted: Iterable[str]) -> Rank:
    """Give the order of choice: unaccepted advice last, then net, then the ties."""
    build, advised = candidate.build, bool(candidate.open_advice(accepted))
    arrays = tuple(
        (a.controller.sku, a.drive.sku, place(a.layout.level), a.layout.spans) for a in build.arrays
    )
    return advised, candidate.net or Decimal(0), build.drives, build.chassis.sku, arrays


def first(candidates: Collection[Candidate], accepted: Iterable[str]) -> Candidate:
    """Give the first of some in the order of choice; at least one."""
    allowed = frozenset(accepted)

    def price(candidate: Candidate) -> tuple[bool, Decimal]:
        advised = any(found.code not in allowed for found in candidate.advice)
        return advised, candidate.net or Decimal(0)

    # The ties are weighed only among those that cost the least.
    least = min(map(price, candidates))
    return min((c for c in candidates if price(c) == least), key=lambda c: rank(c, allowed))


def describe(build: Build) -> str:
    """Name a build in one line."""
    chassis = build.chassis.sku
    return both(
        f"{a.layout.words}, {a.drive.sku} in {chassis} on {a.controller.sku}" for a in build.arrays
    )


def described(candidate: Candidate, accepted: Iterable[str]) -> str:
    """Name a build in one line, with what we advise against in it."""
    against = both(dict.fromkeys(spoken(one.code) for one in candidate.open_advice(accepted)))
    advised = f"; we advise against it: {against}" if against else ""
    return f"{describe(candidate.build)}{advised}"


def judge(candidates: Sequence[Candidate], price_list: PriceList, enquiry: Enquiry) -> None:
    """Fill in price, estimates and advice, in place."""
    fill_price(candidates, price_list, enquiry)
    fill_estimates(candidates, price_list, enquiry)


def fill_price(candidates: Iterable[Candidate], price_list: PriceList, enquiry: Enquiry) -> None:
    """Fill in the net, once for all layouts that cost the same."""
    book = PriceBook(price_list, enquiry.currency or price_list.terms.currency)
    known = _known_nets(price_list, book.currency, enquiry.deal)
    if len(known) > _MOST_NETS:  # a page that is open all day tries many options
        known.clear()
    for candidate in candidates:
        build = candidate.build
        drives = tuple((a.drives, a.layout.rule.is_array) for a in build.arrays)
        key = (id(build.parts), drives)
        if key not in known:
            priced = price(build, book, enquiry.deal)
            known[key] = build.parts, priced.net, priced.once_total
        _, candidate.net, candidate.once_total = known[key]


_MOST_NETS = 200_000


@lru_cache(maxsize=4)
def _known_nets(*_: object) -> dict[object, tuple[object, Decimal, Decimal]]:
    """Remember nets between searches; with the parts, so that their id stays theirs."""
    return {}


def fill_estimates(
    candidates: Sequence[Candidate], price_list: PriceList, enquiry: Enquiry
) -> None:
    """Fill in estimates and the advice that follows from them, of builds of one array."""
    terms, arrays = price_list.terms, []
    places: dict[int, tuple[float | None, int, str, bool]] = {}
    for candidate in candidates:
        build = candidate.build
        (array,) = build.arrays
        if (key := id(build.parts)) not in places:
            controller = array.controller
            link = host_link_mb_s(build, controller)
            places[key] = link, 1, build.chassis.backplane, answers_writes(build, controller)
        arrays.append(Behind(array, *places[key]))
    estimated = estimates(arrays, price_list, enquiry.load(price_list))
    for candidate, found in zip(candidates, estimated, strict=True):
        candidate.take(found)
        against = _advice(candidate.build, terms)
        candidate.advice = (*against, *loss_over_limit(candidate.build.arrays[0], found, terms))


def _advice(build: Build, terms: Terms) -> tuple[Finding, ...]:
    """Ask what is against a build, unless it was asked before: the same ones come again."""
    known = _known_advice(terms.advice)
    if len(known) > _MOST_BUILDS:
        known.clear()
    if id(build) not in known:
        known[id(build)] = build, tuple(advice.advice(build, terms.advice))
    return known[id(build)][1]


_MOST_BUILDS = 80_000


@lru_cache(maxsize=2)
def _known_advice(_: AdviceTerms) -> dict[int, tuple[Build, tuple[Finding, ...]]]:
    """Remember advice between searches; with the builds, so that their id stays theirs."""
    return {}


def estimates(
    arrays: Sequence[Behind], price_list: PriceList, load: Workload | None
) -> list[Screened]:
    """Estimate each array under a load of a price list, unless it was before."""
    known = _known_estimates(price_list, load)
    if len(known) > _MOST_ESTIMATES:
        known.clear()
    return screen(arrays, load, price_list.terms, known)


_MOST_ESTIMATES = 50_000


@lru_cache(maxsize=4)
def _known_estimates(*_: object) -> dict[object, Screened]:
    """Remember estimates between searches for the same load."""
    return {}


def loss_over_limit(array: Array, found: Screened, terms: Terms) -> Iterator[Finding]:
    """Advise against an array that is too likely to be lost, whatever a bad sector costs."""
    if found.array_over_pct is not None:
        lost = "the array" if array.layout.rule.is_array else "a drive, and what is on it,"
        yield finding(
            "loss_over_limit",
            f"the estimated chance of losing {lost} over {plain(terms.risk.years)} years is "
            f"{found.array_over_pct:.2g} %, above the {float(terms.risk.advise_loss_pct):g} % from "
            "which we advise against it",
            "choose a level that survives more failures, fewer or smaller drives or a hot spare, "
            "or accept the risk",
        )
