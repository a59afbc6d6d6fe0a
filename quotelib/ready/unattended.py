"""How long does a server run by itself before it can leave: self-test, initialisation, soak.

What of it is estimated stands here once, for the bench sheet and for the choice of what can be
shipped in time.
"""

from collections.abc import Sequence
from functools import lru_cache

from quotelib.build.build import Build
from quotelib.build.layout import Array
from quotelib.build.speed import drive_link_mb_s
from quotelib.catalogue.parts import Drive
from quotelib.estimate.capacity import drive_bytes
from quotelib.estimate.performance.whole_drive import AT_MOST, initialise_hours, self_test_hours

SOAK_HOURS = 24
"""Where the terms do not say; common practice, no source."""
_UNKNOWN = float("inf")


def tested_hours(build: Build) -> float:
    """Give the hours until every drive that is put in has read itself; all at once.

    Drives of an array that stays are left alone, but for those that are bought for it.
    """
    put_in = (array.drive for array in build.arrays if array.fitted_drives)
    return max(map(drive_hours, put_in), default=0.0)


def initialised_hours(build: Build) -> float:
    """Give the hours until every new array is initialised; all at once."""
    made = [a for a in build.arrays if a.layout.rule.is_array and a.action == "new"]
    return max((_of_array(array, made) for array in made), default=0.0)


def most_hours(build: Build, soak_hours: int | None) -> float:
    """Give the most of what runs in one server, but for arrays that grow or change their drives.

    Cheap enough for every build under consideration.
    """
    estimated = AT_MOST * tested_hours(build) + AT_MOST * initialised_hours(build)
    return estimated + (0 if build.only_keeps_arrays else soak_hours or SOAK_HOURS)


def drive_hours(drive: Drive) -> float:
    """Give the hours until a drive has read itself."""
    return _self_test(drive.capacity_gb, int(drive.block_bytes), float(drive.read_mb_s))


@lru_cache(maxsize=4096)
def _self_test(capacity_gb: int, block_bytes: int, read_mb_s: float) -> float:
    return float(self_test_hours(drive_bytes(capacity_gb, block_bytes), read_mb_s))


def _of_array(array: Array, made: Sequence[Array]) -> float:
    """Give the hours of one array while its controller initialises all of its own."""
    controller, drive = array.controller, array.drive
    members = sum(one.layout.members for one in made if one.controller.sku == controller.sku)
    link = drive_link_mb_s(drive, controller)
    return _initialise(
        array.member_bytes,
        float(drive.write_mb_s),
        members,
        _UNKNOWN if link is None else float(link),
        float(controller.max_mb_s or _UNKNOWN),
    )


@lru_cache(maxsize=65_536)
def _initialise(
    member_bytes: int, write_mb_s: float, members: int, link_mb_s: float, controller_mb_s: float
) -> float:
    hours = initialise_hours(member_bytes, write_mb_s, members, link_mb_s, controller_mb_s)
    return float(hours)
