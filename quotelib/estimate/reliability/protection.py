"""What the risk of an array depends on, checked once."""

from collections.abc import Iterator
from dataclasses import dataclass, field, fields
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike, NDArray

from quotelib.estimate.checks import FloatArray, common_shape, number, require
from quotelib.estimate.reliability import chain

MOST_REDUNDANCY = 8


def unreadable_probability(
    drives_read: ArrayLike, drive_bytes: ArrayLike, bit_error_rate: ArrayLike
) -> FloatArray:
    """Probability that reading whole drives meets at least one unreadable sector.

    ``-expm1(bits * log1p(-rate))``, which is ``1 - (1 - rate) ** bits`` without its rounding.
    Errors are taken as independent, and the data sheet's ceiling as the rate. Field studies find
    them clustered on few drives, so that most drives do better and some far worse.

    Parameters
    ----------
    drives_read : array_like of int
        Drives read from end to end, at least 0: the members less the redundancy, for a rebuild.
    drive_bytes : array_like of int
        Bytes on each, at least 0.
    bit_error_rate : array_like
        Unrecoverable errors per bit read, ``1e-15`` as data sheets write it; zero is no errors,
        and it must be below 1.
    """
    return np.asarray(-np.expm1(_log_readable(drives_read, drive_bytes, bit_error_rate)))


def unreadable_sectors(
    drives_read: ArrayLike, drive_bytes: ArrayLike, bit_error_rate: ArrayLike
) -> FloatArray:
    """Mean number of unreadable sectors that reading whole drives meets: bits times rate.

    Parameters as of `unreadable_probability`. Anderson and Dahlin, Operating Systems: Principles
    and Practice, 2014, chapter on reliable storage: 500 GB at 1e-14 meet 0.04.
    """
    rate = number("bit_error_rate", bit_error_rate, at_least=0, below=1)
    return np.asarray(_bits(drives_read, drive_bytes) * rate)


def _bits(drives: ArrayLike, drive_bytes: ArrayLike) -> FloatArray:
    whole = number("drives_read", drives, at_least=0)
    return np.asarray(8.0 * whole * number("drive_bytes", drive_bytes, at_least=0))


def _log_readable(drives: ArrayLike, drive_bytes: ArrayLike, rate: ArrayLike) -> FloatArray:
    errors = number("bit_error_rate", rate, at_least=0, below=1)
    return np.asarray(_bits(drives, drive_bytes) * np.log1p(-errors))


@dataclass(frozen=True, kw_only=True)
class Protection:
    """What the risk of an array, or of many at once, depends on.

    ``dataclasses.replace`` gives variations.

    Parameters
    ----------
    members, redundancy, groups : array_like of int
        Drives in one group, failed drives it survives, number of groups; see `shape.group_shape`.
    spares : array_like of int
        Hot spares, shared by all groups. More than six count as six.
    mttf_hours : array_like
        Mean time to failure of one drive; infinite for drives that never fail.
    rebuild_hours : array_like
        Mean time to fill a spare or a replacement drive. Not used without redundancy.
    replacement_hours : array_like
        Mean time until somebody has replaced a failed drive; zero for at once. Not used without
        redundancy.
    drive_bytes : array_like of int
        Bytes on one drive.
    bit_error_rate : array_like
        Unrecoverable errors per bit read; zero is no errors.
    after_failure_factor : array_like
        Factor on the failure rate of a group's drives while one of them is failed, at least 1.

    Raises
    ------
    ValueError
        Also where a mean time to failure is not above the time to replace and rebuild a drive.
    """

    members: ArrayLike
    redundancy: ArrayLike
    groups: ArrayLike = 1
    spares: ArrayLike = 0
    mttf_hours: ArrayLike
    rebuild_hours: ArrayLike
    replacement_hours: ArrayLike
    drive_bytes: ArrayLike
    bit_error_rate: ArrayLike
    after_failure_factor: ArrayLike = 1.0
    shape: tuple[int, ...] = field(init=False)

    def __post_init__(self) -> None:
        """Check every field and the combinations."""
        n, k, _, _, mttf, rebuild, wait, *_ = given = self._numbers
        object.__setattr__(self, "shape", common_shape(*given))
        require(
            ~(k >= n),
            "redundancy must be below the members of a group: at least one drive holds data",
        )
        require(
            (k == 0) | ~(mttf <= rebuild + wait),
            "mttf_hours must be above rebuild_hours + replacement_hours: a drive that fails "
            "before it can be replaced and filled never protects anything",
        )

    @cached_property
    def _numbers(self) -> tuple[FloatArray, ...]:
        return (
            number("members", self.members, at_least=1, whole=True),
            number("redundancy", self.redundancy, at_least=0, at_most=MOST_REDUNDANCY, whole=True),
            number("groups", self.groups, at_least=1, whole=True),
            number("spares", self.spares, at_least=0, whole=True),
            number("mttf_hours", self.mttf_hours, above=0, infinite=True),
            number("rebuild_hours", self.rebuild_hours, above=0),
            number("replacement_hours", self.replacement_hours, at_least=0),
            number("drive_bytes", self.drive_bytes, at_least=0),
            number("bit_error_rate", self.bit_error_rate, at_least=0, below=1),
            number("after_failure_factor", self.after_failure_factor, at_least=1),
        )

    def take(self, picked: NDArray[np.intp]) -> "Protection":
        """Give some elements, in the order of the indices along the only axis."""
        given = {f.name: getattr(self, f.name) for f in fields(self) if f.init}
        return Protection(**{n: np.broadcast_to(x, self.shape)[picked] for n, x in given.items()})

    def batch(self, hours: FloatArray) -> "Batch":
        """Lay everything out flat for the solvers, with a time in hours beside it."""
        lead = common_shape(np.empty(self.shape), hours)
        n, k, count, pool, mttf, rebuild, wait, drive, rate, factor, time = (
            (x if x.shape == lead else np.broadcast_to(x, lead)).ravel()
            for x in (*self._numbers, hours)
        )
        # An error rate that is not known is none here; `sectors` says that it is not known.
        sectors = unreadable_sectors(n - k, drive, rate)
        bits = 8.0 * (n - k) * drive
        log_readable = np.where(np.isnan(sectors), 0.0, bits * np.log1p(-rate))
        groups = chain.Groups(
            members=n,
            all_members=n * count,
            failures_per_hour=1.0 / mttf,
            after_factor=factor,
            rebuild_hours=rebuild,
            replacement_hours=wait,
            unreadable=-np.expm1(log_readable),
            readable=np.exp(log_readable),
        )
        return Batch(lead, groups, count, k, pool, sectors, time)


