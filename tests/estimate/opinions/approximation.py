"""Closed networks without stepping through the customers: an opinion beside the exact solution."""

from __future__ import annotations

import numpy as np

from quotelib.estimate.performance.mean_values import Solution, solution
from quotelib.estimate.performance.queueing import Network


def approximate_mean_value_analysis(
    network: Network, *, tolerance: float = 1e-10, max_rounds: int = 20_000
) -> Solution:
    """The queue with one customer fewer is taken as (N - 1) / N of the full one.

    Schweitzer 1979, and Bard; Lazowska et al., Quantitative System Performance, 1984, section 6.4.
    """
    people, demands = network.customers, network.demands
    used = np.maximum((network.copies * (demands > 0)).sum(axis=0), 1e-300)
    queue = np.where(demands > 0, people / used, demands)
    for _ in range(max_rounds):
        response = demands * (1 + queue * (people - 1) / people)
        throughput = people / (network.think + (response * network.copies).sum(axis=0))
        following = throughput * response
        change = np.abs(following - queue) / people
        queue = following
        if np.nanmax(change, initial=0.0) <= tolerance:
            return solution(network, throughput, queue)
    raise ArithmeticError(f"queues did not settle within {max_rounds} rounds")
