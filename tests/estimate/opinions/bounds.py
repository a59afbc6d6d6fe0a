"""Bounds that no quote uses: a second opinion on closed networks."""

import numpy as np

from quotelib.estimate.performance.queueing import Bounds, Network


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
