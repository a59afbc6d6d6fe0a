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

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple

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
    others: int  # slots of other groups that may wait too, 0 or 1: 0 without any, or without spares


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


Cells = NDArray[np.intp]


@lru_cache(maxsize=256)
def _pattern(shape: Shape) -> tuple[tuple[Cells, Cells, FloatArray], ...]:
    """Write down the transitions of a shape: cell, kind of rate (a row of `_kinds`), times it.

    Cells count through the states, each with its ways to all states, into loss and to the count.
    No cell is met twice in one of the layers given, so that each is added in one go.
    """
    k, pool = shape.redundancy, shape.spares
    listed = states(shape)
    at = {state: i for i, state in enumerate(listed)}
    lost, count = len(listed), len(listed) + 1
    failing, reads, counts, ends, again, fill, arrive, others = range(k + 1, k + 9)
    found: list[tuple[int, int, int, float]] = []
    for (o, w, r), i in at.items():
        failed = w + r
        if not shape.delayed:
            one_more, same = (0, 0, r + 1), (0, 0, r)
        elif o < pool:
            one_more, same = (o + 1, w, r + 1), (o + 1, w, r)
        else:
            one_more, same = (o + 1, w + 1, r), (o + 1, w + 1, r - 1)

        if failed < k:
            found += [(i, at[one_more], failed, 1.0)]
        else:
            found += [(i, lost, k, 1.0), (i, lost, ends, k), (i, count, failing, k)]
        if failed == k - 1:
            found += [(i, lost, reads, 1.0), (i, count, counts, 1.0)]
        if r:
            found += [(i, at[same], again if failed == k else failing, r)]
            found += [(i, at[o, w, r - 1], fill, r)]
        if shape.delayed:
            found += [(i, at[to], arrive, times) for to, times in _arrivals((o, w, r), pool)]
            if o < pool or (shape.others and o == pool + w):
                found += [(i, at[o + 1, w, r], others, 1.0)]

    layers: list[dict[int, tuple[int, float]]] = []
    for i, to, kind, times in found:
        if i != to:  # a rebuild begun again stays put
            cell = i * (count + 1) + to
            fits = (layer for layer in layers if cell not in layer)
            if (layer := next(fits, None)) is None:
                layers.append(layer := {})
            layer[cell] = kind, times
    return tuple(
        (
            np.array(list(layer)),
            np.array([kind for kind, _ in layer.values()]),
            np.array([[times] for _, times in layer.values()]),
        )
        for layer in layers
    )


def _arrivals(
    state: tuple[int, int, int], pool: int
) -> Iterator[tuple[tuple[int, int, int], float]]:
    """Let one of the drives on order arrive, for a waiting slot if there is any."""
    o, w, r = state
    own = w / max(1, o - pool)  # of all that wait; where none does, so does none of its own
    if own:
        yield (o - 1, w - 1, r + 1), own * o
    if o and own < 1.0:
        yield (o - 1, w, r), (1.0 - own) * o


def _kinds(shape: Shape, g: Groups) -> FloatArray:
    """Work out the rates per hour that a chain is made of, in the order `_pattern` names them."""
    k = shape.redundancy
    stressed = g.failures_per_hour * g.after_factor
    # one more drive fails, by the number that have
    healthy = (g.members - np.arange(k + 1)[:, None]) * stressed
    healthy[0] = g.members * g.failures_per_hour
    critical = healthy[k - 1].copy()
    healthy[k - 1] *= g.readable
    rest = [
        stressed,
        critical * g.unreadable,
        critical,
        stressed * g.unreadable,
        stressed * g.readable,
        1.0 / g.rebuild_hours,
        1.0 / g.replacement_hours if shape.delayed else stressed,  # not read
        (g.all_members - g.members) * g.failures_per_hour,
    ]
    return np.concatenate([healthy, rest])


class Rates(NamedTuple):
    """What a chain is made of, per hour, with S states."""

    between: FloatArray  # states, shape (S, S, batch); nothing on the diagonal
    into_loss: FloatArray  # shape (S, 1, batch)
    critical: FloatArray  # rebuilds that begin, shape (S, 1, batch)


def rates(shape: Shape, g: Groups) -> Rates:
    """Write down the transition rates."""
    size, many, kinds = len(states(shape)), g.members.size, _kinds(shape, g)
    every = np.zeros((size * (size + 2), many))
    for cells, kind, times in _pattern(shape):
        every[cells] += times * kinds[kind]
    ways = every.reshape(size, size + 2, many)
    return Rates(ways[:, :size], ways[:, size:-1], ways[:, -1:])


def loss(found: Rates, hours: FloatArray, *, counted: bool) -> FloatArray:
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
    return transient(found.between, found.into_loss, hours, found.critical if counted else None)


def mean_hours_to_loss(found: Rates, wanted: NDArray[np.bool_]) -> FloatArray:
    """Mean time until a group is lost, in hours, of some of a batch."""
    return eliminate(found.between[..., wanted], found.into_loss[..., wanted])[0]


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
