"""Stations that choose, spread less or have work behind them: against chains and formulas."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from quotelib.estimate.performance.mean_values import _held_up, mean_value_analysis
from quotelib.estimate.performance.queueing import (
    Network,
    Ordering,
    asymptotic_bounds,
    closed_network,
    knee_customers,
)


def ordered(network: Network, demands: list[float], exponent: float, deepest: float) -> Network:
    column = np.array(demands).reshape(-1, 1)
    return replace(
        network, ordering=Ordering(column, np.array([exponent]), np.array([float(deepest)]))
    )


def behind(network: Network, *seconds: float) -> Network:
    return replace(network, background=np.array(seconds).reshape(-1, 1))


@pytest.mark.parametrize("spread", [0.0, 0.3, 1.0])
@pytest.mark.parametrize("many", [1, 2, 7, 32, 64])
def test_one_station_that_never_rests_does_what_it_can(many: int, spread: float) -> None:
    """With n there it takes 2 + 10 / n ^ (1 / 4) s, n at most 32: whatever the spread."""
    network = replace(ordered(closed_network([2.0], many), [10.0], 0.25, 32), spread=spread)
    found = mean_value_analysis(network)
    takes = 2 + 10 * min(many, 32) ** -0.25
    assert found.throughput_per_s == pytest.approx(1 / takes, rel=1e-6)
    assert found.queue == pytest.approx(many, rel=1e-6)
    assert found.busy_s == pytest.approx(takes, rel=1e-6)
    assert found.utilisation == pytest.approx(1, rel=1e-6)
    assert found.response_s == pytest.approx(many * takes, rel=1e-6)


@pytest.mark.parametrize("many", [2, 5, 20])
@pytest.mark.parametrize("think", [1.0, 30.0])
def test_choosing_against_a_birth_and_death_chain(many: int, think: float) -> None:
    """Exponential times: with j there it serves at 1 / (1 + 4 / j ^ (1 / 4)), n - j think.

    For one station the chain is exact (Kleinrock, Queueing Systems 1, 1975, section 3.2; from
    memory); the analysis takes means for the distribution, which costs a few hundredths.
    """
    network = ordered(closed_network([1.0], many, think), [4.0], 0.25, 1000)
    found = mean_value_analysis(network)
    weight, rates = [1.0], [0.0]
    for j in range(1, many + 1):
        rates.append(1 / (1 + 4 * j**-0.25))
        weight.append(weight[-1] * (many - j + 1) / think / rates[j])
    chances = np.array(weight) / sum(weight)
    assert found.throughput_per_s == pytest.approx(float(chances @ rates), rel=0.04)
    assert found.queue[0] == pytest.approx(float(chances @ np.arange(many + 1)), rel=0.12)


@pytest.mark.parametrize("copies", [1.0, 2.0])
@pytest.mark.parametrize("many", [4, 30])
def test_all_who_wait_are_somewhere(copies: float, many: int) -> None:
    """Constant service fills a station early: who it does not pass on waits there, and is seen."""
    network = closed_network([1.0, 0.2], many, 0.5, multiplicity=[copies, 1.0])
    network = replace(ordered(network, [9.0, 0.0], 0.25, 100), spread=0.0)
    found = mean_value_analysis(network)
    there = float(found.queue @ [copies, 1.0])
    assert there + float(found.throughput_per_s) * 0.5 == pytest.approx(many, rel=1e-6)
    # No more than all of them evenly at the full ones makes them do, give or take one customer.
    most = 1 / (1 + 9 * (many / copies + 0.5) ** -0.25)
    assert 0.9 * most < float(found.throughput_per_s) <= most


@pytest.mark.parametrize("unit", [1.0, 0.001])
def test_all_who_wait_are_somewhere_beside_work_behind_another(unit: float) -> None:
    """The station that chooses has no such work; that the other has some takes nobody away."""
    network = closed_network([unit, 0.2 * unit], 30, 0.5 * unit)
    network = ordered(network, [9.0 * unit, 0.0], 0.25, 100)
    network = replace(behind(network, 0.0, 0.1 * unit), spread=0.0)
    found = mean_value_analysis(network)
    inside = float(found.queue.sum()) + float(found.throughput_per_s) * 0.5 * unit
    assert inside == pytest.approx(30, rel=1e-6)
    # Nearly all of them wait where it takes longest: it chooses among some 29.
    assert float(found.throughput_per_s) * unit == pytest.approx(1 / (1 + 9 * 29**-0.25), rel=0.02)


@pytest.mark.parametrize("spread", [0.0, 0.3, 0.8])
@pytest.mark.parametrize("busy", [0.2, 0.6, 0.9])
def test_many_idle_customers_wait_as_pollaczek_and_khinchine_say(
    busy: float, spread: float
) -> None:
    """M/G/1: 1 + busy (1 + spread^2) / (2 (1 - busy)); Kleinrock 1975, section 5.7."""
    many = 40_000
    network = replace(closed_network([1.0], many, many / busy), spread=spread)
    found = mean_value_analysis(network)
    wanted = 1 + busy * (1 + spread**2) / (2 * (1 - busy))
    assert found.response_s == pytest.approx(wanted, rel=0.01)


@pytest.mark.parametrize(("busy", "work"), [(0.2, 0.5), (0.4, 1.0), (0.3, 0.0), (0.1, 4.0)])
def test_work_behind_makes_others_wait_as_a_shadow_server_says(busy: float, work: float) -> None:
    """1 / (1 - busy - what works behind): M/M/1 at the pace that is left (Lazowska et al. 1984,
    section 11.3, from memory), where the work goes first.
    """
    many = 15_000
    network = behind(closed_network([1.0], many, many / busy), work)
    found = mean_value_analysis(network)
    assert found.response_s == pytest.approx(1 / (1 - busy - busy * work), rel=0.01)
    assert found.utilisation == pytest.approx(busy * (1 + work), rel=0.01)
    assert found.busy_s == pytest.approx(1 + work)


def test_who_is_held_up_by_work_behind_waits_outside() -> None:
    """A station that takes 1 s, and 3 s more behind: one in 4 s, and few of 50 are seen at it."""
    network = replace(behind(closed_network([1.0, 0.5], 50), 3.0, 0.0), spread=0.0)
    found = mean_value_analysis(network)
    assert found.throughput_per_s == pytest.approx(1 / 4, rel=1e-6)
    # The other one is an eighth busy with constant service: rho + rho^2 / (2 (1 - rho)).
    assert found.queue[1] == pytest.approx(0.125 + 0.125**2 / (2 * 0.875), rel=1e-3)
    assert found.queue.sum() < 45


def test_work_that_only_limits_makes_nobody_wait() -> None:
    """Nobody waits where all is done behind: 20 customers of 1 s, of which 2 a second pass."""
    for many, through in ((1, 1.0), (2, 2.0), (20, 2.0)):
        found = mean_value_analysis(behind(closed_network([0.0], many, 1.0), 0.5))
        assert found.throughput_per_s == pytest.approx(through, rel=1e-6)
        assert found.response_s == 0
        assert found.queue == pytest.approx(0)


def test_two_full_stations_are_not_taken_for_one() -> None:
    """Work behind one station slows the other in nothing but the rate."""
    one = mean_value_analysis(behind(closed_network([1.0, 1.0], 1), 2.0, 0.0))
    # One customer alone: x (1 / (1 - 2 x) + 1) = 1, so 2 x^2 - 4 x + 1 = 0.
    assert one.throughput_per_s == pytest.approx(1 - np.sqrt(0.5))
    assert one.queue[1] == pytest.approx(1 - np.sqrt(0.5))


def test_bounds_and_knee_of_stations_that_choose() -> None:
    network = closed_network([1.0, 0.5], 8, 3.0, multiplicity=[2.0, 1.0])
    network = ordered(network, [6.0, 0.0], 0.5, 100)
    bounds = asymptotic_bounds(network)
    # Eight over two: four at each, which halves the 6 s. Alone 14.5 s in all, 3 s outside.
    assert bounds.high_per_s == pytest.approx(min(1 / 4, 8 / 17.5))
    assert bounds.low_per_s == pytest.approx(8 / (8 * 14.5 + 3))
    assert knee_customers(network) == pytest.approx(17.5 / 7)
    shallow = asymptotic_bounds(ordered(network, [6.0, 0.0], 0.5, 1))
    assert shallow.high_per_s == pytest.approx(1 / 7)
    # Behind, it works as well: no faster than both together.
    both = asymptotic_bounds(behind(network, 2.0, 9.0))
    assert both.high_per_s == pytest.approx(1 / 9.5)


def test_networks_of_different_customers_side_by_side() -> None:
    """Each as if it were alone: those with fewer customers end earlier."""
    people = np.array([3, 40, 1, 7, 7])
    think = np.array([1.0, 0.0, 2.0, 5.0, 0.5])

    def network(which: slice) -> Network:
        made = closed_network([1.0, 2.0], people[which], think[which], [3.0, 1.0])
        count = len(people[which])
        return replace(
            made,
            spread=0.3,
            ordering=Ordering(
                np.array([[2.0], [0.0]]) * np.linspace(1, 2, 5)[which],
                np.linspace(0.1, 0.4, 5)[which],
                np.linspace(8, 64, 5)[which],
            ),
            background=np.array([[0.5], [0.0]]) * np.ones(count),
        )

    together = mean_value_analysis(network(slice(None)))
    for i in range(len(people)):
        alone = mean_value_analysis(network(slice(i, i + 1)))
        for name in ("throughput_per_s", "response_s", "queue", "busy_s", "utilisation"):
            assert getattr(together, name)[i] == pytest.approx(getattr(alone, name)[0], rel=1e-12)


def test_who_waits_besides_waits_where_there_is_a_station() -> None:
    """Not at one that an array without such a part has not, which is never busy."""
    busy = np.array([[0.5], [0.2], [0.0]])
    copies = np.array([[1.0], [1.0], [0.0]])
    inside, held = np.array([5.0]), np.array([True])
    more = _held_up(np.zeros((3, 1)), busy, copies, held, inside, None)
    assert more.ravel().tolist() == [5.0, 0.0, 0.0]
