"""The arithmetic of absorbing Markov chains, many at once: the batch is the last axis.

Everything is added, multiplied and divided element by element in a fixed order, so an element's
result does not depend, to the last bit, on how many others are worked on beside it.
"""

from collections.abc import Callable
from functools import partial

import numpy as np

from quotelib.estimate.checks import FloatArray

_Sums = Callable[[FloatArray], FloatArray]

_TERMS = 16  # of the first step's series; with a step of at most half a transition, 0.5^16/16!
_BLOCK = 4
_MAX_DOUBLINGS = 60
_SLOWEST = 1e-30  # jumps per hour, of a state without a way out too: what it counts it counts
_LEAST = np.finfo(np.float64).tiny
_FEW = 40  # elements that are quicker added up by one call than by one for each term
_MATRIX_FROM = 8  # states from which one matrix product each is quicker than one for all


def eliminate(q: FloatArray, a: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Mean time to absorption from state 0, and which way it ends, without a subtraction.

    States are eliminated from the last to the second. Every diagonal entry is rebuilt as the sum
    of the rates that leave the state, so only positive numbers are added, multiplied and divided:
    about ``n * n`` units in the last place are lost however rare absorption is. Grassmann, Taksar
    and Heyman, Operations Research 33, 1985; error bound in O'Cinneide, Numer. Math. 65, 1993.

    Parameters
    ----------
    q, a : ndarray, shapes (n, n, batch) and (n, causes, batch)
        Rates per hour; the diagonal of `q` is never read.

    Returns
    -------
    hours, shares : ndarray, shapes (batch,) and (causes, batch)
        Infinite hours where a state without a way out can be reached; probability of each cause,
        which add up to less than one then.
    """
    size, causes = a.shape[:2]
    # hours in a state, then its ways out: never again, each cause, each state
    first = causes + 2
    rows = np.concatenate([np.ones_like(a[:, :1]), np.zeros_like(a[:, :1]), a, q], axis=1)
    for s in range(size - 1, -1, -1):
        leave = _total(rows[s, 1 : first + s])
        if np.count_nonzero(leave) < leave.size:
            rows[s, 1, leave == 0.0] = leave[leave == 0.0] = 1.0
        rows[s, : first + s] /= leave
        rows[:s, : first + s] += rows[:s, first + s, None] * rows[s, : first + s]
    hours, never, shares = rows[0, 0], rows[0, 1], rows[0, 2:first]
    return np.where(never > 0.0, np.inf, hours), shares


def transient(
    q: FloatArray, a: FloatArray, hours: FloatArray, c: FloatArray | None = None
) -> FloatArray:
    """Probability of absorption from state 0 within a time, by cause, and what was counted.

    A short step is taken by uniformisation (a series of positive terms) and then doubled until
    it spans the time. What is absorbed is carried beside the substochastic matrix of what is not,
    never as one minus it, and every row of the matrix is scaled back to one minus its absorbed
    share while that share is small. Chances of 1e-30 keep their digits.

    Events counted are rewards of the chain (Howard, Dynamic Probabilistic Systems, 1971): their
    mean number in a step adds up as what is absorbed does, ``m(2h) = m(h) + P(h) m(h)``.

    Parameters
    ----------
    q, a : ndarray, shapes (n, n, batch) and (n, causes, batch)
        Rates per hour; the diagonal of `q` must be zero.
    hours : ndarray, shape (batch,)
        The time. Everything must be known.
    c : ndarray, shape (n, counts, batch), optional
        Rates per hour of events to count in each state, which need not leave it.

    Returns
    -------
    ndarray, shape (causes + counts, batch)
        Probability of each cause, then the mean number of each event until the time or absorption.

    Raises
    ------
    ValueError
        An element needs more than 60 doublings.
    """
    transitions = 2.0 * (row_sums(q) + row_sums(a)).max(axis=0) * hours
    # frexp gives the power of two above, without a logarithm's rounding at the borders
    doublings = np.maximum(np.frexp(transitions)[1] + 1, 0)
    if doublings.max(initial=0) > _MAX_DOUBLINGS:
        raise ValueError(
            "the time is more than 2**59 times the fastest transition; give rates and a time "
            "that are closer together"
        )
    size, causes = len(q), a.shape[1]
    ends = a if c is None else np.concatenate([a, c], axis=1)
    # The most doublings first: who needs fewer joins later, so that one loop serves all.
    order = np.argsort(-doublings, kind="stable")
    times = doublings[order]
    step = _first_step(
        q.take(order, -1), ends.take(order, -1), causes, np.ldexp(hours[order], -times)
    )
    sums: _Sums = row_sums
    if size >= _MATRIX_FROM:  # a matrix in one piece, where numpy's own sum will do
        step = np.moveaxis(np.ascontiguousarray(np.moveaxis(step, -1, 0)), 0, -1)
        sums = partial(np.sum, axis=1)
    for left in range(int(times.max(initial=0)) - 1, 0, -1):
        joined = np.count_nonzero(times > left)
        part = step[..., :joined]
        longer = _rescaled(_after(part, part), causes, sums)
        if joined == times.size:
            step = longer
        else:
            part[...] = longer
    gone = step[:, size:]
    result = np.empty((ends.shape[1], hours.size))
    result[:, order] = gone[0]
    # only state 0 is asked for: the last doubling needs one row
    some = np.count_nonzero(times)
    result[:, order[:some]] += _total((step[0, :size, None] * gone)[..., :some])
    np.minimum(result[:causes], 1.0, out=result[:causes])
    return result


def row_sums(x: FloatArray) -> FloatArray:
    """Add up along the second axis, first to last; shape (rows, terms, batch) to (rows, batch).

    Numpy's own sum takes another order for a batch of one, and an element must not depend on how
    many others there are.
    """
    if x.shape[-1] < _FEW:  # one call, as long as its sums on the way cost nothing
        return np.asarray(np.add.accumulate(x, axis=1)[:, -1])
    total = x[:, 0].copy()
    for k in range(1, x.shape[1]):
        total += x[:, k]
    return total


def _total(x: FloatArray) -> FloatArray:
    return np.asarray(row_sums(x[None])[0])


def _rescaled(step: FloatArray, causes: int, sums: _Sums = row_sums) -> FloatArray:
    """Make every row sum to what is not absorbed, while that is the better known of the two."""
    size = len(step)
    stay, gone = step[:, :size], step[:, size : size + causes]
    absorbed = gone[:, 0] if causes == 1 else sums(gone)
    # rows of nothing are those of which all is gone
    left = (1.0 - absorbed) / np.maximum(sums(stay), _LEAST)
    stay *= np.where(absorbed < 0.5, left, 1.0)[:, None]
    return step


def _first_step(q: FloatArray, ends: FloatArray, causes: int, hours: FloatArray) -> FloatArray:
    """Take one step of at most half a transition by uniformisation.

    The sum over j of Poisson(j) times the j-th power of the one-jump chain, by Horner's rule in
    the fourth power: three products for the powers, three for the blocks. What stays and what is
    gone or counted lie side by side, shape (n, n + causes + counts, batch): half as many
    operations.
    """
    leave = row_sums(q) + row_sums(ends[:, :causes])
    # twice: every state then stays put half the time at least
    pace = np.maximum(2.0 * leave.max(axis=0), _SLOWEST)
    jump = np.concatenate([q, ends], axis=1) / pace
    own = np.arange(len(q))
    jump[own, own] = (pace - leave) / pace
    mean = pace * hours
    weights = [np.exp(-mean)]
    for j in range(1, _TERMS):
        weights.append(weights[-1] * mean / j)

    powers = [np.zeros_like(jump), jump]
    powers[0][own, own] = 1.0
    while len(powers) <= _BLOCK:
        powers.append(_after(powers[-1], jump))

    step, weight = np.zeros_like(jump), np.zeros_like(mean)
    for block in range(_TERMS - _BLOCK, -1, -_BLOCK):
        if block < _TERMS - _BLOCK:
            step = _after(powers[_BLOCK], step, weight)
        for w, power in zip(weights[block : block + _BLOCK], powers, strict=False):
            step += w * power
            weight = weight + w
    return _rescaled(step, causes)


def _after(first: FloatArray, second: FloatArray, weight: FloatArray | float = 1.0) -> FloatArray:
    """Follow one step by another whose rows sum to `weight`."""
    size = len(first)
    stay, gone = first[:, :size], first[:, size:] * weight
    if size >= _MATRIX_FROM:
        product = np.matmul(stay, second, np.empty_like(second), axes=[(0, 1)] * 3)
        product[:, size:] += gone
        return product
    product = stay[:, 0, None] * second[None, 0]
    product[:, size:] += gone
    for k in range(1, size):
        product += stay[:, k, None] * second[None, k]
    return product
