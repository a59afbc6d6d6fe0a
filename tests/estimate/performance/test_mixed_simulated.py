"""The array model against a simulation that lets every drive operation happen one by one.

The simulation knows nothing of the model: customers, drives with first-come-first-served
queues, steps that wait for all their drives, disk-like times (any seek up to twice the mean of
a triangular spread, any part of a turn).
"""

from __future__ import annotations

import heapq
import random
from dataclasses import replace

import numpy as np
import pytest

from quotelib.estimate.performance.load import DataPath, Load
from quotelib.estimate.performance.mixed import mixed_throughput
from quotelib.estimate.performance.service import disk_times
from quotelib.estimate.shape import array_shape

SEEK_MS, RPM, BLOCK, RATE = 8.0, 7200, 4096, 250.0
TURN_MS = 60_000 / RPM


def simulated_iops(
    members: int, parity: int, copies: int, read: float, outstanding: int, operations: int
) -> float:
    rng = random.Random(11)

    def access_ms() -> float:
        return rng.triangular(0, 2 * SEEK_MS) + rng.random() * TURN_MS + BLOCK / (RATE * 1e3)

    def steps() -> list[list[int]]:
        if rng.random() < read or (copies == 1 and parity == 0):
            return [[rng.randrange(members)]]
        if copies > 1:
            first = copies * rng.randrange(members // copies)
            return [list(range(first, first + copies))]
        drives = rng.sample(range(members), 1 + parity)
        return [drives, drives]

    free = [0.0] * members
    waiting = [(0.0, i, steps(), 0) for i in range(outstanding)]
    heapq.heapify(waiting)
    ticket, done, warm, start, now = outstanding, 0, operations // 5, 0.0, 0.0
    while done < operations:
        now, _, plan, step = heapq.heappop(waiting)
        if step == len(plan):
            done += 1
            if done == warm:
                start = now
            plan, step = steps(), 0
        end = now
        for drive in plan[step]:
            free[drive] = max(now, free[drive]) + access_ms()
            end = max(end, free[drive])
        heapq.heappush(waiting, (end, ticket, plan, step + 1))
        ticket += 1
    return (done - warm) / (now - start) * 1e3


@pytest.mark.parametrize("outstanding", [1, 4, 16, 64])
@pytest.mark.parametrize("read", [1.0, 0.7, 0.0])
@pytest.mark.parametrize(
    ("members", "parity", "copies"),
    [(8, 0, 1), (8, 0, 2), (12, 0, 3), (8, 1, 1), (8, 2, 1), (16, 2, 1), (16, 3, 1)],
)
def test_simulation_lies_in_the_range(
    members: int, parity: int, copies: int, read: float, outstanding: int
) -> None:
    # Level 6 of 8 drives needs no reconstruct-write (3 reads against 5), nor does any here.
    got = mixed_throughput(
        array_shape(members, 1, parity, copies),
        # First come, first served: nothing of the positioning is saved by ordering.
        replace(disk_times(BLOCK, SEEK_MS, RPM, RATE, RATE), position_ms=np.asarray(0.0)),
        DataPath(),
        Load(read, 1.0, BLOCK, outstanding),
    )
    seen = simulated_iops(members, parity, copies, read, outstanding, 8_000)
    # 1 % for the noise of the simulation.
    assert float(got.iops_low) <= seen * 1.01
    assert seen <= float(got.iops_bound) * 1.01
    # The figure itself: measured from 12 % under (a disk's times spread less than the model's
    # exponential ones) to 29 % over (waits for the slowest of three drives at light load), and
    # 34 % where they are four.
    most = 0.37 if parity == 3 else 0.32
    assert -0.15 <= float(got.iops) / seen - 1 <= most
