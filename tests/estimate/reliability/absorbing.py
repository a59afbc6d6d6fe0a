"""One chain at a time, batch first: how the tests call the product's arithmetic of chains."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from quotelib.estimate.reliability.markov import eliminate, transient

Floats = NDArray[np.float64]


def mean_time_to_absorption(rates: ArrayLike, absorption: ArrayLike) -> tuple[Floats, Floats]:
    """Hours from state 0, and the share of each cause; shapes (..., n, n) and (..., n, causes)."""
    q, a, lead = _batch_last(rates, absorption)
    with np.errstate(all="ignore"):
        hours, shares = eliminate(q, a)
    return hours.reshape(lead), np.moveaxis(shares, 0, -1).reshape((*lead, a.shape[1]))


def absorption_probability(rates: ArrayLike, absorption: ArrayLike, hours: ArrayLike) -> Floats:
    """Probability of absorption by each cause within a time, from state 0; (..., causes)."""
    q, a, lead = _batch_last(rates, absorption)
    time = np.broadcast_to(np.asarray(hours, dtype=np.float64), lead).reshape(-1)
    result = np.full((a.shape[1], time.size), np.nan)
    known = ~(np.isnan(time) | np.isnan(q).any(axis=(0, 1)) | np.isnan(a).any(axis=(0, 1)))
    result[:, known] = transient(q[..., known], a[..., known], time[known])
    return np.moveaxis(result, 0, -1).reshape((*lead, a.shape[1]))


def counted_before(
    rates: ArrayLike, absorption: ArrayLike, counts: ArrayLike, hours: ArrayLike
) -> tuple[Floats, Floats]:
    """As `absorption_probability`, with the mean number of each event; (..., events)."""
    q, a, lead = _batch_last(rates, absorption)
    _, c, _ = _batch_last(rates, counts)
    time = np.broadcast_to(np.asarray(hours, dtype=np.float64), lead).reshape(-1)
    result = np.moveaxis(transient(q, a, time, c), 0, -1)
    ends = a.shape[1]
    return result[:, :ends].reshape((*lead, ends)), result[:, ends:].reshape((*lead, c.shape[1]))


def _batch_last(rates: ArrayLike, absorption: ArrayLike) -> tuple[Floats, Floats, tuple[int, ...]]:
    q, a = np.array(rates, dtype=np.float64), np.array(absorption, dtype=np.float64)
    lead = np.broadcast_shapes(q.shape[:-2], a.shape[:-2])
    n, causes = a.shape[-2:]
    q = np.broadcast_to(q, (*lead, n, n)).reshape(-1, n, n).transpose(1, 2, 0).copy()
    a = np.broadcast_to(a, (*lead, n, causes)).reshape(-1, n, causes).transpose(1, 2, 0).copy()
    q[np.arange(n), np.arange(n)] = 0.0
    return q, a, lead
