"""Open networks of single servers: what a closed one comes to with ever more idle customers."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class OpenNetwork:
    """By station: visits a second, busy share, seconds of all visits of one job, jobs present."""

    throughput_per_s: Floats
    utilisation: Floats
    residence_s: Floats
    queue: Floats


def open_network(arrivals_per_s: float, visits: ArrayLike, service_s: ArrayLike) -> OpenNetwork:
    """U = arrivals x visits x service; residence = visits x service / (1 - U); queue = U / (1 - U).

    Source: Lazowska et al., Quantitative System Performance, 1984, section 6.3.
    """
    count, service = np.asarray(visits, dtype=float), np.asarray(service_s, dtype=float)
    busy = arrivals_per_s * count * service
    if not (busy < 1).all():
        raise ValueError("a station is busy all the time: nothing ever comes through")
    return OpenNetwork(
        arrivals_per_s * count, busy, count * service / (1 - busy), busy / (1 - busy)
    )
