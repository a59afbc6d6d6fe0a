"""How long until an absorbing Markov chain is absorbed, and how likely within a time."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from quotelib.estimate.markov_batch import by_doublings, eliminate, transient

FloatArray = NDArray[np.float64]


def mean_time_to_absorption(
    rates: ArrayLike, absorption: ArrayLike
) -> tuple[FloatArray, FloatArray]:
    """Mean time to absorption from state 0, and which way it ends, without a subtraction.

    States are eliminated from the last to the second. Every diagonal entry is rebuilt as the
    sum of the rates that leave the state, so only positive numbers are added, multiplied and
    divided: the result keeps about ``n * n`` units in the last place however rare absorption is.

    Parameters
    ----------
    rates : array_like, shape (..., n, n)
        Transition rates between transient states, per hour; the diagonal is ignored.
    absorption : array_like, shape (..., n, causes)
        Rates from each state into each absorbing state, per hour.

    Returns
    -------
    hours : ndarray, shape (...)
        Mean time to absorption; infinite where absorption cannot be reached.
    shares : ndarray, shape (..., causes)
        Probability that absorption, if ever, is by each cause; NaN where there is none.

    Raises
    ------
    ValueError
        Shapes that do not belong together, or a negative or infinite rate.

    Notes
    -----
    Grassmann, Taksar and Heyman, Operations Research 33, 1985; error bound in O'Cinneide,
    Numerische Mathematik 65, 1993.
    """
    q, a, lead = _batch_last(rates, absorption)
    with np.errstate(all="ignore"):
        hours, shares = eliminate(q, a)
    return hours.reshape(lead), np.moveaxis(shares, 0, -1).reshape((*lead, a.shape[1]))


def absorption_probability(rates: ArrayLike, absorption: ArrayLike, hours: ArrayLike) -> FloatArray:
    """Probability of absorption by each cause within a time, from state 0.

    A short step is taken by uniformisation (a series of positive terms) and then doubled until
    it spans the time. What is absorbed is carried beside the substochastic matrix of what is
    not, never as one minus it, and every row of the matrix is scaled back to one minus its
    absorbed share while that share is small. Chances of 1e-30 keep their digits.

    Parameters
    ----------
    rates : array_like, shape (..., n, n)
        Transition rates between transient states, per hour; the diagonal is ignored.
    absorption : array_like, shape (..., n, causes)
        Rates from each state into each absorbing state, per hour.
    hours : array_like, broadcastable to the leading shape
        The time, zero or more.

    Returns
    -------
    ndarray, shape (..., causes)
        Probabilities. NaN in, NaN out. One element's result does not depend on the others.

    Raises
    ------
    ValueError
        Shapes that do not belong together, a negative or infinite rate, a negative or infinite
        time, or a time of more than 2**59 transitions of the fastest state.
    """
    q, a, lead = _batch_last(rates, absorption)
    time = np.broadcast_to(np.asarray(hours, dtype=np.float64), lead).reshape(-1)
    if np.any(time < 0) or np.any(np.isinf(time)):
        raise ValueError("hours must be finite and zero or more")
    result = np.full((a.shape[1], time.size), np.nan)
    known = ~(np.isnan(time) | np.isnan(q).any(axis=(0, 1)) | np.isnan(a).any(axis=(0, 1)))
    for picked, doublings in by_doublings(q, a, time, known):
        result[:, picked] = transient(q[..., picked], a[..., picked], time[picked], doublings)
    return np.moveaxis(result, 0, -1).reshape((*lead, a.shape[1]))


def _batch_last(
    rates: ArrayLike, absorption: ArrayLike
) -> tuple[FloatArray, FloatArray, tuple[int, ...]]:
    q = np.array(rates, dtype=np.float64)
    a = np.array(absorption, dtype=np.float64)
    if q.ndim < 2 or a.ndim < 2 or q.shape[-1] != q.shape[-2] or q.shape[-1] != a.shape[-2]:
        raise ValueError(
            f"rates {q.shape} and absorption {a.shape} do not belong together: "
            "right would be (..., n, n) and (..., n, causes)"
        )
    if q.shape[-1] == 0 or a.shape[-1] == 0:
        raise ValueError("a chain needs at least one state and one way to be absorbed")
    lead = np.broadcast_shapes(q.shape[:-2], a.shape[:-2])
    n, causes = a.shape[-2:]
    q = np.broadcast_to(q, (*lead, n, n)).reshape(-1, n, n).transpose(1, 2, 0).copy()
    a = np.broadcast_to(a, (*lead, n, causes)).reshape(-1, n, causes).transpose(1, 2, 0).copy()
    q[np.arange(n), np.arange(n)] = 0.0
    for name, values in (("rates", q), ("absorption", a)):
        if np.any(values < 0) or np.any(np.isinf(values)):
            raise ValueError(f"{name} must be zero or more and finite, per hour")
    return q, a, lead
