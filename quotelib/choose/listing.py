"""Which parts agree with the pins of a row, and which of them go together.

A rule of `fit.PART_RULES` is asked once for each pair of parts it looks at: controller and chassis,
drive and chassis, drive and controller. Only whether an adapter comes may hang on all three, and is
taken from `sets.coming`.
"""

from collections.abc import Iterator, Mapping
from typing import TypeVar

import numpy as np

from quotelib.build import fit
from quotelib.build.actions import drive_mismatch
from quotelib.build.build import Build, Placed
from quotelib.build.layout import ALL_OF_THEM, Array, Layout
from quotelib.catalogue.parts import Chassis, Controller, Drive, Part
from quotelib.catalogue.price_list import PriceList
from quotelib.choose.enumeration import array_of, options_named
from quotelib.choose.plans import Numbers
from quotelib.choose.sets import NO_END, Flags, Listed, Regime, kinds_of
from quotelib.enquiry.enquiry import Enquiry
from quotelib.levels import NO_ARRAY

_Kind = TypeVar("_Kind", bound=Part)


def listed(prices: PriceList, row: Enquiry, skus: tuple[str, ...] | None = None) -> Listed:
    """List the parts that agree with the pins, fitting or not, in the order of the price list.

    Of chassis those with the `skus`, where they are given.
    """

    boxes = _left(row, row.chassis, prices.chassis)
    if skus is not None:
        boxes = [prices.chassis[sku] for sku in skus]
    controllers = _left(row, row.controller, prices.controllers)
    drives = _left(row, row.drive, prices.drives)
    kinds, samples = kinds_of(prices, drives)
    box_owned, theirs = "chassis" in row.owned, "controller" in row.owned
    owned = [
        theirs or c.sku in row.their_controllers or (box_owned and c.takes == "board")
        for c in controllers
    ]
    before = prices.drives.get(row.value("from_drive") or "")
    return Listed(
        tuple(boxes), tuple(controllers), tuple(drives), kinds, samples, box_owned,
        np.array(owned, dtype=bool), tuple(row.value("options") or ()), before,
        frozenset(prices.drives),
    )  # fmt: skip


def _left(row: Enquiry, named: str | None, parts: Mapping[str, _Kind]) -> list[_Kind]:
    return [parts[named]] if named else [part for part in parts.values() if row.sold(part)]


def regimes(row: Enquiry) -> tuple[Regime, ...]:
    """Say from how many drives on some are bought."""
    have, new = row.their_drives, row.action == "new"
    if not have:
        return (Regime(1, NO_END, False, True, "all" if new else "bought"),)
    if have >= ALL_OF_THEM:
        return (Regime(1, NO_END, True, False, "all" if new else ""),)
    return (
        Regime(1, have, True, False, "all" if new else ""),
        Regime(have + 1, NO_END, True, True, "all" if new else "bought"),
    )


def bare(prices: PriceList, row: Enquiry, those: Listed) -> Iterator[Iterator[Build]]:
    """Make each chassis with each controller and the options, without drives."""
    options, redundant = options_named(prices, row), bool(row.value("redundant_supply"))
    for box in those.boxes:
        yield (
            Build(
                box, those.box_owned, (Placed(one, owned=bool(owned)), *options), (), (), redundant
            )
            for one, owned in zip(those.controllers, those.owned, strict=True)
        )


def stops_of_pairs(prices: PriceList, row: Enquiry, those: Listed, adapted: Flags) -> Numbers:
    """Count what keeps chassis, controllers and kinds of drive apart: shape of `Listed.shape`."""
    seated = np.array(
        [[len(fit.asked(fit.PART_RULES, one)) for one in ones] for ones in bare(prices, row, those)]
    )
    any_controller, any_box = those.controllers[0], those.boxes[0]

    def alone(box: Chassis, controller: Controller, drive: Drive) -> Build:
        array = array_of(prices, row, controller.sku, drive.sku, Layout(NO_ARRAY, 1))
        return Build(box, those.box_owned, (Placed(controller),), (array,))

    wired = np.array(
        [
            [any(fit.bay_interface(alone(b, any_controller, d))) for d in those.samples]
            for b in those.boxes
        ]
    )
    linked = np.array(
        [
            [any(fit.drive_link(alone(any_box, c, d))) for d in those.samples]
            for c in those.controllers
        ]
    )
    stops = seated[:, :, None] + wired[:, None, :] + linked[None]
    return np.asarray(stops + _narrow(row, those, adapted), dtype=np.int64)


def _narrow(row: Enquiry, those: Listed, adapted: Flags) -> Flags:
    """Tell where drives do not go into the bays, as `fit.bay_width` does."""
    unequal = np.array([[d.width_in != b.bay_width_in for d in those.samples] for b in those.boxes])
    smaller = np.array(
        [[d.width_in == "2.5" and b.bay_width_in == "3.5" for d in those.samples]
         for b in those.boxes]
    )  # fmt: skip
    # Drives of an array that stays have whatever they need.
    needless = np.array(not regimes(row)[-1].fitted)
    return np.asarray(unequal[:, None, :] & ~(smaller[:, None, :] & (adapted | needless)))


def goes_with(prices: PriceList, row: Enquiry, those: Listed) -> Flags:
    """Tell which drives go with those that are there, if any."""
    controller = those.controllers[0].sku
    made = (array_of(prices, row, controller, d.sku, Layout(NO_ARRAY, 1)) for d in those.drives)
    box = those.boxes[0]
    found = [not any(drive_mismatch(Build(box, False, (), (one,)))) for one in made]
    return np.array(found, dtype=np.bool_)


def member_sizes(prices: PriceList, row: Enquiry, those: Listed) -> Numbers:
    """Give the bytes of a member that an array can use: of each controller and drive."""
    known: dict[tuple[int, str], int] = {}

    def size(controller: Controller, drive: Drive) -> int:
        key = (controller.reserve_mib, drive.sku)
        if key not in known:
            array: Array = array_of(prices, row, controller.sku, drive.sku, Layout(NO_ARRAY, 1))
            known[key] = array.member_bytes
        return known[key]

    return np.array([[size(c, d) for d in those.drives] for c in those.controllers], dtype=np.int64)
