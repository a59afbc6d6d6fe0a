"""Bounds and the knee of closed queueing networks, without solving them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from quotelib.estimate.checks import FloatArray
from quotelib.estimate.performance.queueing import Network


@dataclass(frozen=True)
class Bounds:
    """Bounds of the throughput of closed networks.

    Parameters
    ----------
    low_per_s, high_per_s : ndarray of float
        Customers a second. The response that belongs to either is customers / it - think time.
    """

    low_per_s: FloatArray
    high_per_s: FloatArray


def asymptotic_bounds(network: Network) -> Bounds:
    """Bound closed networks by their largest and their total demand.

    Parameters
    ----------
    network : Network

    Returns
    -------
    Bounds
        NaN wherever an input is NaN.

    Notes
    -----
    N / (N D + Z) <= X <= min(1 / D_max, N / (D + Z)). They hold for any distribution of service
    times. Source: Lazowska et al., 1984, section 5.2.
    """
    people, think, total = network.customers, network.think, network.total_demand
    with np.errstate(divide="ignore"):
        high = np.minimum(1 / network.largest_demand, people / (total + think))
    low = np.asarray(people / (people * total + think))
    return Bounds(low.reshape(network.shape), high.reshape(network.shape))


def balanced_bounds(network: Network) -> Bounds:
    """Bound closed networks by networks whose stations are all alike.

    Parameters
    ----------
    network : Network
        Multiplicities must be whole for the bounds to be proven.

    Returns
    -------
    Bounds
        NaN wherever an input is NaN.

    Notes
    -----
    With D the total, D_max the largest and D_ave the mean demand:
    N / (D + Z + (N-1) D_max / (1 + Z / (N D))) <= X <=
    min(1 / D_max, N / (D + Z + (N-1) D_ave / (1 + Z / D))). Source: Lazowska et al., 1984,
    section 5.4. They need a product-form network.
    """
    people, think, total = network.customers, network.think, network.total_demand
    largest = network.largest_demand
    with np.errstate(divide="ignore", invalid="ignore"):
        mean = np.where(total > 0, total / network.copies.sum(axis=0), total)
        slow = np.where(total > 0, (people - 1) * largest / (1 + think / (people * total)), total)
        fast = np.where(total > 0, (people - 1) * mean / (1 + think / total), total)
        high = np.minimum(1 / largest, people / (total + think + fast))
    low = np.asarray(people / (total + think + slow))
    return Bounds(low.reshape(network.shape), high.reshape(network.shape))


def knee_customers(network: Network) -> FloatArray:
    """Load beyond which more customers mostly add waiting.

    Parameters
    ----------
    network : Network
        However many customers it has.

    Returns
    -------
    ndarray of float, shape (...)
        (D + Z) / D_max, where the two asymptotes of the throughput cross; infinite without
        any station that takes time.

    Notes
    -----
    N* of Lazowska et al., 1984, section 5.2.
    """
    with np.errstate(divide="ignore"):
        knee = (network.total_demand + network.think) / network.largest_demand
    return np.asarray(knee).reshape(network.shape)
