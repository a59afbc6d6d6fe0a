"""Bounds and the knee of closed queueing networks, without solving them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from quotelib.estimate.checks import FloatArray
from quotelib.estimate.queueing import NetworkInputs, read_network


@dataclass(frozen=True)
class Bounds:
    """Bounds of a closed network.

    Parameters
    ----------
    throughput_low_per_s, throughput_high_per_s : ndarray of float
        Customers a second.
    response_low_s, response_high_s : ndarray of float
        Seconds at the stations.
    """

    throughput_low_per_s: FloatArray
    throughput_high_per_s: FloatArray
    response_low_s: FloatArray
    response_high_s: FloatArray


def _largest(inputs: NetworkInputs) -> FloatArray:
    return np.asarray(np.where(inputs.copies > 0, inputs.demands, 0.0).max(axis=0))


def _bounds(inputs: NetworkInputs, low: FloatArray, high: FloatArray) -> Bounds:
    people, think = inputs.customers, inputs.think
    with np.errstate(divide="ignore"):
        return Bounds(
            low.reshape(inputs.shape),
            high.reshape(inputs.shape),
            np.asarray(people / high - think).reshape(inputs.shape),
            np.asarray(people / low - think).reshape(inputs.shape),
        )


def asymptotic_bounds(
    demands_s: ArrayLike,
    customers: ArrayLike,
    think_time_s: ArrayLike = 0.0,
    multiplicity: ArrayLike = 1.0,
) -> Bounds:
    """Bound a closed network by its largest and its total demand.

    Parameters
    ----------
    demands_s, customers, think_time_s, multiplicity
        As in `mean_value_analysis`.

    Returns
    -------
    Bounds
        NaN wherever an input is NaN.

    Raises
    ------
    ValueError
        As in `mean_value_analysis`.

    Notes
    -----
    N / (N D + Z) <= X <= min(1 / D_max, N / (D + Z)), and response = N / X - Z. They hold for
    any distribution of service times. Source: Lazowska et al., 1984, section 5.2.
    """
    return asymptotic(read_network(demands_s, customers, think_time_s, multiplicity))


def asymptotic(inputs: NetworkInputs) -> Bounds:
    """Do the work of `asymptotic_bounds` for inputs already read."""
    people, think = inputs.customers, inputs.think
    total = (inputs.demands * inputs.copies).sum(axis=0)
    with np.errstate(divide="ignore"):
        high = np.minimum(1 / _largest(inputs), people / (total + think))
    return _bounds(inputs, people / (people * total + think), high)


def balanced_bounds(
    demands_s: ArrayLike,
    customers: ArrayLike,
    think_time_s: ArrayLike = 0.0,
    multiplicity: ArrayLike = 1.0,
) -> Bounds:
    """Bound a closed network by networks whose stations are all alike.

    Parameters
    ----------
    demands_s, customers, think_time_s, multiplicity
        As in `mean_value_analysis`; multiplicities must be whole for the bounds to be proven.

    Returns
    -------
    Bounds
        NaN wherever an input is NaN.

    Raises
    ------
    ValueError
        As in `mean_value_analysis`.

    Notes
    -----
    With D the total, D_max the largest and D_ave the mean demand:
    N / (D + Z + (N-1) D_max / (1 + Z / (N D))) <= X <=
    min(1 / D_max, N / (D + Z + (N-1) D_ave / (1 + Z / D))). Source: Lazowska et al., 1984,
    section 5.4. They need a product-form network.
    """
    return balanced(read_network(demands_s, customers, think_time_s, multiplicity))


def balanced(inputs: NetworkInputs) -> Bounds:
    """Do the work of `balanced_bounds` for inputs already read."""
    people, think = inputs.customers, inputs.think
    total = (inputs.demands * inputs.copies).sum(axis=0)
    largest = _largest(inputs)
    with np.errstate(divide="ignore", invalid="ignore"):
        mean = np.where(total > 0, total / inputs.copies.sum(axis=0), total)
        slow = np.where(total > 0, (people - 1) * largest / (1 + think / (people * total)), total)
        fast = np.where(total > 0, (people - 1) * mean / (1 + think / total), total)
        high = np.minimum(1 / largest, people / (total + think + fast))
    return _bounds(inputs, people / (total + think + slow), high)


def knee_customers(
    demands_s: ArrayLike, think_time_s: ArrayLike = 0.0, multiplicity: ArrayLike = 1.0
) -> FloatArray:
    """Load beyond which more customers mostly add waiting.

    Parameters
    ----------
    demands_s, think_time_s, multiplicity
        As in `mean_value_analysis`.

    Returns
    -------
    ndarray of float, shape (...)
        (D + Z) / D_max, where the two asymptotes of the throughput cross; infinite without
        any station that takes time.

    Raises
    ------
    ValueError
        As in `mean_value_analysis`.

    Notes
    -----
    N* of Lazowska et al., 1984, section 5.2.
    """
    return knee(read_network(demands_s, 1, think_time_s, multiplicity))


def knee(inputs: NetworkInputs) -> FloatArray:
    """Do the work of `knee_customers` for inputs already read, whatever their customers."""
    total = (inputs.demands * inputs.copies).sum(axis=0)
    with np.errstate(divide="ignore"):
        return np.asarray((total + inputs.think) / _largest(inputs)).reshape(inputs.shape)
