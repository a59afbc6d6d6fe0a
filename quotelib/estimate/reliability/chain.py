"""Which states a redundant group of drives passes through before it loses data.

A state is (orders, waiting, rebuilding): replacement drives on order for all groups, and of this
group the slots that wait for one and the slots being filled. A failed drive is replaced at once
from the shared spares while there are any, else its slot waits for an ordered drive; every order
arrives after `replacement_hours` on average, every slot is filled in `rebuild_hours`, several at
the same time. With more failed slots than redundancy the group is lost. A failure that uses up
the last redundancy makes a critical rebuild: it reads the surviving drives whole with nothing to
correct it, and with probability `unreadable` meets a bad sector.

A bad sector costs its strip, not the group, which goes on: the chance that the group is lost comes
from the chain with `unreadable` = 0, which also counts the critical rebuilds until then. The
chance that any data are lost is absorption of the chain that ends at the first bad sector too.

Failed slots keep their failure clock: a drive that fails while it is being filled starts its
rebuild again, and a slot that waits starts waiting again. The first happens in practice, both
cost next to nothing, and with them risk rises with every hour of repair and every member even
where a bad sector is near certain.

Shared spares: the chain follows one group. Failures in the others take spares from the pool, and
one of their slots may wait beside its own for drives on order, served in random turn.
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from quotelib.estimate.checks import FloatArray
from quotelib.estimate.reliability.markov import eliminate, transient

MOST_SPARES = 6  # more count as six: fewer spares never lower the risk
MOST_OTHERS = 1  # slots of other groups followed while they wait
_CELLS = 30_000  # numbers in a working matrix: it should stay in a core's cache


@dataclass(frozen=True)
class Groups:
    """A batch of groups; every field has shape (batch,)."""

    members: FloatArray
    all_members: FloatArray  # of all groups that share the spares
    failures_per_hour: FloatArray  # of one drive
    after_factor: FloatArray  # on it while at least one slot of the group is failed
    rebuild_hours: FloatArray  # mean
    replacement_hours: FloatArray  # mean, not read where the shape has no delay
    unreadable: FloatArray  # chance that a critical rebuild meets a bad sector and ends the chain
    readable: FloatArray  # one minus it, worked out without the subtraction

    def take(self, picked: NDArray[np.intp]) -> "Groups":
        """Give some elements, in the order of the indices."""
        return Groups(*(getattr(self, name)[picked] for name in self.__dataclass_fields__))


@dataclass(frozen=True)
class Shape:
    """What fixes the set of states."""

    redundancy: int  # failed slots survived, at least 1
    spares: int  # shared by all groups
    delayed: bool  # whether a replacement takes time to arrive; if not, spares do not matter
    others: int  # most slots of other groups that wait too: 0 without any, or without spares


@lru_cache(maxsize=256)
def states(shape: Shape) -> tuple[tuple[int, int, int], ...]:
    """List the (orders, waiting, rebuilding) states, the healthy one first."""
    k, pool = shape.redundancy, shape.spares
    if not shape.delayed:
        return tuple((0, 0, r) for r in range(k + 1))
    found = [
        (orders, w, r)
        for w in range(k + 1)
        for r in range(k + 1 - w)
        for orders in range(pool + w if w else 0, pool + w + shape.others + 1)
    ]
    return tuple(sorted(found, key=lambda s: (s[1] + s[2], s)))


def rates(shape: Shape, g: Groups) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Write down the transition rates.

    Returns
    -------
    q, a, c : ndarray, shapes (states, states, batch), (states, 1, batch) and (states, 1, batch)
        Rates per hour between states, into loss, and of critical rebuilds that begin.
    """
    k, pool = shape.redundancy, shape.spares
    listed = states(shape)
    at = {state: i for i, state in enumerate(listed)}
    q = np.zeros((len(listed), len(listed), g.members.size))
    a, c = np.zeros((2, len(listed), 1, g.members.size))
    stressed = g.failures_per_hour * g.after_factor
    for (o, w, r), i in at.items():
        failed = w + r
        rate = stressed if failed else g.failures_per_hour
        healthy = (g.members - failed) * rate
        if not shape.delayed:
            one_more, again = (0, 0, r + 1), (0, 0, r)
        elif o < pool:
            one_more, again = (o + 1, w, r + 1), (o + 1, w, r)
        else:
            one_more, again = (o + 1, w + 1, r), (o + 1, w + 1, r - 1)

        if failed == k:
            a[i, 0] = healthy + failed * rate * g.unreadable
            c[i, 0] = failed * rate
        elif failed + 1 == k:
            q[i, at[one_more]] += healthy * g.readable
            a[i, 0] = healthy * g.unreadable
            c[i, 0] = healthy
        else:
            q[i, at[one_more]] += healthy
        if r:
            q[i, at[again]] += r * rate * (g.readable if failed == k else 1.0)
            q[i, at[o, w, r - 1]] += r / g.rebuild_hours
        if shape.delayed:
            _deliver(q, at, (o, w, r), pool, g)
            others_wait = max(0, o - pool) - w
            if o < pool or others_wait < shape.others:
                rest = np.maximum(g.all_members - g.members - others_wait, 0.0)
                q[i, at[o + 1, w, r]] += rest * g.failures_per_hour
    q[np.arange(len(listed)), np.arange(len(listed))] = 0.0  # a rebuild begun again stays put
    return q, a, c


def _deliver(
    q: FloatArray,
    at: dict[tuple[int, int, int], int],
    state: tuple[int, int, int],
    pool: int,
    g: Groups,
) -> None:
    """Let one of the drives on order arrive, for a waiting slot if there is any."""
    o, w, r = state
    all_waiting = max(0, o - pool)
    own = w / all_waiting if all_waiting else 0.0
    if own:
        q[at[state], at[o - 1, w - 1, r + 1]] += own * o / g.replacement_hours
    if o and own < 1.0:
        q[at[state], at[o - 1, w, r]] += (1.0 - own) * o / g.replacement_hours


def loss(shape: Shape, g: Groups, hours: FloatArray, *, counted: bool = True) -> FloatArray:
    """Give the probability that a group is lost, and the mean number of critical rebuilds.

    Parameters
    ----------
    hours : ndarray, shape (batch,)
        Since all was healthy. Everything must be known.
    counted : bool
        False leaves out the count, and the time it takes.

    Returns
    -------
    ndarray, shape (2, batch), or (1, batch) without the count
    """
    q, a, c = rates(shape, g)
    return transient(q, a, hours, c if counted else None)


def mean_hours_to_loss(shape: Shape, g: Groups) -> FloatArray:
    """Mean time until a group is lost, in hours, shape (batch,)."""
    q, a, _ = rates(shape, g)
    with np.errstate(all="ignore"):
        return eliminate(q, a)[0]


def chunk_size(shape: Shape) -> int:
    """Elements worth working on at a time."""
    size = len(states(shape))
    return max(64, _CELLS // (size * size))


def pace(shape: Shape, g: Groups) -> FloatArray:
    """Order of magnitude of the fastest transition, to sort a batch by; shape (batch,)."""
    fastest = shape.redundancy / g.rebuild_hours
    if shape.delayed:
        fastest = np.maximum(fastest, (shape.redundancy + shape.spares) / g.replacement_hours)
    return fastest
