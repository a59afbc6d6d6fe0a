"""Which functions of `quotelib.estimate` do quotes call: written down while some are worked out."""

from __future__ import annotations

import sys
from collections.abc import Callable
from functools import cache
from types import FrameType
from typing import Any

from quotelib.catalogue.price_list import load_price_list
from quotelib.predict.forecast import forecast
from quotelib.predict.outlook import array_estimates
from quotelib.predict.running import server_estimates
from tests.asking import chosen
from tests.ten_builds import SIX

_ROOM = "quotelib.estimate."


def called(work: Callable[[], Any]) -> frozenset[str]:
    """Name the functions of `quotelib.estimate` that some work calls: module and qualified name."""
    found: set[str] = set()

    def look(frame: FrameType, event: str, argument: object) -> None:
        module = frame.f_globals.get("__name__", "")
        if event == "call" and module.startswith(_ROOM):
            found.add(f"{module}.{frame.f_code.co_qualname}".removeprefix(_ROOM))

    _forget()
    before = sys.getprofile()
    sys.setprofile(look)
    try:
        work()
    finally:
        sys.setprofile(before)
    return frozenset(found)


def _forget() -> None:
    """Empty what is kept between calls: a result that is remembered calls nothing."""
    for name, module in list(sys.modules.items()):
        if name.startswith("quotelib."):
            for kept in list(vars(module).values()):
                if hasattr(kept, "cache_clear"):
                    kept.cache_clear()


@cache
def by_quotes() -> frozenset[str]:
    """Name what estimates of quotes call: six builds, disks and flash, each with a workload."""
    prices = load_price_list()
    builds = [chosen(prices, **cells) for cells in SIX.values()]
    load = next(iter(prices.workloads.values()))

    def quote() -> None:
        for build in builds:
            ahead = [forecast(build, array, load, prices.terms) for array in build.arrays]
            for each in ahead:
                list(array_estimates(each))
            list(server_estimates(build, ahead, prices.terms))

    return called(quote)
