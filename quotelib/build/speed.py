"""How fast may the data go: what drives give together, and what may hold them back."""

import math
from collections.abc import Sequence
from functools import lru_cache
from typing import Literal

from quotelib.build.layout import Array
from quotelib.catalogue.parts import Controller, Drive
from quotelib.estimate.performance import links
from quotelib.facts import Frozen
from quotelib.text import count

Ceiling = Literal["drive links", "device lanes", "controller", "host link"]

_LINE_GBIT_S = {"24": 22.5}  # SAS-4 is sold as "24"; its line rate is 22.5 (T10)


class Speed(Frozen):
    """What the member drives give together against each thing the data passes.

    All rates are MB/s (10^6 bytes) of payload, after line coding and before packet overhead;
    None: not known.

    Parameters
    ----------
    members : int
        Member drives; hot spares carry no data.
    rated_mb_s : float
        Sum over the members of the rated sustained rate, the better of read and write.
    links_mb_s : float or None
        Sum of the members' links.
    device_mb_s : float or None
        What the controller's device side carries, for all its arrays together: the lanes that
        drives behind an expander share, or as `links_mb_s` where none is shared.
    drives_mb_s : float
        As `rated_mb_s`, each drive limited by its own link.
    controller_mb_s : float or None
        The controller's own ceiling, from its datasheet.
    host_mb_s : float or None
        The controller's link to the system, as agreed with the place it sits in.
    tightest : str or None
        The lowest of the known ceilings; None where none is known.
    tightest_mb_s : float or None
        Its rate.
    capped : bool or None
        Whether the tightest is below `rated_mb_s`. None: no known ceiling is, but not all
        are known.
    """

    members: int
    rated_mb_s: float
    links_mb_s: float | None
    device_mb_s: float | None
    drives_mb_s: float
    controller_mb_s: float | None
    host_mb_s: float | None
    tightest: Ceiling | None
    tightest_mb_s: float | None
    capped: bool | None


@lru_cache(maxsize=64)
def serial_mb_s(rate: str) -> float:
    """Payload rate in MB/s of a link that a price list names ``6``, ``22.5`` or ``24``."""
    return float(links.serial_link_mb_s(_LINE_GBIT_S.get(rate, float(rate))))


@lru_cache(maxsize=256)
def pcie_mb_s(generation: int | None, lanes: int | None) -> float | None:
    """Payload rate of a PCI Express link in MB/s, one direction.

    None where either is blank, or the generation's figures are not in our table.
    """
    if generation is None or lanes is None or generation not in links.PCIE_CODING:
        return None
    return float(links.pcie_link_mb_s(generation, lanes, generation, lanes))


def drive_link_mb_s(drive: Drive, controller: Controller) -> float | None:
    """Payload rate of one drive's link to the controller, in MB/s.

    A SAS drive whose own rate is stated runs at the lesser one. None where the controller has no
    such link, or its rate is not in our table.
    """
    if drive.interface == "nvme":
        return pcie_mb_s(controller.nvme_gen, drive.lanes)
    rate = controller.sata_gbit_s if drive.interface == "sata" else controller.sas_gbit_s
    if rate is None:
        return None
    return min(serial_mb_s(rate), serial_mb_s(drive.link_gbit_s or rate))


def links_at_once(drive: Drive, controller: Controller, backplane: str) -> float | None:
    """How many such drives' links the controller's lanes carry at once; None: not known.

    On a direct backplane each drive has lanes of its own, and nothing is shared: infinite. Behind
    an expander (of NVMe drives: a switch) all share the controller's `ports`. A lane runs at the
    rate of the drive it is connected to: rate matching, SPL (T10), from memory. Expanders that
    buffer are rare and do better.
    """
    if backplane == "direct":
        return math.inf
    if backplane != "expander" or not controller.ports:
        return None
    return controller.ports / (drive.lanes if drive.interface == "nvme" else 1)


def device_mb_s(array: Array, backplane: str) -> float | None:
    """What the device side of an array's controller carries in MB/s; None: not known."""
    link = drive_link_mb_s(array.drive, array.controller)
    at_once = links_at_once(array.drive, array.controller, backplane)
    if link is None or at_once is None:
        return None
    return link * (array.layout.members if math.isinf(at_once) else at_once)


def lanes_words(array: Array, backplane: str) -> str:
    """Say how the drives of an array reach their controller."""
    if backplane == "direct":
        return "each drive its own"
    known = links_at_once(array.drive, array.controller, backplane)
    if known is None:
        return "not known whether, and how many, the drives share"
    shared = count(array.controller.ports or 0, "lane")
    return f"the {shared} of {array.controller.sku} that all drives behind the expander share"


def rated_mb_s(drive: Drive) -> float:
    """Sustained rate of one drive: the better of read and write."""
    return max(drive.read_mb_s, drive.write_mb_s)


def drives_mb_s(array: Array) -> float:
    """What the member drives give together, each limited by its own link, in MB/s."""
    link = drive_link_mb_s(array.drive, array.controller)
    rated = rated_mb_s(array.drive)
    return array.layout.members * (rated if link is None else min(rated, link))


def behind_mb_s(arrays: Sequence[Array], backplane: str) -> float:
    """What the drives of all arrays on one controller give it together, in MB/s."""
    # Lanes that arrays share go to whichever drives are the fastest.
    shared = [rate for a in arrays if (rate := device_mb_s(a, backplane)) is not None]
    limited = backplane != "direct" and len(shared) == len(arrays)
    most = max(shared, default=math.inf) if limited else math.inf
    return min(float(sum(map(drives_mb_s, arrays))), most)


def speed(array: Array, backplane: str, host_mb_s: float | None) -> Speed:
    """Set an array's drives against their links, the controller and its link to the system."""
    members = array.layout.members
    link = drive_link_mb_s(array.drive, array.controller)
    ceilings: dict[Ceiling, float | None] = {
        "drive links": None if link is None else members * link,
        "device lanes": device_mb_s(array, backplane),
        "controller": array.controller.max_mb_s,
        "host link": host_mb_s,
    }
    known = {name: rate for name, rate in ceilings.items() if rate is not None}
    tightest = min(known, key=lambda name: known[name], default=None)
    rated = members * rated_mb_s(array.drive)
    capped: bool | None = tightest is not None and known[tightest] < rated
    if not capped and len(known) < len(ceilings):
        capped = None
    return Speed(
        members=members,
        rated_mb_s=rated,
        links_mb_s=ceilings["drive links"],
        device_mb_s=ceilings["device lanes"],
        drives_mb_s=drives_mb_s(array),
        controller_mb_s=ceilings["controller"],
        host_mb_s=host_mb_s,
        tightest=tightest,
        tightest_mb_s=None if tightest is None else known[tightest],
        capped=capped,
    )
