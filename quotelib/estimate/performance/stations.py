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

from quotelib.estimate.checks import FloatArray
from quotelib.estimate.performance import cases
from quotelib.estimate.performance.drive_work import Work, degraded_work, normal_work
from quotelib.estimate.performance.load import DataPath, Load, Serving
from quotelib.estimate.performance.operation import (
    SERVICE_SPREAD,
    Blocks,
    Kinds,
    blocks,
    drive_operations,
    kinds,
)
from quotelib.estimate.performance.queueing import Network, Ordering, asymptotic_bounds
from quotelib.estimate.performance.service import DriveTimes
from quotelib.estimate.shape import ArrayShape
from quotelib.units import MB


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
    rounds: FloatArray  # of drive operations that are waited for, one after another


@dataclass(frozen=True)
class Station:
    """One station of the network; shapes (3, M)."""

    demand_s: FloatArray  # a host operation keeps it busy
    copies: FloatArray  # how many of them work side by side
    position_s: FloatArray | float  # more, which ordering shortens
    behind_s: FloatArray | float  # more, which no operation waits for

    def only(self, there: FloatArray) -> "Station":
        """Leave it out where it is not there: `there` is 1 or 0."""
        return Station(
            self.demand_s * there, self.copies, self.position_s * there, self.behind_s * there
        )


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


def _asked(of: Kinds, piece: FloatArray, path: DataPath) -> Seconds:
    """Weigh the drive operations of each kind of host operation by the load."""
    awaited, behind = of.awaited, of.behind
    margin = cases.DRIVE_MARGIN / 1e3
    later = of.late * (cases.SLOWEST * SERVICE_SPREAD)
    apart_ms = awaited * (of.lone + later) + behind * cases.CACHE_ANSWER_MS
    wire_s = piece / (np.asarray(path.link_mb_s) * MB) * cases.WIRE_MARGIN
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
        rounds=(of.rounds * awaited).sum(axis=0),
    )


def _controller_s(work: Work, of: Blocks, path: DataPath, block: FloatArray) -> FloatArray:
    """Give how long a host operation keeps the controller busy, shape (3, M)."""
    moved = ((work.reads + work.writes) * of.share[:, 0]).sum(axis=0) * of.piece_bytes
    many = np.maximum(drive_operations(work, of), 1.0)
    many = np.where(cases.DRIVE_SIDE, many, 1.0)
    data = np.where(cases.DRIVE_SIDE, np.maximum(moved, block), block)
    by_count, by_data = many / np.asarray(path.controller_iops), data / MB
    return np.asarray(np.maximum(by_count, by_data / np.asarray(path.controller_mb_s)))


def stations(
    shape: ArrayShape,
    times: DriveTimes,
    path: DataPath,
    load: Load,
    serving: Serving,
    hurt: FloatArray,
    host_share: FloatArray,
) -> Stations:
    """Give the network a load meets; its inputs are those of `mixed.mixed_throughput`, checked.

    `hurt` is 1 where a drive has failed, else 0; `host_share` is the share of the time of the hit
    drives, their links and the controller that is left for the host.
    """
    groups = shape.groups
    block, of = np.asarray(load.block_bytes), blocks(shape, times, load, serving)
    work = normal_work(shape, of.many, of.cached)
    asked = _asked(kinds(work, of, shape, times, serving), of.piece_bytes, path)
    controller = _controller_s(work, of, path, block)
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

    hit, sound = dict[str, Station](), dict[str, Station]()
    apart = asked.apart
    if hurt.any():
        left = degraded_work(shape, of.many, of.cached)
        slowed = groups * left.drives * (1 - (1 - host_share) * cases.REBUILD_PART)
        lessened = _asked(kinds(left, of, shape, times, serving), of.piece_bytes, path)
        most = np.maximum(controller, _controller_s(left, of, path, block))
        left_of_it = 1 - (1 - host_share) * cases.SHARES_CONTROLLER
        controller = np.where(hurt > 0, most / left_of_it, controller)
        behind_piece_s = hurt * (1 - host_share) / groups * _half_a_piece_s(of, times)
        apart = apart + behind_piece_s * asked.rounds
        hit["hit_drives"], hit["hit_links"] = (
            station.only(hurt) for station in pair(lessened, slowed, left.drives, hurt)
        )
        sound["drives"], sound["links"] = pair(asked, shape.members, shape.group_drives, groups)
    drives, links = pair(asked, shape.members, shape.group_drives, groups - hurt)
    host = block / (np.asarray(path.host_link_mb_s) * MB)
    listed = {"drives": drives, "links": links, "controller": _carrier(controller),
              "host_link": _carrier(host)}  # fmt: skip
    operations = drive_operations(work, of)
    return Stations({**listed, **hit}, apart, operations, sound)


def _half_a_piece_s(of: Blocks, times: DriveTimes) -> FloatArray:
    """Give the mean time for which a piece of a rebuild that has begun still keeps a drive busy."""
    moving = times.sequential_read_ms * cases.REBUILD_BYTES / of.piece_bytes
    return np.asarray((moving + times.position_ms) / 2e3)


def _carrier(seconds: FloatArray) -> Station:
    """Let data pass a part that is there once."""
    seconds = seconds * cases.WIRE_MARGIN
    waited = seconds * cases.IN_TURN
    return Station(waited, np.ones(1), 0.0, seconds - waited)


def _side_by_side(work_s: FloatArray, path_s: FloatArray, drives: FloatArray) -> FloatArray:
    """How many host operations the drives of a group can serve side by side."""
    with np.errstate(invalid="ignore", divide="ignore"):
        return np.asarray(np.where(work_s == 0, 1.0, path_s / work_s * drives))
