"""Which accessories come with which chassis, controller and drive, and what they add up to.

What `Build.needs`, `Build.served` and `Build.quantity` say of one build, said of all builds of one
array at once: whether an accessory comes depends on the chassis, the controller and the kind of
drive, and its number on one of a few functions of the number of drives (`Basis`).
"""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from quotelib.catalogue.parts import Accessory, Chassis, Controller, Drive
from quotelib.catalogue.price_list import PriceList
from quotelib.choose.integers import Whole

Flags = NDArray[np.bool_]
Index = NDArray[np.intp]
NO_END = 10**9
"""More drives than any chassis has bays."""


class Basis(NamedTuple):
    """A function of the number of drives n.

    Parameters
    ----------
    of : str
        ``one``: always 1; ``all``: n; ``bought``: those of n that are bought.
    per : int
        One for each so many, or part of them.
    """

    of: str
    per: int = 1

    def at(self, drives: Whole, have: int) -> Whole:
        """Give it for so many drives of which the customer has `have` (a number at most)."""
        if self.of == "one":
            return np.ones_like(drives)
        counted = drives if self.of == "all" else np.maximum(drives - have, 0)
        return counted if self.per == 1 else np.asarray(-(-counted // self.per))


@dataclass(frozen=True)
class Regime:
    """From how many drives to how many the same of them are the customer's.

    Parameters
    ----------
    theirs, bought : bool
        Whether some are the customer's, and whether some are bought.
    fitted : str
        Which drives are put in: a basis, blank for none.
    """

    least: int
    most: int
    theirs: bool
    bought: bool
    fitted: str


@dataclass(frozen=True)
class Listed:
    """The parts that one array may be made of, and what else there is in its server.

    Parameters
    ----------
    kinds : ndarray of int
        Of each drive, which kind of `samples` it is: drives of one kind are alike to every rule
        and every accessory.
    owned : ndarray of bool
        Of each controller, whether it is the customer's.
    options : tuple of str
        Skus of the options in it.
    drive_skus : frozenset of str
        Of all drives of the price list.
    """

    boxes: tuple[Chassis, ...]
    controllers: tuple[Controller, ...]
    drives: tuple[Drive, ...]
    kinds: NDArray[np.intp]
    samples: tuple[Drive, ...]
    box_owned: bool
    owned: Flags
    options: tuple[str, ...]
    drive_before: Drive | None
    drive_skus: frozenset[str]

    @property
    def shape(self) -> tuple[int, int, int]:
        """Count chassis, controllers and kinds of drive."""
        return len(self.boxes), len(self.controllers), len(self.samples)


def kinds_of(
    prices: PriceList, drives: Sequence[Drive]
) -> tuple[NDArray[np.intp], tuple[Drive, ...]]:
    """Sort drives into kinds that no rule and no accessory tells apart; give one of each kind."""
    named: dict[str, list[str]] = defaultdict(list)
    for item in prices.accessories.values():
        for sku in item.needed_by:
            named[sku].append(item.sku)
        for sku in item.together_with:
            named[sku].append(f"with {item.sku}")
    places: dict[object, int] = {}
    samples: list[Drive] = []
    kinds = np.empty(len(drives), dtype=np.intp)
    for at, drive in enumerate(drives):
        key = (drive.interface, drive.width_in, drive.lanes, drive.media, *named[drive.sku])
        if key not in places:
            places[key] = len(samples)
            samples.append(drive)
        kinds[at] = places[key]
    return kinds, tuple(samples)


@dataclass
class Coming:
    """What accessories come, by chassis, controller and kind of drive.

    Parameters
    ----------
    sums : dict
        By basis, an array of shape (measures, chassis, controllers, kinds): what comes for it.
    adapted, protected : ndarray of bool
        Whether an adapter comes for the drive, and protection for the controller's cache.
    last : ndarray of int
        The most drives for which all accessories are here in time.
    """

    sums: dict[Basis, Whole] = field(default_factory=dict)
    adapted: Flags = field(default_factory=lambda: np.zeros((1, 1, 1), dtype=bool))
    protected: Flags = field(default_factory=lambda: np.zeros((1, 1, 1), dtype=bool))
    last: NDArray[np.int64] = field(default_factory=lambda: np.full((1, 1, 1), NO_END))


def coming(
    listed: Listed,
    regime: Regime,
    have: int,
    weighed: Sequence[tuple[Accessory, Sequence[int], int]],
    wide: bool,
    beside: bool = False,
) -> Coming:
    """Say what accessories come.

    Parameters
    ----------
    have : int
        How many of the drives are the customer's, where not all are.
    weighed : sequence of (Accessory, numbers, int)
        Each accessory with what one of it adds to each measure, and how many of it may come.
    beside : bool
        Only what comes for each drive whatever other arrays there are in the server: not what is
        counted once, or rounded up over all arrays, nor what drives of another array may call for
        in place of the controller.
    """
    boxes, controllers, samples = listed.boxes, listed.controllers, listed.samples
    box_skus = [one.sku for one in boxes]
    skus = [one.sku for one in controllers]
    needs_adapter = np.array(
        [[d.width_in == "2.5" and b.bay_width_in == "3.5" for d in samples] for b in boxes]
    ).reshape(len(boxes), 1, len(samples))
    found = Coming()
    for item, numbers, most in weighed:
        adapter, named_by = item.kind == "adapter", set(item.needed_by)
        by_box = _in(box_skus, named_by, 0) & (adapter or not listed.box_owned)
        theirs = np.zeros_like(listed.owned) if adapter else listed.owned
        by_controller = _in(skus, named_by, 1) & ~theirs.reshape(1, -1, 1)
        by_option = not named_by.isdisjoint(listed.options)
        by_drive = _in([d.sku for d in samples], named_by, 2)
        if not (by_box.any() or by_controller.any() or by_option or by_drive.any()):
            continue
        calling = by_box | by_controller | by_option
        basis = regime.fitted if adapter else "bought" * regime.bought
        named = by_drive & bool(basis)
        every = ~named & calling
        if item.interfaces:
            right = _in([d.interface for d in samples], set(item.interfaces), 2)
            named, every = named & right, every & right
        if adapter:
            named, every = named & needs_adapter, every & needs_adapter
        there = _together(listed, regime, item, box_skus, skus)
        by_drives = item.per != "build" or adapter or bool(item.interfaces)
        needed = there & (named | every | (calling & (not by_drives)))
        if not needed.any():
            continue
        if adapter:
            found.adapted = found.adapted | (needed & by_drive)
        if item.kind == "cache_protection":
            found.protected = found.protected | needed
        pieces = [] if beside else [(Basis("one"), needed)]
        if item.per != "build" and not (beside and item.per > 1):
            called_by_drives = beside and not named_by.isdisjoint(listed.drive_skus)
            pieces = [] if called_by_drives else [(Basis("all", item.per), there & every)]
            if basis:
                pieces.append((Basis(basis, item.per), there & named))
        for at, where in pieces:
            if not where.any():
                continue
            if any(numbers):
                _add(found.sums, at, where, numbers, listed.shape, wide)
            if most < NO_END:
                # So many of it are there in time: as many drives as they serve.
                last = most * at.per + have * (at.of == "bought")
                last = last if at.of != "one" else NO_END * (most > 0)
                found.last = np.minimum(found.last, np.where(where, last, NO_END))
    return found


def _in(skus: Sequence[str], wanted: set[str], axis: int) -> Flags:
    shape = [1, 1, 1]
    shape[axis] = len(skus)
    return np.array([sku in wanted for sku in skus], dtype=bool).reshape(shape)


def _together(
    listed: Listed,
    regime: Regime,
    item: Accessory,
    boxes: Sequence[str],
    controllers: Sequence[str],
) -> Flags:
    """Tell where one of the parts is in the build that an accessory comes together with."""
    wanted = set(item.together_with)
    if not wanted or not wanted.isdisjoint(listed.options):
        return np.ones((1, 1, 1), dtype=bool)
    found = _in(boxes, wanted, 0) | _in(controllers, wanted, 1)
    drives = _in([d.sku for d in listed.samples], wanted, 2)
    before = listed.drive_before
    own = drives if before is None else np.full((1, 1, 1), before.sku in wanted)
    if regime.theirs:
        found = found | own
    return found | drives if regime.bought else found


def _add(
    sums: dict[Basis, Whole],
    at: Basis,
    where: Flags,
    numbers: Sequence[int],
    shape: tuple[int, int, int],
    wide: bool,
) -> None:
    kind = object if wide else np.int64
    if at not in sums:
        sums[at] = np.zeros((len(numbers), *shape), dtype=kind)
    for row, number in zip(sums[at], numbers, strict=True):
        if number:
            row += where.astype(kind) * number
