"""How are arrays and places called on a sheet: shortly, named only where there are several."""

from quotelib.build.build import Build
from quotelib.build.placement import AccessoryPlace, Placement
from quotelib.text import bays, both


def array_name(build: Build, index: int) -> str:
    """Call an array: ``array data``; blank where it is the only one."""
    if len(build.arrays) == 1:
        return ""
    return f"array {build.arrays[index].name or index + 1}"


def of_array(build: Build, index: int) -> str:
    """Say whose something is: `` of array data``; blank where there is one array."""
    name = array_name(build, index)
    return f" of {name}" if name else ""


def of_controller(build: Build, places: Placement, *skus: str) -> str:
    """Say which bays hang on controllers: `` for bays 1 to 2``; blank where there is only one."""
    if len(list(build.controllers())) < 2:
        return ""
    served = (at for at, array in enumerate(build.arrays) if array.controller.sku in skus)
    return f" for {bays(sorted(bay for at in served for bay in places.bays_of(at)))}"


def where_words(item: AccessoryPlace, build: Build, places: Placement) -> str:
    """Say where in fewer words than the placement: a sheet has the rest beside it."""
    if item.kind == "adapter":
        return f"between drive and bay, {bays(item.bays)}" if item.bays else item.where
    if item.bays:
        return f"one a drive, {bays(item.bays)}"
    if item.kind == "rail":
        return "the rack, not the bench"
    if "controller" not in item.for_roles:
        return item.where
    one = len(places.seats) == 1
    seated = [seat.sku for seat in places.seats if seat.sku in item.for_parts]
    cards = [seat.sku for seat in places.seats if seat.bracket and seat.sku in item.for_parts]
    whose = of_controller(build, places, *seated)
    return {
        "cable": f"{'controller' if one else both(seated)} to backplane{whose}",
        "cache_protection": f"on {'the controller' if one else both(seated)}",
        "bracket": f"on {'the card' if one else both(cards or seated)}",
    }.get(item.kind, item.where)
