"""From a build to what is simulated: figures straight from the price list.

It asks `quotelib` for what is in the build, at which rates its links run and whether its cache
keeps its contents; never for an estimate.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from quotelib.build.build import Build
from quotelib.build.layout import Array as Laid
from quotelib.build.slots import host_link_mb_s
from quotelib.build.speed import drive_link_mb_s, links_at_once
from quotelib.catalogue.work import Workload
from tests.estimate.opinions.array.parts import (
    KIB,
    MIB,
    Array,
    Cache,
    Disk,
    Drive,
    Flash,
    Load,
    Path,
)

DEPTHS = {"sata": 32, "sas": 128, "nvme": 1024}
"""SATA: ACS (T13); SAS and NVMe: what drives of the class take. All from memory."""
FLASH_PIECE = 256 * KIB
"""Fetched of each flash drive for a stream: there is no positioning to save. Common practice, no
source."""
FLASH_REBUILD_PIECE = MIB


@dataclass(frozen=True)
class Simulated:
    """What `simulate` takes of one array of a build, in its order."""

    drive: Drive
    array: Array
    path: Path
    cache: Cache


def of_build(build: Build, laid: Laid) -> Simulated:
    """Take the figures of one array of a build; it has its controller to itself."""
    drive, controller, layout = laid.drive, laid.controller, laid.layout
    depth, flash = DEPTHS[drive.interface], drive.media == "ssd"
    made: Drive
    if flash:
        assert drive.read_iops and drive.write_iops
        iops = (float(drive.read_iops), float(drive.write_iops))
        rates = (float(drive.read_mb_s), float(drive.write_mb_s))
        made = Flash(laid.member_bytes, *iops, *rates, depth=depth)
    else:
        assert drive.seek_ms and drive.rpm
        seek_ms, rate = float(drive.seek_ms), float(drive.read_mb_s)
        made = Disk(laid.member_bytes, int(drive.rpm), seek_ms, rate, depth)
    rule = layout.rule
    array = Array(
        members=layout.members,
        spans=layout.spans,
        parity=rule.parity_per_span,
        copies=rule.copies,
        one_by_one=not rule.is_array,
        strip_bytes=layout.strip_kib * KIB,
    )
    path = Path(
        link_mb_s=_or_none(drive_link_mb_s(drive, controller)),
        links_at_once=_or_none(links_at_once(drive, controller, build.chassis.backplane)),
        controller_mb_s=_or_none(controller.max_mb_s),
        controller_iops=_or_none(controller.max_iops),
        host_mb_s=_or_none(host_link_mb_s(build, controller)),
    )
    kept = controller.cache_mib * MIB if build.is_protected(controller) else 0
    return Simulated(made, array, path, Cache(kept, FLASH_PIECE if flash else 2 * MIB))


def _or_none(limit: float | None) -> float:
    """Give a limit that is stated; else there is none."""
    return math.inf if limit is None else float(limit)


def of_workload(workload: Workload) -> Load:
    """Take a workload's figures: customers that ask on and on."""
    return Load(
        read_share=float(workload.read_pct) / 100,
        random_share=float(workload.random_pct) / 100,
        block_bytes=int(float(workload.block_kib) * KIB),
        outstanding=workload.outstanding,
    )


def of_day(workload: Workload) -> Load:
    """Take a workload as a day has it: its writes, and as many reads as go with them, at random
    moments of 24 hours."""
    load = of_workload(workload)
    writes = float(workload.writes_gb_per_day) * 1e9 / 86_400 / load.block_bytes
    rate = writes / (1 - load.read_share) if load.read_share < 1 else 0.0
    return Load(load.read_share, load.random_share, load.block_bytes, load.outstanding, rate)
