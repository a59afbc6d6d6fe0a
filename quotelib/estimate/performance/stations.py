"""The stations a host operation visits: how long it keeps each of them busy.

Drives, drive links, controller and host link are stations of a closed network in which the
workload's outstanding operations circulate. A host operation that keeps several drives busy at
once (a mirrored write, a parity update) is taken as one that needs so many drives side by
side: the group then acts as path / work x drives stations, where *path* is the time of its
steps one after another and *work* the time of all its drive operations. With operations of
single drives that is the textbook network of n drives.

Drive links whose lanes are shared behind an expander are as many stations as there are lanes: an
operation takes one for as long as its drive's own link takes.
"""

from dataclasses import dataclass

import numpy as np

from quotelib.estimate.checks import FloatArray
from quotelib.estimate.performance.drive_work import GroupWork, degraded_work, normal_work
from quotelib.estimate.performance.load import DataPath, Load
from quotelib.estimate.performance.queueing import Network, closed_network
from quotelib.estimate.performance.service import DriveTimes
from quotelib.estimate.shape import ArrayShape

# Standard deviation of one access over its mean. Half a turn alone gives 0.2 at 7200 rpm and
# 8 ms seek; seeks of different length add to it. Common practice, no source.
SERVICE_SPREAD = 0.3

# Mean of the largest of 1, 2, 3, 4 normal variables, in standard deviations: 1 / sqrt(pi),
# 3 / (2 sqrt(pi)), 3 / sqrt(pi) (1 / 2 + arcsin(1 / 3) / pi), order statistics of the normal
# distribution. Four work side by side where a write updates three parities.
_LARGEST = (0.0, 0.5642, 0.8463, 1.0294)


@dataclass(frozen=True)
class Mix:
    """What one host operation of a load asks of the group it falls into, in seconds.

    A path is the time along its steps, each counted once however many drives it keeps busy.
    """

    work_s: FloatArray  # drive time of all its drive operations together
    path_s: FloatArray
    link_work_s: FloatArray  # link time of them all
    link_path_s: FloatArray
    fixed_s: FloatArray  # wait that keeps no drive busy
    slowest_s: FloatArray  # more wait for the slowest of several, spread by `SERVICE_SPREAD`


def mix_of(work: GroupWork, times: DriveTimes, path: DataPath, load: Load) -> Mix:
    """Weigh the drive operations of each kind of host operation by the load."""
    read, rand = np.asarray(load.read_share), np.asarray(load.random_share)
    rr, rw = read * rand, (1 - read) * rand
    sr, sw = read * (1 - rand), (1 - read) * (1 - rand)
    # A step is one round of drive operations side by side; a parity update has two.
    first_step = (work.random_write_reads > 0) * 1.0
    reads_random = rr * work.random_read + rw * work.random_write_reads
    writes_random = rw * work.random_write_writes
    reads_long, writes_long = sr * work.sequential_read, sw * work.sequential_write
    read_steps = rr + rw * first_step
    link_s = np.asarray(load.block_bytes) / (np.asarray(path.link_mb_s) * 1e6)
    return Mix(
        work_s=np.asarray(
            reads_random * times.random_read_ms
            + writes_random * times.random_write_ms
            + reads_long * times.sequential_read_ms
            + writes_long * times.sequential_write_ms
        )
        / 1e3,
        path_s=np.asarray(
            read_steps * times.random_read_ms
            + rw * times.random_write_ms
            + sr * times.sequential_read_ms
            + sw * times.sequential_write_ms
        )
        / 1e3,
        link_work_s=np.asarray((reads_random + writes_random + reads_long + writes_long) * link_s),
        link_path_s=np.asarray((read_steps + rw + sr + sw) * link_s),
        fixed_s=np.asarray(
            (read_steps + sr) * times.read_latency_ms + (rw + sw) * times.write_latency_ms
        )
        / 1e3,
        slowest_s=np.asarray(
            rw
            * (
                _slowest(work.random_write_reads) * times.random_read_ms
                + _slowest(work.random_write_writes) * times.random_write_ms
            )
        )
        * (SERVICE_SPREAD / 1e3),
    )


