"""Open queueing networks of single servers."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from quotelib.estimate.checks import FloatArray, number


@dataclass(frozen=True)
class OpenNetwork:
    """Solution of an open network of single servers.

    Parameters
    ----------
    throughput_per_s, utilisation, residence_s, queue : ndarray of float, shape (..., K)
        By station: visits a second, busy share, time of all visits of one job, jobs present.
    response_s : ndarray of float, shape (...)
        Time of a job in the network.
    """

    throughput_per_s: FloatArray
    utilisation: FloatArray
    residence_s: FloatArray
    queue: FloatArray
    response_s: FloatArray


def open_network(arrivals_per_s: ArrayLike, visits: ArrayLike, service_s: ArrayLike) -> OpenNetwork:
    """Solve open networks of single-server stations.

    Parameters
    ----------
    arrivals_per_s : array_like of float, shape (...)
        Jobs a second, at least zero.
    visits, service_s : array_like of float, shape (..., K)
        Visits of a job to each station, and the time of one visit.

    Returns
    -------
    OpenNetwork
        Where a station is busy all the time or more, its residence and queue are infinite.

    Raises
    ------
    ValueError
        A negative rate, visit count or service time, or no station.

    Notes
    -----
    Utilisation U = arrivals x visits x service; residence = visits x service / (1 - U); queue
    = U / (1 - U). Source: Lazowska et al., 1984, section 6.3.
    """
    rate = number("arrivals per s", arrivals_per_s, at_least=0)[..., np.newaxis]
    count = number("visits", visits, at_least=0)
    service = number("service time in s", service_s, at_least=0)
    if np.broadcast(count, service).ndim == 0:
        raise ValueError("visits and service times need one entry a station along the last axis")
    busy = np.asarray(rate * count * service)
    with np.errstate(divide="ignore", invalid="ignore"):
        residence = np.where(busy >= 1, np.inf, count * service / (1 - busy))
        queue = np.where(busy >= 1, np.inf, busy / (1 - busy))
    return OpenNetwork(
        throughput_per_s=np.asarray(rate * count * np.ones_like(busy)),
        utilisation=busy,
        residence_s=residence,
        queue=queue,
        response_s=np.asarray(residence.sum(axis=-1)),
    )
