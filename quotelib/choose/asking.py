"""One enquiry about one array put to the table of all its builds: the first, and how many.

What the table finds first is made as a build and asked again by the rules, prices and estimates
that every quote goes by: nothing is quoted that those do not confirm.
"""

from collections.abc import Iterable, Iterator
from functools import lru_cache

from quotelib.build import fit
from quotelib.catalogue.price_list import PriceList
from quotelib.choose.candidate import Candidate, fill_price, judge
from quotelib.choose.demanded import form
from quotelib.choose.integers import scaled
from quotelib.choose.picked import Picked
from quotelib.choose.picking import Selection
from quotelib.choose.sets import Flags
from quotelib.choose.table import Table
from quotelib.enquiry.columns import demand_columns
from quotelib.enquiry.enquiry import Enquiry
from quotelib.pricing.lines import in_vain

_OTHERWISE = {"enquiry_id": "", "customer": "", "note": "", "tax_code": None, "server": "",
              "array": "", "accept": (), "ordered": None, "customer_ref": None,
              "ship_by": None}  # fmt: skip
"""Columns that no table hangs on, as they are left."""
_KEPT = {"max_lead_days"}


class Asking:
    """An enquiry about one array, and the table of its builds."""

    def __init__(self, prices: PriceList, row: Enquiry) -> None:
        self.prices, self.row = prices, row
        self.table = table_of(prices, row)
        self.asked = row.asked(prices)
        self.forms = [form(self.table, demand) for demand in self.asked]
        chosen = dict.fromkeys(row.deal.services)
        self._chosen = [prices.services[sku] for sku in chosen]

    def some(
        self,
        *,
        sound: bool = False,
        without: Iterable[str] = (),
        only: Flags | None = None,
        rows: Flags | None = None,
    ) -> Selection:
        """Give the builds that meet all demands but those of some columns."""
        left = set(without)
        forms = [one for one in self.forms if one.demand.column not in left]
        accept = self.row.accept
        return Selection(self.table, forms, sound=sound, accept=accept, only=only, rows=rows)

    def first(
        self,
        *,
        without: Iterable[str] = (),
        only: Flags | None = None,
        rows: Flags | None = None,
        most: int | None = None,
        sound: bool | None = None,
    ) -> Candidate | None:
        """Give the first in the order of the choice; None: there is none.

        Parameters
        ----------
        without : iterable of str
            Columns whose demands do not count.
        most : int, optional
            Nothing that costs more minor units, without what is charged once.
        sound : bool, optional
            Only those that we do not advise against, or any; by default such first.
        """
        left = set(without)
        for only_sound in (True, False) if sound is None else (sound,):
            selection = self.some(sound=only_sound, without=left, only=only, rows=rows)
            for candidate in self.confirmed(selection, selection.chunks(most)):
                return candidate
        return None

    def confirmed(self, selection: Selection, chunks: Iterable[Picked]) -> Iterator[Candidate]:
        """Make builds that were picked, and give those that rules, prices and estimates confirm.

        Raises
        ------
        ArithmeticError
            A net that is not the one they were picked by: a fault of this program.
        """
        for picked in chunks:
            for at in range(len(picked)):
                candidate = self._confirm(selection, picked, at)
                if candidate is not None:
                    yield candidate

    def _confirm(self, selection: Selection, picked: Picked, at: int) -> Candidate | None:
        build = self.table.build(int(picked.rows[at]), int(picked.plans[at]))
        candidate = Candidate(build, build.usable_bytes)
        if not all(demand.met(candidate) for demand in selection.alone if demand.needs == "build"):
            return None
        if fit.stops(build) or any(in_vain(self._chosen, build)):
            return None
        judge([candidate], self.prices, self.row)
        net = candidate.net_of_builds
        if net is None or scaled(net, self.table.scales.places) != int(picked.net[at]):
            raise ArithmeticError(f"{net} is not the net by which this build was chosen")
        if not all(one.demand.met(candidate) for one in selection.forms):
            return None
        advised = selection.sound and candidate.open_advice(self.row.accept)
        return None if advised else candidate

    def judge(self, candidates: list[Candidate]) -> None:
        """Fill in price, estimates and advice."""
        judge(candidates, self.prices, self.row)

    def every(self, selection: Selection) -> list[Candidate]:
        """Make all builds of a selection, in the order of the enumeration."""
        table = self.table
        found: list[tuple[tuple[int, ...], Candidate]] = []
        every = table.plans
        for picked in selection.chunks():
            for row, plan in zip(picked.rows.tolist(), picked.plans.tolist(), strict=True):
                build = table.build(row, plan)
                parts = tuple(int(one[row]) for one in table.at)
                order = (*parts, int(every.level[plan]), int(every.drives[plan]), plan)
                found.append((order, Candidate(build, build.usable_bytes)))
        found.sort(key=lambda one: one[0])
        candidates = [candidate for _, candidate in found]
        if any(demand.needs == "price" for demand in selection.alone):
            fill_price(candidates, self.prices, self.row)
        for demand in selection.alone:
            candidates = [one for one in candidates if demand.met(one)]
        judge(candidates, self.prices, self.row)
        return candidates


@lru_cache(maxsize=8)
def asking(prices: PriceList, row: Enquiry) -> Asking:
    """Put an enquiry to its table; the choice and what is shown beside it ask the same."""
    return Asking(prices, row)


def anything_listed(prices: PriceList, row: Enquiry) -> bool:
    """Tell whether the list has a chassis, a controller and a drive that agree with the pins."""
    files = (
        (row.chassis, prices.chassis), (row.controller, prices.controllers),
        (row.drive, prices.drives),
    )  # fmt: skip
    return all(named or any(map(row.sold, parts.values())) for named, parts in files)


def table_of(prices: PriceList, row: Enquiry, boxes: tuple[str, ...] | None = None) -> Table:
    """Give the table of a row; it is the same whatever is demanded.

    Parameters
    ----------
    boxes : tuple of str, optional
        Skus of the chassis that may be chosen; by default those that the row leaves open.
    """
    demanded = [c.name for c in demand_columns() if c.name not in _KEPT]
    plain = row.without(*demanded).change(**_OTHERWISE)
    return _table(prices, plain, boxes)


@lru_cache(maxsize=8)
def _table(prices: PriceList, row: Enquiry, boxes: tuple[str, ...] | None) -> Table:
    return Table(prices, row, boxes)