def _slowest(side_by_side: FloatArray) -> FloatArray:
    return np.asarray(np.interp(side_by_side, (1.0, 2.0, 3.0, 4.0), _LARGEST))


@dataclass(frozen=True)
class Station:
    """One station of the network."""

    demand_s: FloatArray  # a host operation keeps it busy; the inverse bounds operations a second
    copies: FloatArray  # how many of them work side by side


@dataclass(frozen=True)
class Stations:
    """The network a load meets.

    Parameters
    ----------
    listed : dict of Station
        ``drives`` and ``links`` of the groups that are whole, ``controller`` and
        ``host_link``; ``hit_drives`` and ``hit_links`` of the group that has lost a drive, if any.
    mix : Mix
        What an operation asks of a whole group.
    """

    listed: dict[str, Station]
    mix: Mix

    def network(self, outstanding: FloatArray) -> Network:
        """Describe the queueing network, its stations in the order of `listed`."""
        found = self.listed.values()
        full = np.broadcast_shapes(
            *(x.shape for station in found for x in (station.demand_s, station.copies))
        )
        demands = [np.broadcast_to(station.demand_s, full) for station in found]
        copies = [np.broadcast_to(station.copies, full) for station in found]
        return closed_network(
            np.stack(demands, axis=-1), outstanding, self.mix.fixed_s, np.stack(copies, axis=-1)
        )


def stations(
    shape: ArrayShape,
    times: DriveTimes,
    path: DataPath,
    load: Load,
    state: str,
    host_share: FloatArray,
) -> Stations:
    """Give the network a load meets; its inputs are those of `mixed.mixed_throughput`, checked.

    `host_share` is the share of the time of the hit drives, their links and the controller that is
    left for the host.
    """
    block = np.asarray(load.block_bytes)
    groups = shape.groups
    mix = mix_of(normal_work(shape), times, path, load)
    controller = np.maximum(
        1 / np.asarray(path.controller_iops), block / (np.asarray(path.controller_mb_s) * 1e6)
    )
    one = np.asarray(1.0)
    lanes = np.asarray(path.links_at_once) / groups  # each group has its share of them

    def pair(asked: Mix, over: FloatArray, drives: FloatArray, many: FloatArray) -> list[Station]:
        # Steps are counted as with all drives: fewer of them is luck, not a promise.
        share = np.minimum(lanes / drives, 1.0)
        side = _side_by_side(asked.link_work_s, mix.link_path_s, drives * share) * many
        # With few lanes what goes side by side elsewhere waits for its turn: one does at a time.
        side = np.where(share < 1, np.maximum(side, np.minimum(many, 1.0)), side)
        return [
            Station(asked.work_s / over, _side_by_side(asked.work_s, mix.path_s, drives) * many),
            Station(asked.link_work_s / (over * share), side),
        ]

    whole, hit = groups, dict[str, Station]()
    if state != "normal":
        controller = controller / host_share
        whole = groups - 1
        work = degraded_work(shape)
        slowed = groups * work.drives * host_share
        asked = mix_of(work, times, path, load)
        hit["hit_drives"], hit["hit_links"] = pair(asked, slowed, work.drives, one)
    drives, links = pair(mix, shape.members, shape.group_drives, whole)
    listed = {
        "drives": drives,
        "links": links,
        "controller": Station(np.asarray(controller), one),
        "host_link": Station(np.asarray(block / (np.asarray(path.host_link_mb_s) * 1e6)), one),
    }
    return Stations({**listed, **hit}, mix)


def _side_by_side(work_s: FloatArray, path_s: FloatArray, drives: FloatArray) -> FloatArray:
    """How many host operations the drives of a group can serve side by side."""
    with np.errstate(invalid="ignore", divide="ignore"):
        return np.asarray(np.where(work_s == 0, 1.0, path_s / work_s * drives))
