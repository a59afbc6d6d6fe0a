"""Which stations an array is, and how many of each work side by side."""

from __future__ import annotations

import numpy as np
import pytest

from quotelib.estimate.checks import with_each
from quotelib.estimate.performance.cases import LOW, REBUILD_BYTES
from quotelib.estimate.performance.load import (
    DataPath,
    Load,
    Serving,
    checked_load,
    checked_path,
    checked_serving,
)
from quotelib.estimate.performance.mixed import mixed_throughput
from quotelib.estimate.performance.operation import blocks
from quotelib.estimate.performance.service import flash_times
from quotelib.estimate.performance.stations import (
    Station,
    Stations,
    _half_a_piece_s,
    _side_by_side,
    stations,
)
from tests.estimate.shapes import shape_of

BLOCK = 4096
FLASH = flash_times(BLOCK, 100_000, 50_000, 500, 400)
LINKS = DataPath(600.0)
READS = Load(1.0, 1.0, BLOCK, 1)


def met(
    level: str, members: int, spans: int, path: DataPath, *, hurt: bool, kept: float = 1.0
) -> Stations:
    def flat(x: object) -> np.ndarray:
        return np.atleast_1d(np.asarray(x, dtype=np.float64))

    given = (shape_of(level, members, spans), FLASH, checked_path(path), checked_load(READS))
    shape, times, path, load = (with_each(one, flat) for one in given)  # type: ignore[assignment]
    serving = with_each(checked_serving(Serving()), flat)
    none = np.array([float(hurt)])
    return stations(shape, times, path, load, serving, none, np.array([kept]))  # type: ignore[arg-type]


def copies(station: Station) -> float:
    """Give them at the low end, where an operation waits for all that it moves over lanes."""
    return float(np.broadcast_to(station.copies, (3, 1))[LOW, 0])


@pytest.mark.parametrize(("spans", "members"), [(2, 8), (3, 12), (4, 12)])
def test_a_group_that_has_lost_a_drive_is_apart(spans: int, members: int) -> None:
    sound = met("50", members, spans, LINKS, hurt=False)
    lost = met("50", members, spans, LINKS, hurt=True)
    each = members / spans
    for name in ("drives", "links"):
        # Reads keep every drive busy; those of the hit group meet in what its others make up.
        assert copies(sound.listed[name]) == copies(lost.sound[name]) == members
        assert copies(lost.listed[name]) == pytest.approx(members - each)
        assert 0 < copies(lost.listed[f"hit_{name}"]) < each
    assert not sound.sound and "hit_drives" not in sound.listed


@pytest.mark.parametrize("spans", [1, 2, 4])
def test_one_lane_serves_one_drive_at_a_time(spans: int) -> None:
    """Each of four groups has a quarter of it: together they are one."""
    few = met("50" if spans > 1 else "5", 12, spans, DataPath(600.0, links_at_once=1.0), hurt=False)
    assert copies(few.listed["links"]) == 1


@pytest.mark.parametrize("spans", [2, 3, 4])
def test_only_who_comes_to_the_group_that_is_rebuilt_meets_a_piece_of_it(spans: int) -> None:
    def waited(groups: int) -> float:
        level = "50" if groups > 1 else "5"
        idle, half = (met(level, 12, groups, LINKS, hurt=True, kept=x) for x in (1.0, 0.5))
        return float(np.ravel(half.apart_s - idle.apart_s)[0])

    assert waited(spans) == pytest.approx(waited(1) / spans)
    assert waited(1) > 0


def test_where_a_response_goes_holds_the_group_that_lost_a_drive_too() -> None:
    """The controller is busiest, so that no rest is added to the drives'."""
    path = DataPath(controller_iops=1000)
    sound, lost = (
        mixed_throughput(shape_of("50", 8, 2), FLASH, path, READS, state=state)
        for state in ("normal", "degraded")
    )
    assert lost.controller_ms > 0.9
    assert lost.drives_ms >= sound.drives_ms > 0
    parts = (lost.drives_ms, lost.links_ms, lost.controller_ms, lost.host_link_ms, lost.fixed_ms)
    assert sum(map(float, parts)) == pytest.approx(float(lost.response_ms))


def test_what_keeps_nothing_busy_goes_side_by_side_once() -> None:
    """Without any work there is one of it, however many drives there are; else path over work."""
    work, path = np.array([0.0, 2.0]), np.array([0.0, 1.0])
    assert _side_by_side(work, path, np.array([8.0, 8.0])).tolist() == [1.0, 4.0]


def test_a_piece_of_a_rebuild_is_met_in_the_middle() -> None:
    """Half of the time in which a drive finds its place and moves a piece."""
    given = (shape_of("5", 4), FLASH, checked_load(READS))
    shape, times, load = (with_each(one, np.atleast_1d) for one in given)  # type: ignore[type-var]
    serving = with_each(checked_serving(Serving()), np.atleast_1d)
    of = blocks(shape, times, load, serving)  # type: ignore[arg-type]
    moved_ms = np.ravel(times.sequential_read_ms)[0] * np.ravel(REBUILD_BYTES) / BLOCK  # type: ignore[union-attr]
    expected = (moved_ms + np.ravel(times.position_ms)[0]) / 2 / 1e3  # type: ignore[union-attr]
    assert np.ravel(_half_a_piece_s(of, times)) == pytest.approx(expected)  # type: ignore[arg-type]
