"""What stops a server, and what we would advise against."""

from __future__ import annotations

from decimal import Decimal

from .boxes import Array, Box, needs_adapter, protected, service_count, watts
from .levels import (
    drive_bytes,
    grows_evenly,
    level_offered,
    member_count_fits,
    survives_any,
)
from .places import slots_of
from .reading import Accessory, Prices, Service

Services = tuple[tuple[Service, int], ...]
STOP_CODES = (
    "level_not_offered",
    "member_count",
    "bays_full",
    "bay_width",
    "bay_interface",
    "drive_link",
    "too_many_drives",
    "no_socket",
    "no_slot",
    "board_elsewhere",
    "power",
    *("option_elsewhere", "sockets_full", "memory_full", "supplies_full"),
    "service_elsewhere",
    "ports_short",
    *("no_import", "cannot_grow", "cannot_replace", "drive_mismatch"),
)
ADVISE_CODES = (
    "erases_data",
    "no_redundancy",
    "loss_over_limit",
    "cache_unprotected",
    "memory_uneven",
    "controller_unknown",
)


def option_stops(box: Box) -> set[str]:
    """`stop` findings of the options in a chassis; room it does not state stops nothing."""
    codes, chassis = set(), box.chassis
    if any(option.fits and chassis.sku not in option.fits for option, _ in box.options):
        codes.add("option_elsewhere")
    sockets, slots = chassis.processor_sockets, chassis.memory_slots
    if sockets is not None and box.pieces("processor") > sockets:
        codes.add("sockets_full")
    if slots is not None and box.pieces("memory") > slots:
        codes.add("memory_full")
    if chassis.supplies + box.pieces("supply") > chassis.supply_bays:
        codes.add("supplies_full")
    return codes


def seat_stops(box: Box) -> set[str]:
    """`stop` findings of where controllers and cards go."""
    codes, chassis = set(), box.chassis
    mounted = [controller.mounting for controller in box.controllers]
    if any(c.mounting == "board" and c.sku != chassis.board_controller for c in box.controllers):
        codes.add("board_elsewhere")
    if mounted.count("mezzanine") > chassis.mezzanine_sockets:
        codes.add("no_socket")
    if slots_of(box) is None:
        codes.add("no_slot")
    if any(_stranger(box, array) for array in box.arrays):
        codes.add("no_import")
    return codes


def _taken_over(array: Array) -> bool:
    """Whether a controller has to read what is on the drives."""
    return array.action != "new" and array.level != "none"


def _stranger(box: Box, array: Array) -> bool:
    """Whether an array comes from a controller whose arrays its new one does not read."""
    old, controller = array.old_controller, array.controller
    if old is None or not _taken_over(array):
        return False
    if old.sku == controller.sku and box.controller_owned(controller):
        return False
    return not old.family or old.family not in controller.imports


def _mismatch(array: Array) -> bool:
    """Whether bought drives do not go with those that are there."""
    old, drive = array.old_drive, array.drive
    if old is None or array.action not in ("grow", "replace"):
        return False
    same = ("media", "interface", "block_bytes")
    differs = any(getattr(old, name) != getattr(drive, name) for name in same)
    return differs or drive_bytes(drive) < drive_bytes(old)


def pair_stops(prices: Prices, box: Box, array: Array) -> set[str]:
    """`stop` findings of an array's drives in this chassis and on its controller."""
    codes = {"drive_mismatch"} if _mismatch(array) else set()
    drive, chassis = array.drive, box.chassis
    if needs_adapter(drive, chassis):
        # Those of an array that is kept have theirs.
        sold = any(a.kind == "adapter" and drive.sku in a.needed_by for a in prices.accessories)
        if not sold and array.action != "keep":
            codes.add("bay_width")
    elif drive.width_in != chassis.bay_width_in:
        codes.add("bay_width")
    if drive.interface not in chassis.bay_interfaces:
        codes.add("bay_interface")
    if drive.interface not in array.controller.links:
        codes.add("drive_link")
    return codes


def layout_stops(array: Array) -> set[str]:
    """`stop` findings of an array's level by itself."""
    codes = set()
    if not level_offered(array.level, array.controller):
        codes.add("level_not_offered")
    if not member_count_fits(array.level, array.members, array.spans):
        codes.add("member_count")
    if array.action == "grow" and not _can_grow(array):
        codes.add("cannot_grow")
    all_stay = array.have >= array.members
    if array.action == "replace" and (survives_any(array.level) == 0 or all_stay):
        codes.add("cannot_replace")
    return codes


def _can_grow(array: Array) -> bool:
    if array.level not in array.controller.grows or array.members <= array.have:
        return False
    return grows_evenly(array.level, array.have, array.members, array.spans)


def supplies(box: Box) -> list[Decimal]:
    """What each supply gives: those of the chassis, then those added."""
    each = [box.chassis.supply_w] * box.chassis.supplies
    for option, count in box.options:
        each += [option.supply_w] * count if option.kind == "supply" else []
    return each


def count_stops(box: Box, accessories: list[tuple[Accessory, int]]) -> set[str]:
    """`stop` findings that depend on how many drives there are."""
    codes, direct = set(), box.chassis.backplane == "direct"
    if box.drives > box.chassis.bays:
        codes.add("bays_full")
    for controller in box.controllers:
        arrays = box.on(controller)
        if sum(array.drives for array in arrays) > controller.max_drives:
            codes.add("too_many_drives")
        lanes = sum(n * drive.lanes for array in arrays for drive, n, _ in array.kinds())
        if direct and controller.ports is not None and lanes > controller.ports:
            codes.add("ports_short")
    each = supplies(box)
    unequal, too_few = len(set(each)) > 1, len(each) < (2 if box.redundant_supply else 1)
    if unequal or too_few or watts(box, accessories) > sum(each[box.redundant_supply :]):
        codes.add("power")
    return codes


def service_stops(box: Box, services: Services) -> set[str]:
    """`stop` finding where a service was chosen that would be charged zero times."""
    idle = any(not service_count(service, box) for service, _ in services)
    return {"service_elsewhere"} if idle else set()


def stops(
    prices: Prices, box: Box, accessories: list[tuple[Accessory, int]], services: Services
) -> set[str]:
    """Every `stop` finding of one server."""
    codes = option_stops(box) | seat_stops(box) | count_stops(box, accessories)
    for array in box.arrays:
        codes |= pair_stops(prices, box, array) | layout_stops(array)
    return codes | service_stops(box, services)


def advice(box: Box, accessories: list[tuple[Accessory, int]]) -> set[str]:
    """`advise` findings, but for the one that needs an estimate."""
    codes = set()
    if any(array.action == "new" and array.there for array in box.arrays):
        codes.add("erases_data")
    if any(
        _taken_over(array)
        and array.old_controller is None
        and not box.controller_owned(array.controller)
        for array in box.arrays
    ):
        codes.add("controller_unknown")
    if any(array.level in ("0", "none") for array in box.arrays):
        codes.add("no_redundancy")
    if not all(protected(box, controller, accessories) for controller in box.controllers):
        codes.add("cache_unprotected")
    processors = box.pieces("processor")
    if processors and box.pieces("memory") % processors:
        codes.add("memory_uneven")
    return codes
