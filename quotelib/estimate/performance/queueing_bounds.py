"""Bounds and the knee of closed queueing networks, without solving them.

Source: Lazowska, Zahorjan, Graham and Sevcik, Quantitative System Performance, 1984. N are the
customers, Z is the think time, D the total demand, D_max the largest and D_ave the mean one.
"""

from dataclasses import dataclass

import numpy as np

from quotelib.estimate.checks import FloatArray
from quotelib.estimate.performance.queueing import Network


@dataclass(frozen=True)
class Bounds:
    """Customers a second; the response that belongs to either is customers / it - think time."""

    low_per_s: FloatArray
    high_per_s: FloatArray


def asymptotic_bounds(network: Network) -> Bounds:
    """Bound closed networks by their largest and their total demand (section 5.2).

    N / (N D + Z) <= X <= min(1 / D_max, N / (D + Z)), for any distribution of service times.
    """
    people, think, total = network.customers, network.think, network.total_demand
    with np.errstate(divide="ignore"):
        high = np.minimum(1 / network.largest_demand, people / (total + think))
    low = np.asarray(people / (people * total + think))
    return Bounds(low.reshape(network.shape), high.reshape(network.shape))


def balanced_bounds(network: Network) -> Bounds:
    """Bound closed networks by networks whose stations are all alike (section 5.4).

    N / (D + Z + (N-1) D_max / (1 + Z / (N D))) <= X <=
    min(1 / D_max, N / (D + Z + (N-1) D_ave / (1 + Z / D))). They need a product-form network, and
    whole multiplicities to be proven.
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
    """Load beyond which more customers mostly add waiting: N* (section 5.2), shape (...).

    (D + Z) / D_max, where the two asymptotes of the throughput cross; infinite without any station
    that takes time. How many customers the networks have does not matter.
    """
    with np.errstate(divide="ignore"):
        knee = (network.total_demand + network.think) / network.largest_demand
    return np.asarray(knee).reshape(network.shape)