@dataclass(frozen=True)
class Batch:
    """Checked inputs, flat: every array has shape (batch,)."""

    lead: tuple[int, ...]  # shape the results go back to
    groups: chain.Groups  # one of each element
    count: FloatArray  # of groups
    redundancy: FloatArray  # of each group
    spares: FloatArray  # shared by them
    sectors: FloatArray  # unreadable ones that a critical rebuild meets, mean; NaN: not known
    hours: FloatArray

    def twice(self) -> "Batch":
        """Give all elements as if every sector could be read, then as they are."""
        g = self.groups
        flat = {f.name: _again(getattr(self, f.name)) for f in fields(self)[2:]}
        errors = {
            "unreadable": np.concatenate([np.zeros_like(g.unreadable), g.unreadable]),
            "readable": np.concatenate([np.ones_like(g.readable), g.readable]),
        }
        same = {f.name: _again(getattr(g, f.name)) for f in fields(g) if f.name not in errors}
        return Batch((2, *self.lead), chain.Groups(**same, **errors), **flat)

    def known(self) -> NDArray[np.bool_]:
        """Where every input that matters is given, apart from the error rate."""
        g = self.groups
        always = g.members + g.failures_per_hour + self.count + self.redundancy + self.hours
        repair = g.rebuild_hours + g.replacement_hours + g.after_factor + self.spares
        return np.asarray(~np.isnan(np.where(self.redundancy > 0, always + repair, always)))

    def pieces(self, wanted: NDArray[np.bool_]) -> Iterator[tuple[chain.Shape, NDArray[np.intp]]]:
        """Cut the redundant elements by set of states and stiffness, to fit a core's cache.

        `wanted`, of shape (batch,), takes elements that are known and redundant; every one of them
        comes once, by its index, under the shape of its chain.
        """
        index = np.flatnonzero(wanted)
        delayed = self.groups.replacement_hours[index] > 0
        spares = np.where(delayed, np.minimum(self.spares[index], chain.MOST_SPARES), 0)
        shared = (spares > 0) & (self.count[index] > 1)
        key = ((self.redundancy[index] * 16 + spares) * 2 + delayed) * 2 + shared
        alike = key.size and np.count_nonzero(key == key[0]) == key.size
        for value in key[:1] if alike else np.unique(key):
            mine = index[key == value]
            rest, both = divmod(int(value), 4)
            others = chain.MOST_OTHERS if both % 2 else 0
            shape = chain.Shape(rest // 16, rest % 16, both >= 2, others)
            size = chain.chunk_size(shape)
            if mine.size <= size:
                yield shape, mine
                continue
            stiffness = np.frexp(chain.pace(shape, self.groups.take(mine)) * self.hours[mine])[1]
            mine = mine[np.argsort(stiffness, kind="stable")]
            for start in range(0, mine.size, size):
                yield shape, mine[start : start + size]


def _again(x: FloatArray) -> FloatArray:
    return np.concatenate([x, x])
