"""Which controller would it be: every controller of the price list against one enquiry."""

from dataclasses import dataclass

from quotelib.catalogue.parts import Controller
from quotelib.catalogue.price_list import PriceList
from quotelib.choose.candidate import Candidate, rank
from quotelib.choose.search import Choice, choose
from quotelib.enquiry.enquiry import Enquiry
from quotelib.facts import Reason


@dataclass(frozen=True, slots=True)
class Rival:
    """One controller, with the build that is chosen when it is pinned, or why there is none."""

    controller: Controller
    best: Candidate | None
    refused: tuple[Reason, ...] = ()


def rivals(
    price_list: PriceList, enquiry: Enquiry, choice: Choice | None = None
) -> tuple[Rival, ...]:
    """Set every controller of a price list against one enquiry.

    Where the enquiry pins a controller, the pin is lifted for the comparison; only the controller
    that the customer has already counts as owned.

    Parameters
    ----------
    choice : Choice, optional
        What `choose` found for this enquiry: it saves looking again where no controller is
        pinned.

    Returns
    -------
    tuple of Rival
        Those that serve in the order of the choice, then the others in that of the price list.
    """
    best: dict[str, Candidate] = {}
    if choice is not None and enquiry.controller is None:
        for candidate in sorted(choice.feasible, key=lambda c: rank(c, enquiry.accept)):
            for array in candidate.build.arrays:
                best.setdefault(array.controller.sku, candidate)
    refused: list[Rival] = []
    not_owned = tuple(role for role in enquiry.owned if role != "controller")
    for sku, controller in price_list.controllers.items():
        if sku in best:
            continue
        owned = enquiry.owned if sku == enquiry.controller else not_owned
        found = choose(price_list, enquiry.change(controller=sku, owned=owned))
        if found.best is not None:
            best[sku] = found.best
        else:
            refused.append(Rival(controller, None, found.refused))
    fitting = sorted(best, key=lambda sku: rank(best[sku], enquiry.accept))
    return (*(Rival(price_list.controllers[sku], best[sku]) for sku in fitting), *refused)
