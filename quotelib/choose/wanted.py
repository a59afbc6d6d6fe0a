"""What one array is asked for, and which parts and how many drives can serve it at all."""

from decimal import Decimal

from quotelib.build import fit
from quotelib.build.build import Build, Placed
from quotelib.build.layout import Array
from quotelib.catalogue.parts import Chassis, Controller, Drive
from quotelib.catalogue.price_list import PriceList
from quotelib.catalogue.quantities import MOST_BAYS
from quotelib.choose.enumeration import alone, options_named
from quotelib.choose.shares import Shares
from quotelib.enquiry.enquiry import Enquiry
from quotelib.levels import LEVELS
from quotelib.units import TB

NEVER = Decimal("1e90")
"""More than anything costs."""


class Wanted:
    """One array of an enquiry, by the parts that can make it.

    Parameters
    ----------
    sound : bool
        Whether a level without redundancy is left out, where nobody has accepted it.
    """

    def __init__(self, price_list: PriceList, row: Enquiry, sound: bool) -> None:
        self.row, self.load = row, row.load(price_list)
        # What an array by itself does not give, no server with it gives the whole quote.
        asked = [demand for demand in row.asked(price_list) if demand.of != "server"]
        self.of_build = [demand for demand in asked if demand.needs == "build"]
        self.of_estimates = [demand for demand in asked if demand.needs != "build"]
        self._prices, self._sound = price_list, sound and "no_redundancy" not in row.accept
        controllers = price_list.controllers.values()
        named = row.controller
        self.controllers = [
            c for c in controllers if c.sku == named or (named is None and row.sold(c))
        ]
        self._fewest: dict[tuple[str, str], int | None] = {}
        self._shares: dict[tuple[str, str], Decimal] = {}

    def drives(self, chassis: Chassis, controller: Controller) -> list[Drive]:
        """List the drives that go into a chassis and onto a controller, were they alone there."""
        # What stops them all is looked for once, what most drives fail by before the rest.
        parts = (Placed(controller), *options_named(self._prices, self.row))
        box = Build(chassis, "chassis" in self.row.owned, parts, ())
        if fit.asked(fit.PART_RULES, box):
            return []
        return [
            drive
            for drive in self._prices.drives.values()
            if drive.interface in chassis.bay_interfaces
            if drive.sku == self.row.drive or (self.row.drive is None and self.row.sold(drive))
            if not alone(self._prices, self.row, (chassis.sku, controller.sku, drive.sku)).stops
        ]

    def share(self, chassis: Chassis, controller: Controller, shares: Shares) -> Decimal:
        """Bound from below what the array adds with a controller, the controller left out."""
        key = (chassis.sku, controller.sku)
        if key not in self._shares:
            drives = self.drives(chassis, controller)
            each = (self.share_of(chassis, controller, drive, shares) for drive in drives)
            self._shares[key] = min(each, default=NEVER)
        return self._shares[key]

    def share_of(
        self, chassis: Chassis, controller: Controller, drive: Drive, shares: Shares
    ) -> Decimal:
        """Bound from below what the array adds with given parts."""
        build = alone(self._prices, self.row, (chassis.sku, controller.sku, drive.sku)).build
        fewest = self._drives_needed(*build.arrays)
        return NEVER if fewest is None else shares.array(build, fewest, is_array=self._sound)

    def _drives_needed(self, array: Array) -> int | None:
        """Count the fewest drives that hold what is asked in any layout; None: no number does."""
        key = (array.controller.sku, array.drive.sku)
        if key not in self._fewest:
            self._fewest[key] = self._count(array.controller, array.member_bytes)
        return self._fewest[key]

    def _count(self, controller: Controller, each: int) -> int | None:
        row, spares = self.row, self.row.spares or 0
        asked = (row.value("usable_tb") or 0) * TB
        most = min(controller.max_drives, MOST_BAYS) - spares
        members = [row.members] if row.members else range(1, most + 1)
        survive = max(row.value("survive") or 0, int(self._sound))
        levels = [
            level
            for level in LEVELS.values()
            if row.level in (None, level.name) and level.survives >= survive
            if not level.is_array or level.name in controller.levels
        ]
        for number in members:
            for level in levels:
                data = (level.data_members(number, spans) for spans in level.spans_for(number))
                if any(held * each >= asked for held in data):
                    return number + spares
        return None
