"""What else would meet the enquiry: more of something, other levels, and other controllers."""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from decimal import Decimal

from quotelib.catalogue.parts import Controller
from quotelib.catalogue.price_list import PriceList
from quotelib.choose.asking import Asking, anything_listed, asking
from quotelib.choose.candidate import Candidate, describe, rank
from quotelib.choose.integers import floored
from quotelib.choose.leading import Leading, Strength
from quotelib.choose.search import MOST_PRICE, Choice, choose
from quotelib.choose.strongest import Strongest, TooMany, filled
from quotelib.choose.whole import NEVER
from quotelib.enquiry.enquiry import Enquiry
from quotelib.enquiry.request import ServerAsked
from quotelib.facts import Reason
from quotelib.levels import LEVELS, place
from quotelib.units import TB

_CLEARLY_LESS = 0.95
"""What differs by less than a twentieth is the same, given the ranges; ours, no source."""

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
    asked = choice.asking or asking(price_list, enquiry)
    return (*_by_strength(asked, best), *_at_other_levels(asked, best))


def find_alternatives_of_server(
    price_list: PriceList, asked: ServerAsked, best: Candidate
) -> tuple[Other, ...]:
    """Find what else would meet what is asked of a server of several arrays, or with options.

    Returns
    -------
    tuple of Other
        As `find_alternatives`, by strength; what a server gives, `strongest` says. None where there
        are too many arrays to estimate.
    """
    filled(best, price_list, asked)
    kinds, most, share, sound = _looked_for(asked.base, best)
    try:
        servers = Strongest(price_list, asked, sound=sound, most=NEVER if most is None else most)
        found = [(kind, servers.strongest(kind)) for kind in kinds]
    except TooMany:
        return ()
    return _by_kind(found, best, share)


def _looked_for(
    row: Enquiry, best: Candidate
) -> tuple[tuple[Strength, ...], Decimal | None, float, bool]:
    """Say what is looked for: strengths, up to which net, how much less counts, and how sound."""
    if has_ceiling(row):  # dearer ones are not feasible
        return ("most_capacity", "fastest", "least_risk"), None, 1, True
    # What we advise against is no strength, unless the quote itself is no better.
    sound = not best.open_advice(row.accept)
    limit = (best.net_of_builds or Decimal(0)) * MOST_PRICE
    return ("least_risk", "fastest"), limit, _CLEARLY_LESS, sound


def _by_strength(asked: Asking, best: Candidate) -> Iterable[Other]:
    kinds, limit, share, sound = _looked_for(asked.row, best)
    most = None if limit is None else floored(limit, asked.table.scales.places)
    leading = Leading(asked, asked.some(sound=sound), most)
    return _by_kind([(kind, leading.of(kind)) for kind in kinds], best, share)


def _by_kind(
    leaders: Iterable[tuple[Strength, Candidate | None]], best: Candidate, share: float
) -> tuple[Other, ...]:
    """Give what is clearly better than the best; a build with several strengths once."""
    found: dict[str, Other] = {}
    for kind, candidate in leaders:
        if candidate is not None and _gives_more(_GIVES[kind], candidate, best, share):
            name = describe(candidate.build)
            had = found.get(name, Other((), candidate))
            found[name] = Other((*had.kinds, kind), had.candidate)
    return tuple(found.values())


def has_ceiling(enquiry: Enquiry) -> bool:
    """Tell whether the enquiry says what a build may cost."""
    return enquiry.value("max_price") is not None


def _gives_more(
    gives: Callable[[Candidate], float | None], other: Candidate, best: Candidate, share: float
) -> bool:
    """Tell whether another gives more than the best, and that has less than a share of it."""
    most, own = gives(other), gives(best)
    if most is None or own is None:
        return own is None
    less, more = sorted((abs(own), abs(most)))
    return most > own and less < share * more


def _levels(candidate: Candidate) -> set[str]:
    return {array.layout.level for array in candidate.build.arrays}


def _at_other_levels(asked: Asking, best: Candidate) -> Iterator[Other]:
    enquiry = asked.row
    if enquiry.action != "new":
        return  # its level is what it is
    if enquiry.level is not None or enquiry.members is not None or enquiry.spans is not None:
        open_enquiry = enquiry.without("level", "members", "spans")
        if enquiry.value("usable_tb") is None:
            open_enquiry = open_enquiry.change(usable_tb=Decimal(best.usable_bytes) / TB)
        asked = asking(asked.prices, open_enquiry)
    for level in LEVELS:
        if level not in _levels(best):
            found = asked.first(only=asked.table.plans.level == place(level))
            if found is not None:
                yield Other(("level",), found)


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
    not_owned = tuple(role for role in enquiry.owned if role != "controller")
    left_open = enquiry.change(controller=None, owned=not_owned)
    asked = None if choice is None or enquiry.controller is not None else choice.asking
    if asked is None and anything_listed(price_list, left_open):
        asked = asking(price_list, enquiry if enquiry.controller is None else left_open)
    best: dict[str, Candidate] = {}
    refused: list[Rival] = []
    listed = () if asked is None else asked.table.listed.controllers
    places = {one.sku: at for at, one in enumerate(listed)}
    for sku, controller in price_list.controllers.items():
        if not (enquiry.sold(controller) or sku == enquiry.controller):
            continue
        theirs = sku == enquiry.controller and "controller" in enquiry.owned
        if asked is not None and sku in places and not theirs:
            found = asked.first(rows=asked.table.at[1] == places[sku])
            if found is not None:
                best[sku] = found
                continue
        if len(refused) >= MOST_EXPLAINED:
            refused.append(Rival(controller, None, (_NOT_LOOKED_INTO,)))
            continue
        owned = enquiry.owned if sku == enquiry.controller else not_owned
        alone = choose(price_list, enquiry.change(controller=sku, owned=owned))
        if alone.best is not None:
            best[sku] = alone.best
        else:
            refused.append(Rival(controller, None, alone.refused))
    fitting = sorted(best, key=lambda sku: rank(best[sku], enquiry.accept))
    return (*(Rival(price_list.controllers[sku], best[sku]) for sku in fitting), *refused)
