"""What a performance estimate is asked: the load, the limits on the way, the array's state."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from quotelib.estimate.checks import FloatArray, StrArray, number, require

STATES = ("normal", "degraded", "rebuilding")
STATIONS = ("drives", "drive links", "controller", "host link")
NOT_KNOWN = -1
NO_SERVICE = -2

# Share of the drives' time a rebuild takes from the host. Common practice, no source.
REBUILD_SHARE = 0.3


@dataclass(frozen=True)
class DataPath:
    """What lies between the drives and the host; infinity for "no limit stated".

    Parameters
    ----------
    link_mb_s : array_like of float
        One drive's link.
    controller_mb_s, controller_iops : array_like of float
        Data and operations a second the controller manages: at the drives, copies, parity and what
        is read to work it out included (see `cases.DRIVE_SIDE`).
    host_link_mb_s : array_like of float
        The controller's slot.
    links_at_once : array_like of float
        How many of the drives' links the lanes between them and the controller carry at once: lanes
        behind an expander are shared, and each is taken by one drive at a time, at its rate.
    """

    link_mb_s: ArrayLike = np.inf
    controller_mb_s: ArrayLike = np.inf
    controller_iops: ArrayLike = np.inf
    host_link_mb_s: ArrayLike = np.inf
    links_at_once: ArrayLike = np.inf


@dataclass(frozen=True)
class Load:
    """What the host asks for.

    Parameters
    ----------
    read_share, random_share : array_like of float
        0 to 1.
    block_bytes : array_like of float
        Size of an operation, above zero.
    outstanding : array_like of int
        Operations under way at once, at least 1. Each goes on where its own last one ended, unless
        it is a random one: so many streams.
    """

    read_share: ArrayLike
    random_share: ArrayLike
    block_bytes: ArrayLike
    outstanding: ArrayLike


@dataclass(frozen=True)
class Serving:
    """How an array serves its host.

    Parameters
    ----------
    strip_bytes : array_like of float
        What lies on one drive before the next one's turn comes, above zero; infinite where each
        drive is used by itself.
    cached : array_like of bool
        Whether a write-back cache that keeps its contents through a power cut answers writes; if
        not, a write is answered once the drives have it.
    """

    strip_bytes: ArrayLike = np.inf
    cached: ArrayLike = False


def checked_serving(serving: Serving) -> Serving:
    """Check how an array serves, and give it as arrays of numbers; cached is 0 or 1."""
    return Serving(
        number("strip in bytes", serving.strip_bytes, above=0, infinite=True),
        number("cached", serving.cached, at_least=0, at_most=1, whole=True),
    )


def checked_path(path: DataPath) -> DataPath:
    """Check that the limits between drives and host are above zero, and give them as arrays."""
    return DataPath(
        number("drive link in MB/s", path.link_mb_s, above=0, infinite=True),
        number("controller limit in MB/s", path.controller_mb_s, above=0, infinite=True),
        number("controller limit in IOPS", path.controller_iops, above=0, infinite=True),
        number("host link in MB/s", path.host_link_mb_s, above=0, infinite=True),
        number("drive links at once", path.links_at_once, above=0, infinite=True),
    )


def checked_load(load: Load) -> Load:
    """Check a workload and give it as arrays; the outstanding operations must be known."""
    outstanding = number("outstanding operations", load.outstanding, at_least=1, whole=True)
    require(~np.isnan(outstanding), "outstanding operations must be known to work out a load")
    return Load(
        number("read share", load.read_share, at_least=0, at_most=1),
        number("random share", load.random_share, at_least=0, at_most=1),
        number("block in bytes", load.block_bytes, above=0),
        outstanding,
    )


def bottleneck_name(codes: ArrayLike) -> StrArray:
    """Put bottleneck codes into words: one of `STATIONS`, ``"not known"`` or ``"no service"``."""
    index = np.asarray(codes, dtype=np.int64)
    if ((index < NO_SERVICE) | (index >= len(STATIONS))).any():
        raise ValueError(f"bottleneck codes run from {NO_SERVICE} to {len(STATIONS) - 1}")
    return np.asarray(np.array([*STATIONS, "no service", "not known"])[index])


def check_state(state: str | Sequence[str], rebuild_share: ArrayLike) -> FloatArray:
    """Check states, of `STATES`, and the share of drive time a rebuild takes, 0 to below 1.

    Gives the share of the affected drives' time left for the host.
    """
    states = [state] if isinstance(state, str) else list(state)
    for one in states:
        if one not in STATES:
            raise ValueError(f"state {one!r} is not one of {', '.join(STATES)}")
    share = number("share of drive time for the rebuild", rebuild_share, at_least=0, below=1)
    if isinstance(state, str):
        return np.asarray(1 - share if state == "rebuilding" else np.ones_like(share))
    return np.where(np.array(states) == "rebuilding", 1 - share, 1.0)
