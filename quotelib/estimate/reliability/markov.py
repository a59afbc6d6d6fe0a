"""The arithmetic of absorbing Markov chains, many at once: the batch is the last axis.

Everything is added, multiplied and divided element by element in a fixed order, so an element's
result does not depend, to the last bit, on how many others are worked on beside it.
"""

import math

import numpy as np
from numpy.typing import NDArray

from quotelib.estimate.checks import FloatArray

_Step = tuple[FloatArray, FloatArray]

_TERMS = 16  # of the first step's series; with a step of at most half a transition, 0.5^16/16!
_BLOCK = 4
_MAX_DOUBLINGS = 60
_MATRIX_FROM = 8  # states from which one matrix product each is quicker than one for all


def by_doublings(
    q: FloatArray, a: FloatArray, hours: FloatArray, known: NDArray[np.bool_]
) -> list[tuple[NDArray[np.intp], int]]:
    """Sort a batch (last axis) by the number of doublings each element needs.

    Parameters
    ----------
    q, a : ndarray, shapes (n, n, batch) and (n, causes, batch)
        Rates per hour; the diagonal of `q` must be zero.
    hours : ndarray, shape (batch,)
        The time.
    known : ndarray of bool, shape (batch,)
        Elements to take.

    Returns
    -------
    list of (indices, doublings)
        Together every known element once.

    Raises
    ------
    ValueError
        An element needs more than 60 doublings.
    """
    transitions = 2.0 * (row_sums(q) + row_sums(a)).max(axis=0) * hours
    # frexp gives the power of two above, without a logarithm's rounding at the borders
    power = np.frexp(np.where(known, transitions, 0.0))[1] + 1
    doublings = np.maximum(power, 0)
    if doublings.size and int(doublings.max()) > _MAX_DOUBLINGS:
        raise ValueError(
            "the time is more than 2**59 times the fastest transition; give rates and a time "
            "that are closer together"
        )
    return [(np.flatnonzero(known & (doublings == d)), int(d)) for d in np.unique(doublings[known])]


