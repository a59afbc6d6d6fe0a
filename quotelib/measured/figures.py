"""Which job gives which figure: told by the keys of the estimates that a record has."""

import re
from typing import Literal, NamedTuple

Direction = Literal["read", "write"]
What = Literal["iops", "mb_s", "mean_ms", "percentile_ms"]
BOTH: tuple[Direction, ...] = ("read", "write")
UNDER_LOAD = "host_iops"
"""The job that is the load itself; it gives more than one figure."""

_OWN: dict[str, tuple[Direction, ...]] = {
    UNDER_LOAD: BOTH,
    "read_iops": ("read",),
    "write_iops": ("write",),
    "read_mb_s": ("read",),
    "write_mb_s": ("write",),
    "lone_read_ms": ("read",),
    "write_ms": ("write",),
}
_WHAT: dict[str, What] = {"iops": "iops", "mb_s": "mb_s", "ms": "mean_ms"}
_PERCENTILE = re.compile(r"(?:(read|write|response)_)?p(\d{1,2})(?:_?(\d{1,2}))?_ms")


class Found(NamedTuple):
    """Where a figure is found: in which job, of which operations, what, and which percentile."""

    job: str
    of: tuple[Direction, ...]
    what: What
    percentile: float = 0


def found_in(key: str) -> Found | None:
    """Say where the figure of an estimate is found; None: no job gives it.

    Percentiles of response times are under the load: ``response_p99_ms``, ``read_p99_9_ms``.
    """
    if key in _OWN:
        return Found(key, _OWN[key], next(it for end, it in _WHAT.items() if key.endswith(end)))
    if key == "host_mb_s":
        return Found(UNDER_LOAD, BOTH, "mb_s")
    if key == "response_ms":
        return Found(UNDER_LOAD, BOTH, "mean_ms")
    if (percentile := _PERCENTILE.fullmatch(key)) is None:
        return None
    side, digits, more = percentile.groups()
    of = tuple(one for one in BOTH if side in (None, "response", one))
    return Found(UNDER_LOAD, of, "percentile_ms", float(f"{digits}.{more or 0}"))


def less_is_better(key: str) -> bool:
    """Tell whether a figure is a time, of which less is better, and no rate."""
    return key.endswith("_ms")
