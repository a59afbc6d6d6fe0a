"""The stations a host operation visits: how long it keeps each of them busy.

Drives, drive links, controller and host link are stations of a closed network in which the
workload's outstanding operations circulate. A host operation that keeps several drives busy at
once (a mirrored write, a parity update, a block of several strips) is taken as one that needs so
many drives side by side: the group then acts as path / work x drives stations, where *path* is the
time of its steps one after another and *work* the time of all its drive operations. With
operations of single drives that is the textbook network of n drives.

Streams are fetched ahead, and finding the place costs them time once a fetch: where several streams
or random operations take turns, the drives are elsewhere in between. What a stream reads comes from
all drives side by side.

Writes that a cache has answered keep nobody waiting: what they cost the drives is background work
of the stations, done in order of place.

Drive links whose lanes are shared behind an expander are as many stations as there are lanes: an
operation takes one for as long as its drive's own link takes.

Everything is worked out for value, low end and high end side by side: arrays have the shape (3, M)
for M builds, and (4, 3, M) where the four kinds of operation are told apart.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from quotelib.estimate.checks import FloatArray
from quotelib.estimate.performance import cases
from quotelib.estimate.performance.drive_work import (
    Work,
    by_kind,
    degraded_work,
    normal_work,
    pieces,
)
from quotelib.estimate.performance.load import DataPath, Load, Serving
from quotelib.estimate.performance.queueing import Network, Ordering, asymptotic_bounds
from quotelib.estimate.performance.service import DriveTimes
from quotelib.estimate.shape import ArrayShape

# Standard deviation of a service time over its mean. Half a turn alone gives 0.2 at 7200 rpm and
# 8 ms seek; seeks of different length add to it. Common practice, no source.
SERVICE_SPREAD = 0.3

# Mean of the largest of so many normal variables, in standard deviations: 1 / sqrt(pi),
# 3 / (2 sqrt(pi)), 3 / sqrt(pi) (1 / 2 + arcsin(1 / 3) / pi), and from eight on by numerical
# integration; order statistics of the normal distribution.
_SIDE_BY_SIDE = (1.0, 2.0, 3.0, 4.0, 8.0, 16.0, 32.0)
_LARGEST = (0.0, 0.5642, 0.8463, 1.0294, 1.4236, 1.7660, 2.0697)


@dataclass(frozen=True)
class Kinds:
    """What a host operation of each kind asks of the drives of a group.

    Shapes (4, 3, M) or what broadcasts to it, times in milliseconds with nothing queued.
    """

    share: FloatArray  # of the load
    awaited: FloatArray  # the same, of what is answered once the drives have done it
    rounds: FloatArray  # of drive operations one after another: 0 to 2
    operations: FloatArray  # drive operations of a piece
    moved: FloatArray  # drive time of them all that ordering does not shorten
    placed: FloatArray  # and that it does
    steps: FloatArray  # time along the rounds, each counted once
    late: FloatArray  # more, in standard deviations, for the slowest of several side by side
    lone: FloatArray  # wait that keeps no drive busy

    @property
    def behind(self) -> FloatArray:
        """Give the share of what was answered before the drives have done it."""
        return self.share - self.awaited


@dataclass(frozen=True)
class Seconds:
    """What one host operation of a load asks of the group it falls into.

    Shapes (3, M). A path is the time along its steps, each counted once however many drives it
    keeps busy.
    """

    fixed_work: FloatArray  # drive time that ordering does not shorten, of all drive operations
    position_work: FloatArray  # drive time that it does
    behind_work: FloatArray  # drive time of what nobody waits for
    path: FloatArray  # along the steps, with nothing queued
    link_work: FloatArray  # link time of what is waited for
    link_behind: FloatArray  # and of what is not
    link_path: FloatArray
    apart: FloatArray  # wait that keeps no drive busy


@dataclass(frozen=True)
class Station:
    """One station of the network; shapes (3, M)."""

    demand_s: FloatArray  # a host operation keeps it busy
    copies: FloatArray  # how many of them work side by side
    position_s: FloatArray | float = 0.0  # more, which ordering shortens
    behind_s: FloatArray | float = 0.0  # more, which no operation waits for


@dataclass(frozen=True)
class Stations:
    """The network a load meets.

    Parameters
    ----------
    listed : dict of Station
        ``drives`` and ``links`` of the groups that are whole, ``controller`` and
        ``host_link``; ``hit_drives`` and ``hit_links`` of the group that has lost a drive, if any.
    apart_s : ndarray
        Wait of an operation that keeps no station busy, shape (3, M).
    operations : ndarray
        Drive operations of one host operation with all drives at work, shape (3, M).
    sound : dict of Station
        Drives and links as if none had failed, of an array that has lost one; it does no more than
        that one.
    """

    listed: dict[str, Station]
    apart_s: FloatArray
    operations: FloatArray
    sound: dict[str, Station]

    def network(self, outstanding: FloatArray, size: int, picked: slice) -> Network:
        """Describe some of value, low and high end as networks, stations in the order of `listed`.

        `size` is M, and `outstanding` has the shape (M,) or (1,).
        """
        return self._network(list(self.listed.values()), outstanding, size, picked)

    def bounded(self, outstanding: FloatArray, size: int) -> FloatArray:
        """Bound the operations a second from above, at the high end: shape (M,)."""
        highs = (
            asymptotic_bounds(self._network(found, outstanding, size, slice(cases.HIGH, None)))
            for found in (list(self.listed.values()), list(self.sound.values()))
            if found
        )
        return np.asarray(np.min([bounds.high_per_s[0] for bounds in highs], axis=0))

    def _network(
        self, found: list[Station], outstanding: FloatArray, size: int, picked: slice
    ) -> Network:

        def rows(name: str) -> FloatArray:
            laid = np.empty((len(found), 3, size))
            for row, station in zip(laid, found, strict=True):
                row[...] = getattr(station, name)
            return np.asarray(laid[:, picked].reshape(len(found), -1))

        def each(given: FloatArray) -> FloatArray:
            laid = np.empty((3, size))
            laid[...] = given
            return np.asarray(laid[picked].reshape(-1))

        position, behind = rows("position_s"), rows("behind_s")
        ordering = Ordering(position, each(cases.ORDER_EXPONENT), each(cases.QUEUE_DEPTH))
        return Network(
            rows("demand_s"),
            rows("copies"),
            each(outstanding),
            each(self.apart_s),
            (len(range(3)[picked]), size),
            SERVICE_SPREAD,
            ordering if position.any() else None,
            behind if behind.any() else None,
        )


def _shares(load: Load) -> FloatArray:
    """Give the share of each kind of operation, shape (4, 1, M)."""
    read, rand = np.asarray(load.read_share), np.asarray(load.random_share)
    kinds = read * rand, (1 - read) * rand, read * (1 - rand), (1 - read) * (1 - rand)
    return by_kind(*kinds)[:, None]


def _placing(
    shape: ArrayShape, times: DriveTimes, load: Load, serving: Serving, piece: FloatArray
) -> FloatArray:
    """Milliseconds until a drive has found the place of a piece, by kind: shape (4, 3, M)."""
    place = times.position_ms
    cached = np.asarray(serving.cached) > 0
    rand, streams = np.asarray(load.random_share), np.asarray(load.outstanding)
    # On each drive: all streams of an array, and the drive's own where it is used by itself.
    here = np.where(_alone(serving), streams / shape.members, streams)
    own = 1 - rand
    turns = 1 - own / (np.maximum(here, 1.0) * own + here * rand)
    # A stream finds its place once a fetch, if another was served in between.
    fetch = place * turns * np.minimum(piece / cases.FETCH_BYTES, 1.0)
    # Written through, each block waits for its place, or for the turn it has just missed.
    through = place * turns + np.minimum(times.turn_ms, place) * (1 - turns)
    in_order = np.where(cached, cases.DESTAGE_DEPTH**-cases.ORDER_EXPONENT, 1.0)
    return by_kind(place, place * in_order, fetch, np.where(cached, fetch, through))


def _alone(serving: Serving) -> NDArray[np.bool_]:
    """Tell where drives are used one by one."""
    return np.asarray(np.isinf(serving.strip_bytes))


def _moving(shape: ArrayShape, times: DriveTimes, load: Load) -> tuple[FloatArray, FloatArray]:
    """Milliseconds a piece keeps a drive busy besides: read and written, by kind: (4, 3, M)."""
    # A disk passes over the parity that lies among the data; a lone stream, over the copies.
    disk = times.position_ms > 0
    data = shape.group_drives - shape.parity_per_span
    passed = np.where(disk, shape.group_drives / data, 1.0)
    passed = passed + (shape.copies - 1) / np.asarray(load.outstanding)
    read, write = (
        times.random_read_ms - times.position_ms,
        times.random_write_ms - times.position_ms,
    )
    reads = by_kind(read, read, times.sequential_read_ms * passed, read)
    stream = times.sequential_write_ms
    writes = by_kind(write, write, stream, stream)
    tracks = np.where(disk, cases.TRACKS, 1.0)
    return reads[:, None] * tracks, writes[:, None] * tracks


def kinds(work: Work, shape: ArrayShape, times: DriveTimes, load: Load, serving: Serving) -> Kinds:
    """Time the drive operations of each kind of host operation."""
    piece = pieces(shape, load.block_bytes, serving.strip_bytes).piece_bytes
    cached = np.asarray(serving.cached) > 0
    share = _shares(load)
    writes_only = np.array([0.0, 1.0, 0.0, 1.0]).reshape(4, 1, 1)
    reads, writes = work.reads[:, None], work.writes[:, None]
    placing = _placing(shape, times, load, serving, piece)
    reading, writing = _moving(shape, times, load)
    moved = reads * reading + writes * writing
    placed = (reads + writes) * placing
    first, last = np.sign(reads), np.sign(writes)
    steps = first * (placing + reading) + last * (placing + writing)
    # What a stream reads comes from all drives that hold data.
    steps[2] = (moved[2] + placed[2]) / np.where(_alone(serving), 1.0, shape.data_members)
    late = _slowest(reads) * (placing + reading) + _slowest(writes) * (placing + writing)
    late[2] = 0.0
    lone = by_kind(
        first[0] * times.read_latency_ms,
        first[1] * times.read_latency_ms + last[1] * times.write_latency_ms,
        0.0,
        first[3] * times.read_latency_ms + last[3] * times.stream_write_latency_ms,
    )
    awaited = share * (1 - writes_only * cached)
    return Kinds(share, awaited, first + last, reads + writes, moved, placed, steps, late, lone)


def _asked(of: Kinds, piece: FloatArray, path: DataPath) -> Seconds:
    """Weigh the drive operations of each kind of host operation by the load."""
    awaited, behind = of.awaited, of.behind
    margin = cases.DRIVE_MARGIN / 1e3
    later = of.late * (cases.SLOWEST * SERVICE_SPREAD)
    apart_ms = awaited * (of.lone + later) + behind * cases.CACHE_ANSWER_MS
    wire_s = piece / (np.asarray(path.link_mb_s) * 1e6)
    wires = of.operations * wire_s
    return Seconds(
        fixed_work=(of.moved * awaited).sum(axis=0) * margin,
        position_work=(of.placed * awaited).sum(axis=0) * margin,
        behind_work=((of.moved + of.placed) * behind).sum(axis=0) * margin,
        path=(of.steps * awaited).sum(axis=0) * margin,
        link_work=(wires * awaited).sum(axis=0) * cases.IN_TURN,
        link_behind=(wires * (behind + awaited * (1 - cases.IN_TURN))).sum(axis=0),
        link_path=(of.rounds * awaited).sum(axis=0) * wire_s,
        apart=(apart_ms.sum(axis=0) + cases.CONTROLLER_MS) / 1e3,
    )


def _slowest(side_by_side: FloatArray) -> FloatArray:
    return np.asarray(np.interp(side_by_side, _SIDE_BY_SIDE, _LARGEST))


def drive_operations(work: Work, shape: ArrayShape, load: Load, serving: Serving) -> FloatArray:
    """Count the drive operations of one host operation of a load: shape (3, M).

    Streams are fetched, and gathered by a cache, in long ones.
    """
    share = _shares(load)[:, 0]
    piece = pieces(shape, load.block_bytes, serving.strip_bytes).piece_bytes
    each = (work.reads + work.writes) * share
    long = np.minimum(piece / cases.FETCH_BYTES, 1.0)
    gathered = np.where(np.asarray(serving.cached) > 0, long, 1.0)
    return np.asarray(each[0] + each[1] + each[2] * long + each[3] * gathered)


def _controller_s(
    work: Work, shape: ArrayShape, path: DataPath, load: Load, serving: Serving
) -> FloatArray:
    """Give how long a host operation keeps the controller busy, shape (3, M)."""
    block = np.asarray(load.block_bytes)
    piece = pieces(shape, block, serving.strip_bytes).piece_bytes
    moved = ((work.reads + work.writes) * _shares(load)[:, 0]).sum(axis=0) * piece
    many = np.maximum(drive_operations(work, shape, load, serving), 1.0)
    many = np.where(cases.DRIVE_SIDE, many, 1.0)
    data = np.where(cases.DRIVE_SIDE, np.maximum(moved, block), block)
    by_count, by_data = many / np.asarray(path.controller_iops), data / 1e6
    return np.asarray(np.maximum(by_count, by_data / np.asarray(path.controller_mb_s)))


def stations(
    shape: ArrayShape,
    times: DriveTimes,
    path: DataPath,
    load: Load,
    serving: Serving,
    state: str,
    host_share: FloatArray,
) -> Stations:
    """Give the network a load meets; its inputs are those of `mixed.mixed_throughput`, checked.

    `host_share` is the share of the time of the hit drives, their links and the controller that is
    left for the host.
    """
    groups = shape.groups
    cut = pieces(shape, load.block_bytes, serving.strip_bytes)
    cached = np.asarray(serving.cached) > 0
    work = normal_work(shape, cut.many, cached)
    asked = _asked(kinds(work, shape, times, load, serving), cut.piece_bytes, path)
    controller = _controller_s(work, shape, path, load, serving)
    lanes = np.asarray(path.links_at_once) / groups  # each group has its share of them

    def pair(own: Seconds, over: FloatArray, drives: FloatArray, some: FloatArray) -> list[Station]:
        # Steps are counted as with all drives: fewer of them is luck, not a promise.
        share = np.minimum(lanes / drives, 1.0)
        side = _side_by_side(own.link_work, asked.link_path, drives * share) * some
        # With few lanes what goes side by side elsewhere waits for its turn: one does at a time.
        side = np.where(share < 1, np.maximum(side, np.minimum(some, 1.0)), side)
        work_s = own.fixed_work + own.position_work
        return [
            Station(
                own.fixed_work / over,
                _side_by_side(work_s, asked.path, drives) * some,
                own.position_work / over,
                own.behind_work / over,
            ),
            Station(own.link_work / (over * share), side, 0.0, own.link_behind / (over * share)),
        ]

    whole, hit, sound = groups, dict[str, Station](), dict[str, Station]()
    if state != "normal":
        whole = groups - 1
        left = degraded_work(shape, cut.many, cached)
        slowed = groups * left.drives * host_share
        lessened = _asked(kinds(left, shape, times, load, serving), cut.piece_bytes, path)
        controller = np.maximum(controller, _controller_s(left, shape, path, load, serving))
        controller = controller / host_share
        one = np.ones_like(left.drives)
        hit["hit_drives"], hit["hit_links"] = pair(lessened, slowed, left.drives, one)
        sound["drives"], sound["links"] = pair(asked, shape.members, shape.group_drives, groups)
    drives, links = pair(asked, shape.members, shape.group_drives, whole)
    block = np.asarray(load.block_bytes)
    host = block / (np.asarray(path.host_link_mb_s) * 1e6)
    listed = {"drives": drives, "links": links, "controller": _passed(controller),
              "host_link": _passed(host)}  # fmt: skip
    operations = drive_operations(work, shape, load, serving)
    return Stations({**listed, **hit}, asked.apart, operations, sound)


def _passed(seconds: FloatArray) -> Station:
    """Let data pass a part that is there once."""
    waited = seconds * cases.IN_TURN
    return Station(waited, np.ones(1), 0.0, seconds - waited)


def _side_by_side(work_s: FloatArray, path_s: FloatArray, drives: FloatArray) -> FloatArray:
    """How many host operations the drives of a group can serve side by side."""
    with np.errstate(invalid="ignore", divide="ignore"):
        return np.asarray(np.where(work_s == 0, 1.0, path_s / work_s * drives))
