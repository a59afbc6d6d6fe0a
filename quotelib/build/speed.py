"""How fast may the data go: what the drives give together, and what may hold them back."""

from functools import lru_cache
from typing import Literal

from pydantic import BaseModel, ConfigDict

from quotelib.build.build import Build
from quotelib.catalogue.parts import Controller, Drive
from quotelib.estimate.performance import links

Ceiling = Literal["drive links", "controller", "host link"]

_LINE_GBIT_S = {"24": 22.5}  # SAS-4 is sold as "24"; its line rate is 22.5 (T10)


class Speed(BaseModel):
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

    model_config = ConfigDict(frozen=True, extra="forbid")

    members: int
    rated_mb_s: float
    links_mb_s: float | None
    drives_mb_s: float
    controller_mb_s: float | None
    host_mb_s: float | None
    tightest: Ceiling | None
    tightest_mb_s: float | None
    capped: bool | None


@lru_cache(maxsize=64)
def serial_mb_s(rate: str) -> float:
    """Payload rate of a SATA or SAS link as a price list names it (``6``, ``22.5``, ``24``)."""
    return float(links.serial_link_mb_s(_LINE_GBIT_S.get(rate, float(rate))))


@lru_cache(maxsize=256)
def pcie_mb_s(generation: int | None, lanes: int | None) -> float | None:
    """Payload rate of a PCI Express link, one direction.

    Returns
    -------
    float or None
        None where either is blank, or the generation's figures are not in our table.
    """
    if generation is None or lanes is None or generation not in links.PCIE_CODING:
        return None
    return float(links.pcie_link_mb_s(generation, lanes, generation, lanes))


def drive_link_mb_s(drive: Drive, controller: Controller) -> float | None:
    """Payload rate of one drive's link to the controller.

    The price list gives drives no line rate of their own, so the controller's counts. An NVMe
    drive has four lanes.

    Returns
    -------
    float or None
        None where the controller has no such link, or its rate is not in our table.
    """
    if drive.interface == "nvme":
        return pcie_mb_s(controller.nvme_gen, links.NVME_DRIVE_LANES)
    rate = controller.sata_gbit_s if drive.interface == "sata" else controller.sas_gbit_s
    return None if rate is None else serial_mb_s(rate)


def rated_mb_s(drive: Drive) -> float:
    """Sustained rate of one drive: the better of read and write."""
    return max(drive.read_mb_s, drive.write_mb_s)


def together_mb_s(drive: Drive, controller: Controller, members: int) -> float:
    """What so many drives give together, each limited by its own link, in MB/s."""
    link = drive_link_mb_s(drive, controller)
    rated = rated_mb_s(drive)
    return members * (rated if link is None else min(rated, link))


def drives_mb_s(build: Build) -> float:
    """What the member drives give together, each limited by its own link, in MB/s."""
    return together_mb_s(build.drive, build.controller, build.layout.members)


def speed(build: Build, host_mb_s: float | None) -> Speed:
    """Set the drives against their links, the controller and its place.

    Parameters
    ----------
    build : Build
    host_mb_s : float or None
        The controller's link as agreed with its place; None: not known.

    Returns
    -------
    Speed
    """
    members = build.layout.members
    link = drive_link_mb_s(build.drive, build.controller)
    ceilings: dict[Ceiling, float | None] = {
        "drive links": None if link is None else members * link,
        "controller": build.controller.max_mb_s,
        "host link": host_mb_s,
    }
    known = {name: rate for name, rate in ceilings.items() if rate is not None}
    tightest = min(known, key=lambda name: known[name], default=None)
    rated = members * rated_mb_s(build.drive)
    capped: bool | None = tightest is not None and known[tightest] < rated
    if not capped and len(known) < len(ceilings):
        capped = None
    return Speed(
        members=members,
        rated_mb_s=rated,
        links_mb_s=ceilings["drive links"],
        drives_mb_s=drives_mb_s(build),
        controller_mb_s=ceilings["controller"],
        host_mb_s=host_mb_s,
        tightest=tightest,
        tightest_mb_s=None if tightest is None else known[tightest],
        capped=capped,
    )


def gb_s(rate_mb_s: float) -> str:
    """Write a rate in GB/s to two decimals."""
    return f"{rate_mb_s / 1000:.2f} GB/s"
