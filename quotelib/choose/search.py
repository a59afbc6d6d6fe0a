"""Which build is it, or why is there none: the choice among all that agree with the pins."""

from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property

from quotelib.catalogue.price_list import PriceList
from quotelib.choose.asking import Asking, anything_listed, asking
from quotelib.choose.candidate import Candidate
from quotelib.choose.counts import Counts, Removed, counts, removed
from quotelib.choose.front import front
from quotelib.choose.integers import floored
from quotelib.choose.leading import Leading
from quotelib.choose.refused import Nearest, nearest_sound, nothing_meets
from quotelib.choose.stopped import nothing_fits
from quotelib.enquiry.enquiry import Enquiry
from quotelib.facts import Reason

MOST_PRICE = Decimal("1.5")
"""How many times the least net an alternative may cost to be worth showing; ours, no source."""

_NOTHING = Reason(
    code="nothing_listed",
    what="the price list has no chassis, no controller or no drive that may be chosen",
    change="complete the price list, or accept refurbished parts (condition any)",
)


@dataclass(frozen=True)
class Choice:
    """The build to propose or why there is none, and all that agree with pins and demands.

    Parameters
    ----------
    asked : tuple of (PriceList, Enquiry), optional
        What was asked of one array; None where several things were chosen together, or where there
        is nothing to choose from.
    """

    best: Candidate | None
    refused: tuple[Reason, ...]
    asked: tuple[PriceList, Enquiry] | None = None

    @property
    def asking(self) -> Asking | None:
        """Give the table, to ask it more; a choice that is kept does not keep it."""
        return None if self.asked is None else asking(*self.asked)

    @cached_property
    def feasible(self) -> tuple[Candidate, ...]:
        """Make every build that agrees with the pins and meets every demand, one by one.

        Of a long list these are many, so that nothing on the way to a quote asks for them.
        """
        if self.best is None:
            return ()
        if self.asking is None:
            return (self.best,)
        return tuple(self.asking.every(self.asking.some()))

    @cached_property
    def counts(self) -> Counts | None:
        """Count the builds there are, that fit and that meet every demand; of one array only."""
        return None if self.asking is None else counts(self.asking)

    @cached_property
    def removed(self) -> tuple[Removed, ...]:
        """Say of each demand how many builds it alone removed, and what dropping it saves."""
        if self.asking is None or self.counts is None:
            return ()
        return tuple(removed(self.asking, self.best, self.counts.meet))

    @cached_property
    def front(self) -> tuple[Candidate, ...]:
        """Give the builds that no other beats, within what an alternative may cost.

        Without those that we advise against, unless the build to propose is one.
        """
        if self.asking is None or self.best is None:
            return ()
        row, net = self.asking.row, self.best.net_of_builds or Decimal(0)
        sound = not self.best.open_advice(row.accept)
        most = floored(net * MOST_PRICE, self.asking.table.scales.places)
        return front(self.asking, sound=sound, most=None if row.value("max_price") else most)

    @cached_property
    def nearest(self) -> tuple[Nearest, ...]:
        """Give, for a refusal, the sound builds that miss a demand by the least."""
        return () if self.asking is None or self.best else nearest_sound(self.asking)

    @cached_property
    def largest(self) -> Candidate | None:
        """Give, for a refusal, the sound build of the most capacity at any price.

        It meets every demand but those of size and price.
        """
        if self.asking is None or self.best is not None:
            return None
        selection = self.asking.some(sound=True, without=("usable_tb", "max_price"))
        return Leading(self.asking, selection, None).of("most_capacity")


def choose(price_list: PriceList, enquiry: Enquiry) -> Choice:
    """Choose the build to propose.

    Returns
    -------
    Choice
        The build of lowest net among those that can be built and meet every demand; one with
        an unaccepted ``advise`` finding only if no other is left. Ties go to fewer drives, then
        to chassis, controller and drive sku in alphabetical order, then to the level that
        comes first in the level table, then to fewer spans.
    """
    if not anything_listed(price_list, enquiry):
        return Choice(None, (_NOTHING,))
    asked = asking(price_list, enquiry)
    best = asked.first()
    if best is not None:
        return Choice(best, (), (price_list, enquiry))
    refused = nothing_meets(asked) or nothing_fits(price_list, enquiry)
    return Choice(None, refused, (price_list, enquiry))
