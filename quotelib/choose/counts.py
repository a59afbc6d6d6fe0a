"""Of how many builds was one chosen: how many there are, how many fit, and what each demand took.

Nothing is listed for that: rows that allow the same plans share a table of how many of them hold so
much with so many drives (`plans.Allowed`). Only what estimates have to answer is looked at, build
by build, each different array once.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from quotelib.choose.asking import Asking, asking
from quotelib.choose.candidate import Candidate
from quotelib.choose.judged import kept
from quotelib.choose.picking import Selection
from quotelib.enquiry.column import Asked
from quotelib.enquiry.enquiry import Enquiry


@dataclass(frozen=True)
class Counts:
    """How many builds there are.

    Parameters
    ----------
    possible : int
        Every chassis with every controller and drive that agrees with the pins, in every layout of
        no more drives than the chassis has bays.
    fit : int
        Those that nothing stops.
    meet : int
        Of these, those that meet every demand, advised against or not.
    fit_at_least, meet_at_least : bool
        Whether not all were counted, which would have taken too long: there are at least so many.
    """

    possible: int
    fit: int
    meet: int
    fit_at_least: bool = False
    meet_at_least: bool = False

    @property
    def words(self) -> str:
        """Say it: ``of 1,200 possible builds 310 fit, 12 meet every demand``."""
        of = f"of {self.possible:,} possible {'build' if self.possible == 1 else 'builds'}"
        fits = "fits" if self.fit == 1 else "fit"
        meets = "meets" if self.meet == 1 else "meet"
        fit = f"{'at least ' * self.fit_at_least}{self.fit:,} {fits}"
        meet = f"{'at least ' * self.meet_at_least}{self.meet:,} {meets}"
        return f"{of} {fit}, {meet} every demand"


@dataclass(frozen=True)
class Removed:
    """What one demand took.

    Parameters
    ----------
    builds : int
        How many meet every demand but this one.
    instead : Candidate or None
        What would be chosen without it, where that is another build.
    saves : Decimal or None
        What that costs less, for all builds together; None where it costs no less, or where there
        is no build as asked.
    array : Enquiry or None
        The row of the array of which it is demanded, where a server has several; None: of the
        server, or of its only array.
    at_least : bool
        Whether not all builds were counted: it took at least so many.
    """

    demand: Asked
    builds: int
    instead: Candidate | None
    saves: Decimal | None
    array: Enquiry | None = None
    at_least: bool = False


def number(asked: Asking, selection: Selection) -> int:
    """Count the builds of a selection."""
    if not (selection.speeds or selection.risks or selection.alone):
        return selection.upper
    return sum(len(kept(asked, selection, picked)) for picked in selection.chunks())


def counts(asked: Asking) -> Counts:
    """Count the builds of one array."""
    every = asked.some(without=[demand.column for demand in asked.asked])
    return Counts(asked.table.possible, every.upper, number(asked, asked.some()))


def removed(asked: Asking, best: Candidate | None, meet: int) -> Iterator[Removed]:
    """Say what each demand took, in the order of the columns.

    What a workload demands by itself counts where the enquiry's own demand is left out.

    Parameters
    ----------
    meet : int
        How many meet every demand.
    """
    for demand in asked.asked:
        column = demand.column
        others = number(asked, asked.some(without=[column]))
        less = asked
        left_out = [column]
        if asked.row.value(column) is not None:
            less, left_out = asking(asked.prices, asked.row.without(column)), []
        found = less.first(without=left_out)
        saves = None
        if found is not None and best is not None:
            assert found.net is not None and best.net is not None  # priced when confirmed
            saves = best.net - found.net if found.net < best.net else None
            found = None if found.build == best.build else found
        yield Removed(demand, others - meet, found, saves)