def eliminate(q: FloatArray, a: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Mean time to absorption from state 0, and which way it ends, without a subtraction.

    States are eliminated from the last to the second. Every diagonal entry is rebuilt as the sum
    of the rates that leave the state, so only positive numbers are added, multiplied and divided:
    about ``n * n`` units in the last place are lost however rare absorption is. Grassmann, Taksar
    and Heyman, Operations Research 33, 1985; error bound in O'Cinneide, Numer. Math. 65, 1993.

    Parameters
    ----------
    q, a : ndarray, shapes (n, n, batch) and (n, causes, batch)
        Rates per hour, overwritten; the diagonal of `q` is never read.

    Returns
    -------
    hours, shares : ndarray, shapes (batch,) and (causes, batch)
        Infinite hours where absorption cannot be reached; probability of each cause, NaN then.
    """
    size = q.shape[0]
    reward = np.ones_like(q[0])
    for s in range(size - 1, 0, -1):
        leave = _total(a[s]) + _total(q[s, :s])
        # a state without a way out matters only if it can be entered
        visits = np.where(q[:s, s] == 0.0, 0.0, q[:s, s] / leave)
        reward[:s] += visits * reward[s]
        each = visits[:, None]
        q[:s, :s] += np.where(q[s, :s] == 0.0, 0.0, each * q[s, :s])
        a[:s] += np.where(a[s] == 0.0, 0.0, each * a[s])
    total = _total(a[0])
    hours = np.where(np.isinf(reward[0]), np.inf, reward[0] / total)
    return hours, a[0] / total


def transient(q: FloatArray, a: FloatArray, hours: FloatArray, doublings: int) -> FloatArray:
    """Probability of absorption from state 0 within a time, by cause; shape (causes, batch).

    A short step is taken by uniformisation (a series of positive terms) and then doubled until
    it spans the time. What is absorbed is carried beside the substochastic matrix of what is not,
    never as one minus it, and every row of the matrix is scaled back to one minus its absorbed
    share while that share is small. Chances of 1e-30 keep their digits.

    Parameters
    ----------
    q, a, hours
        As in `by_doublings`.
    doublings : int
        From `by_doublings`, for every element of this batch.
    """
    step = hours * math.ldexp(1.0, -doublings)
    stay, gone = _first_step(q, a, step)
    square = _square if len(stay) < _MATRIX_FROM else _square_matrices
    stay, gone = square(stay, gone, doublings - 1)
    if not doublings:
        return np.asarray(np.minimum(gone[0], 1.0))
    # only state 0 is asked for: the last doubling needs one row
    return np.asarray(np.minimum(gone[0] + _total(stay[0][:, None] * gone), 1.0))


def _square(stay: FloatArray, gone: FloatArray, times: int) -> _Step:
    """Follow a step by itself, some times, with buffers that stay in the processor's cache.

    What stays and what is gone lie side by side: half as many steps as one after the other.
    """
    size = len(stay)
    both = np.concatenate([stay, gone], axis=1)
    product, term = np.empty_like(both), np.empty_like(both)
    for _ in range(times):
        np.multiply(both[:, 0, None], both[None, 0], out=product)
        product[:, size:] += both[:, size:]
        for k in range(1, size):
            np.multiply(both[:, k, None], both[None, k], out=term)
            product += term
        _rescale(product[:, :size], product[:, size:])
        both, product = product, both
    return both[:, :size], both[:, size:]


def _square_matrices(stay: FloatArray, gone: FloatArray, times: int) -> _Step:
    """Do as `_square` with a matrix product an element."""
    size = len(stay)
    both = np.ascontiguousarray(np.moveaxis(np.concatenate([stay, gone], axis=1), -1, 0))
    after = np.empty_like(both)
    for _ in range(times):
        np.matmul(both[..., :size], both, out=after)
        after[..., size:] += both[..., size:]
        absorbed = after[..., size:].sum(axis=-1)
        rows = after[..., :size].sum(axis=-1)
        after[..., :size] *= _row_factor(absorbed, rows)[..., None]
        both, after = after, both
    back = np.moveaxis(both, 0, -1)
    return back[:, :size], back[:, size:]


def row_sums(x: FloatArray) -> FloatArray:
    """Add up along the second axis, first to last; shape (rows, terms, batch) to (rows, batch).

    Numpy's own sum takes another order for a batch of one, and an element must not depend on how
    many others there are.
    """
    total = x[:, 0].copy()
    for k in range(1, x.shape[1]):
        total += x[:, k]
    return total


def _total(x: FloatArray) -> FloatArray:
    return np.asarray(row_sums(x[None])[0])


def _rescale(stay: FloatArray, gone: FloatArray) -> None:
    stay *= _row_factor(row_sums(gone), row_sums(stay))[:, None]


def _row_factor(absorbed: FloatArray, rows: FloatArray) -> FloatArray:
    """Make every row sum to what is not absorbed, while that is the better known of the two."""
    left = (1.0 - absorbed) / np.where(rows > 0, rows, 1.0)
    return np.where(absorbed < 0.5, left, 1.0)


def _first_step(q: FloatArray, a: FloatArray, step: FloatArray) -> _Step:
    """Take one step of at most half a transition by uniformisation.

    The sum over j of Poisson(j) times the j-th power of the one-jump chain, by Horner's rule in
    the fourth power: three products for the powers, three for the blocks.
    """
    size = q.shape[0]
    leave = row_sums(q) + row_sums(a)
    pace = 2.0 * leave.max(axis=0)  # twice: every state then stays put half the time at least
    safe = np.where(pace > 0, pace, 1.0)
    jump, lost = q / safe, a / safe
    own = np.arange(size)
    jump[own, own] = np.where(pace > 0, (pace - leave) / safe, 1.0)
    mean = pace * step
    weights = [np.exp(-mean)]
    for j in range(1, _TERMS):
        weights.append(weights[-1] * mean / j)

    zero = np.zeros_like(jump)
    zero[own, own] = 1.0
    powers: list[_Step] = [(zero, np.zeros_like(lost)), (jump, lost)]
    while len(powers) <= _BLOCK:
        powers.append(_compose(powers[-1], powers[1]))

    stay, gone = np.zeros_like(jump), np.zeros_like(lost)
    weight = np.zeros_like(mean)
    for block in range(_TERMS // _BLOCK - 1, -1, -1):
        if block < _TERMS // _BLOCK - 1:
            stay, gone = _compose(powers[_BLOCK], (stay, gone), weight)
        for j in range(_BLOCK):
            w = weights[block * _BLOCK + j]
            stay += w * powers[j][0]
            gone += w * powers[j][1]
            weight = weight + w
    _rescale(stay, gone)
    return stay, gone


def _compose(first: _Step, second: _Step, weight: FloatArray | float = 1.0) -> _Step:
    """Follow one step by another whose rows sum to `weight`."""
    stay1, gone1 = first
    stay2, gone2 = second
    size = len(stay1)
    if size >= _MATRIX_FROM:
        both = np.moveaxis(np.concatenate([stay2, gone2], axis=1), -1, 0)
        product = np.moveaxis(np.matmul(np.moveaxis(stay1, -1, 0), both), 0, -1)
        return np.ascontiguousarray(product[:, :size]), product[:, size:] + gone1 * weight
    stay = np.zeros_like(stay1)
    gone = gone1 * weight
    for k in range(size):
        stay += stay1[:, k, None] * stay2[None, k]
        gone += stay1[:, k, None] * gone2[None, k]
    return stay, gone
