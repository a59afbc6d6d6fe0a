"""The linear part of the choice as an integer program, solved by scipy's HiGHS.

No discount, no freight by mass and no estimate: what is left of the net is a sum over parts. One
binary variable says which chassis it is; in each, one says of every array that could stand there
whether it does; others bring in controllers, small parts of theirs, processors and memory.
"""

from collections import defaultdict
from itertools import combinations

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp

from quotelib.build import fit
from quotelib.build.build import Placed, assemble
from quotelib.build.layout import Array
from quotelib.catalogue.parts import Chassis, Controller
from quotelib.catalogue.price_list import PriceList
from quotelib.enquiry.request import ServerAsked
from tests.choose.orders import every_array, every_package

Row = dict[int, float]


class Program:
    """Variables with their costs in hundredths, and rows that must hold."""

    def __init__(self, prices: PriceList, asked: ServerAsked) -> None:
        self.prices, self.asked = prices, asked
        self.costs: list[float] = []
        self.rows: list[tuple[Row, float, float]] = []
        boxes = [self._box(box) for box in prices.chassis.values()]
        self._row(dict.fromkeys(boxes, 1.0), 1, 1)

    def least(self) -> int | None:
        """Give the least sum in hundredths; None where nothing fits."""
        matrix = np.zeros((len(self.rows), len(self.costs)))
        for at, (row, _, _) in enumerate(self.rows):
            for variable, factor in row.items():
                matrix[at, variable] = factor
        low, high = np.array([row[1:] for row in self.rows]).T
        found = milp(
            self.costs,
            constraints=LinearConstraint(matrix, low, high),
            integrality=np.ones(len(self.costs)),
            bounds=Bounds(0, 1),
            options={"mip_rel_gap": 0},
        )
        return round(found.fun) if found.success else None

    def _new(self, cost: float) -> int:
        self.costs.append(cost)
        return len(self.costs) - 1

    def _row(self, row: Row, low: float, high: float) -> None:
        self.rows.append((row, low, high))

    def _box(self, box: Chassis) -> int:
        prices, services = self.prices, self.prices.services.values()
        small = prices.accessories.values()
        each = sum(float(s.unit_price) for s in services if s.per == "build")
        with_box = [a for a in small if box.sku in a.needed_by]
        once = [a for a in with_box if a.per == "build"]
        fixed = float(box.unit_price) + each + sum(float(a.unit_price) for a in once)
        chosen = self._new(100 * fixed)
        bays: Row = {chosen: -float(box.bays)}
        drawn = float(box.base_w) + sum(float(a.watts) for a in once) - float(box.supply_w)
        watts: Row = {chosen: drawn}
        per_drive = [a for a in with_box if a.per == 1]
        controllers = {c.sku: self._controller(c, watts) for c in prices.controllers.values()}
        on: dict[str, Row] = defaultdict(dict)
        for row in self.asked.arrays:
            those: Row = {chosen: -1.0}
            for array in every_array(prices, row, box):
                if self._alone(box, array):
                    variable = self._array(array, box, per_drive)
                    those[variable] = 1.0
                    bays[variable] = array.drives
                    drive_w = float(array.drive.active_w)
                    watts[variable] = array.drives * drive_w
                    on[array.controller.sku][variable] = array.drives
                    self._row({variable: 1.0, controllers[array.controller.sku]: -1.0}, -1, 0)
            self._row(those, 0, 0)
        self._row(bays, -np.inf, 0)
        for sku, drives in on.items():
            self._row(drives, 0, prices.controllers[sku].max_drives)
        packages: Row = {chosen: -1.0}
        for package in every_package(prices, self.asked.base, box):
            cost = sum(100 * float(option.unit_price) * number for option, number in package)
            variable = self._new(cost)
            packages[variable] = 1.0
            watts[variable] = sum(float(option.watts) * number for option, number in package)
            cores = sum(option.cores * number for option, number in package)
            memory = sum(option.memory_gb * number for option, number in package)
            base = self.asked.base
            elsewhere = any(o.fits and box.sku not in o.fits for o, _ in package)
            short = cores < (base.value("cores") or 0) or memory < (base.value("memory_gb") or 0)
            if elsewhere or short:
                self._row({variable: 1.0}, 0, 0)
        self._row(packages, 0, 0)
        self._row(watts, -np.inf, 0)
        self._places(box, controllers)
        return chosen

    def _controller(self, controller: Controller, watts: Row) -> int:
        board = controller.mounting == "board"
        services = self.prices.services.values()
        fitted = sum(float(s.unit_price) for s in services if s.per == "controller")
        variable = self._new(0 if board else 100 * (float(controller.unit_price) + fitted))
        watts[variable] = float(controller.watts)
        for item in self.prices.accessories.values():
            if item.per == "build" and controller.sku in item.needed_by:
                with_it = self._accessory(item.sku, 100 * float(item.unit_price), watts)
                watts[with_it] = float(item.watts)
                self._row({variable: 1.0, with_it: -1.0}, -1, 0)
        return variable

    def _accessory(self, sku: str, cost: float, watts: Row) -> int:
        """Give the one variable of a small part in one chassis, whose row of watts marks it."""
        known = self.__dict__.setdefault("_small", {})
        key = (id(watts), sku)
        if key not in known:
            known[key] = self._new(cost)
        return int(known[key])

    def _alone(self, box: Chassis, array: Array) -> bool:
        parts = (Placed(array.controller),)
        return not fit.stops(assemble(self.prices, box, False, parts, (array,)))

    def _array(self, array: Array, box: Chassis, per_drive: list) -> int:  # type: ignore[type-arg]
        services = self.prices.services.values()
        each = float(array.drive.unit_price) + sum(float(a.unit_price) for a in per_drive)
        each += sum(float(s.unit_price) for s in services if s.per == "drive")
        if array.drive.width_in != box.bay_width_in:
            adapters = (a for a in self.prices.accessories.values() if a.kind == "adapter")
            each += sum(float(a.unit_price) for a in adapters if array.drive.sku in a.needed_by)
        made = sum(float(s.unit_price) for s in services if s.per == "array")
        return self._new(100 * (array.drives * each + made * array.layout.rule.is_array))

    def _places(self, box: Chassis, controllers: dict[str, int]) -> None:
        """Give each card a slot (Hall's theorem: every set of cards has as many slots)."""
        parts = self.prices.controllers
        cards = [sku for sku in controllers if parts[sku].mounting == "card"]
        for number in range(1, len(cards) + 1):
            for those in combinations(cards, number):
                heights = {height for sku in those for height in parts[sku].brackets}
                room = sum(slot.height in heights for slot in box.slots)
                self._row({controllers[sku]: 1.0 for sku in those}, 0, room)
        made = {v: 1.0 for sku, v in controllers.items() if parts[sku].mounting == "mezzanine"}
        self._row(made, 0, box.mezzanine_sockets) if made else None
