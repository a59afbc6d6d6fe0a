"""What else would meet the enquiry: more of something, other levels, and other controllers."""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from quotelib.catalogue.parts import Controller
from quotelib.catalogue.price_list import PriceList
from quotelib.choose.candidate import Candidate, first, rank
from quotelib.choose.search import Choice, choose
from quotelib.enquiry.enquiry import Enquiry
from quotelib.facts import Reason
from quotelib.levels import LEVELS
from quotelib.units import TB

MOST_PRICE = Decimal("1.5")
"""How many times the least net an alternative may cost to be worth showing; ours, no source."""

_CLEARLY_LESS = 0.95
"""What differs by less than a twentieth is the same, given the ranges; ours, no source."""

Strength = Literal["level", "most_capacity", "fastest", "least_risk"]

_GIVES: dict[Strength, Callable[[Candidate], float | None]] = {
    "most_capacity": lambda c: c.usable_bytes,
    "fastest": lambda c: c.host_iops,
    "least_risk": lambda c: None if c.loss_pct is None else -c.loss_pct,
}
"""Of what a build with a strength gives the most; None: not known."""


@dataclass(frozen=True, slots=True)
class Other:
    """A build that meets the enquiry too, and what speaks for it."""

    kinds: tuple[Strength, ...]
    candidate: Candidate


def find_alternatives(
    price_list: PriceList, enquiry: Enquiry, choice: Choice, best: Candidate
) -> tuple[Other, ...]:
    """Find what else would meet the enquiry than the quote, the best of what `choose` found.

    Returns
    -------
    tuple of Other
        Of an enquiry that says how much it may cost: the most capacity, the fastest and the least
        risk for no more, none with unaccepted advice against it. Of any other: the least risk and
        the fastest within `MOST_PRICE` times the least cost that are clearly better, neither with
        such advice unless the quote has it. Then the least cost at each other level.
    """
    levels = _at_other_levels(price_list, enquiry, choice, best)
    return (*_by_strength(enquiry, choice, best), *levels)


def _by_strength(enquiry: Enquiry, choice: Choice, best: Candidate) -> Iterable[Other]:
    kinds: tuple[Strength, ...] = ("least_risk", "fastest")
    limit, share = (best.net_of_builds or Decimal(0)) * MOST_PRICE, _CLEARLY_LESS
    # What we advise against is no strength, unless the quote itself is no better.
    open_advice = bool(best.open_advice(enquiry.accept))
    if has_ceiling(enquiry):
        kinds = ("most_capacity", "fastest", "least_risk")
        limit, share, open_advice = Decimal("Infinity"), 1, False  # dearer ones are not feasible
    cheap = [c for c in choice.feasible if c.net_of_builds is not None and c.net_of_builds <= limit]
    near = [c for c in cheap if bool(c.open_advice(enquiry.accept)) <= open_advice]
    found: dict[int, Other] = {}
    for kind in kinds:
        candidate = _most(_GIVES[kind], near, best, share, enquiry)
        if candidate is not None:
            had = found.get(id(candidate), Other((), candidate))
            found[id(candidate)] = Other((*had.kinds, kind), candidate)
    return found.values()


def has_ceiling(enquiry: Enquiry) -> bool:
    """Tell whether the enquiry says what a build may cost."""
    return enquiry.value("max_price") is not None


def _most(
    gives: Callable[[Candidate], float | None],
    near: Iterable[Candidate],
    best: Candidate,
    share: float,
    enquiry: Enquiry,
) -> Candidate | None:
    """Find the first of those that give the most; None: the best gives this share of it or more."""
    known = [(given, c) for c in near if (given := gives(c)) is not None]
    if not known:
        return None
    most, candidate = min(known, key=lambda one: (-one[0], rank(one[1], enquiry.accept)))
    own = gives(best)
    if own is None:
        return candidate
    less, more = sorted((abs(own), abs(most)))
    return candidate if most > own and less < share * more else None


def _levels(candidate: Candidate) -> set[str]:
    return {array.layout.level for array in candidate.build.arrays}


def _at_other_levels(
    price_list: PriceList, enquiry: Enquiry, choice: Choice, best: Candidate
) -> Iterator[Other]:
    feasible = choice.feasible
    if enquiry.action != "new":
        return  # its level is what it is
    if enquiry.level is not None or enquiry.members is not None or enquiry.spans is not None:
        open_enquiry = enquiry.without("level", "members", "spans")
        if enquiry.value("usable_tb") is None:
            open_enquiry = open_enquiry.change(usable_tb=Decimal(best.usable_bytes) / TB)
        feasible = choose(price_list, open_enquiry).feasible
    by_level: dict[str, list[Candidate]] = {}
    for candidate in feasible:
        for level in _levels(candidate):
            by_level.setdefault(level, []).append(candidate)
    for level in LEVELS:
        if level in by_level and level not in _levels(best):
            yield Other(("level",), first(by_level[level], enquiry.accept))


@dataclass(frozen=True, slots=True)
class Rival:
    """One controller, with the build that is chosen when it is pinned, or why there is none."""

    controller: Controller
    best: Candidate | None
    refused: tuple[Reason, ...] = ()


MOST_EXPLAINED = 24
"""Controllers of which it is worked out why they do not serve; ours: it takes a search each."""
_NOT_LOOKED_INTO = Reason(
    code="not_looked_into",
    what="of so many controllers it was not looked into why this one does not serve, or whether",
    change="pin it to see",
)


def rivals(
    price_list: PriceList, enquiry: Enquiry, choice: Choice | None = None
) -> tuple[Rival, ...]:
    """Set every controller of a price list against one enquiry.

    Where the enquiry pins a controller, the pin is lifted for the comparison; only the controller
    that the customer has already counts as owned. Refurbished ones are left out where only new
    parts will do.

    Parameters
    ----------
    choice : Choice, optional
        What `choose` found for this enquiry: it saves looking again where no controller is
        pinned.

    Returns
    -------
    tuple of Rival
        Those that serve in the order of the choice, then the others in that of the price list.
        Of a long list the last ones are not looked into, and say so.
    """
    on: dict[str, list[Candidate]] = {}
    if choice is not None and enquiry.controller is None:
        for candidate in choice.feasible:
            for array in candidate.build.arrays:
                on.setdefault(array.controller.sku, []).append(candidate)
    best = {sku: first(those, enquiry.accept) for sku, those in on.items()}
    refused: list[Rival] = []
    not_owned = tuple(role for role in enquiry.owned if role != "controller")
    for sku, controller in price_list.controllers.items():
        if sku in best or not (enquiry.sold(controller) or sku == enquiry.controller):
            continue
        if len(refused) >= MOST_EXPLAINED:
            refused.append(Rival(controller, None, (_NOT_LOOKED_INTO,)))
            continue
        owned = enquiry.owned if sku == enquiry.controller else not_owned
        found = choose(price_list, enquiry.change(controller=sku, owned=owned))
        if found.best is not None:
            best[sku] = found.best
        else:
            refused.append(Rival(controller, None, found.refused))
    fitting = sorted(best, key=lambda sku: rank(best[sku], enquiry.accept))
    return (*(Rival(price_list.controllers[sku], best[sku]) for sku in fitting), *refused)
