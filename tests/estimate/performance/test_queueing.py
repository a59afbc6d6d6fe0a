"""Queueing formulas against published examples, exact Markov chains and a simulator."""

from __future__ import annotations

import itertools
from collections.abc import Callable
from functools import cache
from typing import Any

import ciw
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy import linalg
from scipy.stats import t as student

from quotelib.estimate.performance.mean_values import Solution, mean_value_analysis
from quotelib.estimate.performance.queueing import (
    Bounds,
    asymptotic_bounds,
    closed_network,
    knee_customers,
)
from tests.estimate.opinions.approximation import approximate_mean_value_analysis
from tests.estimate.opinions.bounds import balanced_bounds
from tests.estimate.opinions.open_network import open_network
from tests.estimate.published import Published, rows

# Each example's numbers as its source gives them.
P117 = ([0.605, 2.1, 1.35], 3, 15.0)
JAIN_342 = np.array([16 * 0.125, 10 * 0.3, 5 * 0.2])  # CPU, disk A, disk B; think 4 s
JAIN_355 = ([0.78, 2.34, 1.56], 3, 4.68)
BOLCH_83_VISITS = np.array([1, 0.4, 0.2, 0.1])
BOLCH_83_SERVICE = np.array([0.02, 0.2, 0.4, 0.6])


def exact(*network: Any, **more: Any) -> Solution:
    return mean_value_analysis(closed_network(*network, **more))


def approximate(*network: Any) -> Solution:
    return approximate_mean_value_analysis(closed_network(*network))


def wide_bounds(*network: Any) -> Bounds:
    return asymptotic_bounds(closed_network(*network))


def tight_bounds(*network: Any) -> Bounds:
    return balanced_bounds(closed_network(*network))


@cache
def jain(customers: int) -> Solution:
    return exact(JAIN_342, customers, 4.0)


# Open examples: arrivals a second, visits, service times.
P113 = (0.3, (121, 70, 50), (0.005, 0.03, 0.027))
# Visits solved from the routing of the example: 5, 2.5, 2.5, 1.
BOLCH_74 = (4.0, (5, 2.5, 2.5, 1), (0.04, 0.03, 0.06, 0.05))
JAIN_341 = (3.0, (16, 7, 8), (0.01, 0.02, 0.03))


@cache
def opened(
    arrivals: float, visits: tuple[float, ...], service: tuple[float, ...], many: int = 20_000
) -> Solution:
    """Solve an open network as a closed one whose many customers stay away most of the time.

    They stay away for as long as makes the throughput that of the arrivals.
    """
    demands, think = np.multiply(visits, service), many / arrivals
    for _ in range(2):
        think = many / arrivals - float(exact(demands, many, think).response_s)
    return exact(demands, many, think)


def a_visit(example: tuple[Any, ...], station: int) -> float:
    return float(opened(*example).residence_s[station]) / float(example[1][station])


def bolch_83() -> Solution:
    return exact(BOLCH_83_VISITS * BOLCH_83_SERVICE, 6)


COMPUTED: dict[str, Callable[[], Any]] = {
    "queue.p113.utilisation": lambda: opened(*P113).utilisation[0],
    "queue.p113.throughput": lambda: opened(*P113).throughput_per_s * P113[1][0],
    "queue.p113.queue": lambda: opened(*P113).queue[0],
    "queue.bolch74.U1": lambda: opened(*BOLCH_74).utilisation[0],
    "queue.bolch74.R2": lambda: a_visit(BOLCH_74, 1),
    "queue.bolch74.R4": lambda: a_visit(BOLCH_74, 3),
    "queue.bolch74.Q1": lambda: opened(*BOLCH_74).queue[0],
    "queue.bolch74.Q2": lambda: opened(*BOLCH_74).queue[1],
    "queue.jain341.R1": lambda: a_visit(JAIN_341, 0),
    "queue.jain341.R2": lambda: a_visit(JAIN_341, 1),
    "queue.jain341.R3": lambda: a_visit(JAIN_341, 2),
    "queue.p117.X": lambda: exact(*P117).throughput_per_s,
    "queue.p117.R": lambda: exact(*P117).response_s,
    "queue.jain342.N1.R": lambda: jain(1).response_s,
    "queue.jain342.N1.X": lambda: jain(1).throughput_per_s,
    "queue.jain342.N2.R": lambda: jain(2).response_s,
    "queue.jain342.N2.X": lambda: jain(2).throughput_per_s,
    "queue.jain342.N3.R": lambda: jain(3).response_s,
    "queue.jain342.N4.R": lambda: jain(4).response_s,
    "queue.jain342.N5.R": lambda: jain(5).response_s,
    "queue.jain342.N5.Qcpu": lambda: jain(5).queue[0],
    "queue.jain342.N5.QA": lambda: jain(5).queue[1],
    "queue.jain342.N5.QB": lambda: jain(5).queue[2],
    "queue.jain342.N20.R": lambda: jain(20).response_s,
    "queue.jain342.N20.X": lambda: jain(20).throughput_per_s,
    "queue.jain342.N20.Qcpu": lambda: jain(20).queue[0],
    "queue.jain342.N20.QA": lambda: jain(20).queue[1],
    "queue.jain342.N20.QB": lambda: jain(20).queue[2],
    "queue.jain355.X": lambda: exact(*JAIN_355).throughput_per_s,
    "queue.jain355.R": lambda: exact(*JAIN_355).response_s,
    "queue.jain355.Ucpu": lambda: exact(*JAIN_355).utilisation[0],
    "queue.jain355.UA": lambda: exact(*JAIN_355).utilisation[1],
    "queue.jain355.UB": lambda: exact(*JAIN_355).utilisation[2],
    "queue.jain355.QA": lambda: exact(*JAIN_355).queue[1],
    "queue.bolch83.U2": lambda: bolch_83().utilisation[1],
    "queue.bolch83.U4": lambda: bolch_83().utilisation[3],
    "queue.bolch83.R1": lambda: bolch_83().residence_s[0],
    "queue.bolch83.R3": lambda: bolch_83().residence_s[2] / BOLCH_83_VISITS[2],
    "queue.bolch83.Q1": lambda: bolch_83().queue[0],
    "queue.bolch83.Q2": lambda: bolch_83().queue[1],
    "queue.bolch83.Q4": lambda: bolch_83().queue[3],
    "queue.bolch83.X1": lambda: bolch_83().throughput_per_s,
    "queue.harchol.T1": lambda: exact([1.0, 0.5], 3).residence_s[0],
    "queue.harchol.X": lambda: 2 * exact([1.0, 0.5], 3).throughput_per_s,
    "queue.harchol.N2": lambda: exact([1.0, 0.5], 3).queue[1],
    "queue.menasce.bound": lambda: wide_bounds([0.092, 0.079, 0.108, 0.142], 1000).high_per_s,
    "queue.jain33.X": lambda: wide_bounds(JAIN_342, 20, 4.0).high_per_s,
    "queue.jain33.knee": lambda: knee_customers(closed_network(JAIN_342, 1, 4.0)),
}


@pytest.mark.parametrize("row", rows("queue"), ids=lambda row: row.key)
def test_published_example(row: Published) -> None:
    computed = float(COMPUTED[row.key]())
    assert row.agrees(computed), (row, computed)


def markov_throughput(
    demands: list[float], customers: int, think: float
) -> tuple[float, NDArray[np.float64]]:
    """Throughput and mean queues from the chain of a cycle think -> stations -> think."""
    stations = len(demands)
    states = [
        s
        for s in itertools.product(range(customers + 1), repeat=stations)
        if (sum(s) <= customers if think else sum(s) == customers)
    ]
    index = {s: i for i, s in enumerate(states)}
    rates = np.zeros((len(states), len(states)))
    for s in states:
        thinking = customers - sum(s)
        moves = [(-1, 0, thinking / think)] if thinking else []
        for k in range(stations):
            if s[k]:
                target = k + 1 if k + 1 < stations else (-1 if think else 0)
                moves.append((k, target, 1 / demands[k]))
        for source, target, rate in moves:
            after = list(s)
            if source >= 0:
                after[source] -= 1
            if target >= 0:
                after[target] += 1
            rates[index[s], index[tuple(after)]] += rate
    generator = rates - np.diag(rates.sum(axis=1))
    system = np.vstack([generator.T[:-1], np.ones(len(states))])
    chance = linalg.solve(system, np.r_[np.zeros(len(states) - 1), 1.0])
    queues = chance @ np.array(states, dtype=float)
    last = sum(c for c, s in zip(chance, states, strict=True) if s[-1])
    return float(last / demands[-1]), queues


@pytest.mark.parametrize(
    ("demands", "customers", "think"),
    [
        ([1.0, 2.0], 4, 0.0),
        ([0.605, 2.1, 1.35], 3, 15.0),
        ([0.01, 0.01, 0.01, 0.004], 5, 0.0),
        ([0.3, 0.2, 0.25], 6, 1.0),
        ([5.0], 7, 2.0),
        ([0.1, 0.9, 0.5, 0.3], 4, 0.7),
    ],
)
def test_exact_against_markov_chain(demands: list[float], customers: int, think: float) -> None:
    throughput, queues = markov_throughput(demands, customers, think)
    solved = exact(demands, customers, think)
    assert float(solved.throughput_per_s) == pytest.approx(throughput, rel=1e-9)
    assert solved.queue == pytest.approx(queues, rel=1e-8)


# Service times, routing (rows may sum to less: the rest goes to station 0), customers, think;
# visits in a batch, as many as it takes to reject a throughput that is 5 % off, either way.
# Station 0 is the reference; exponential times, as in the exact solution.
SIMULATED = [
    ("two alike", [0.1, 0.1], [[0, 1], [1, 0]], 4, 0.0, 1_000),
    ("bottleneck", [0.05, 0.3], [[0, 1], [1, 0]], 5, 0.0, 500),
    ("central server", [0.02, 0.1, 0.2], [[0.2, 0.5, 0.3], [1, 0, 0], [1, 0, 0]], 6, 0.0, 1_500),
    (
        "four drives",
        [0.001, *[0.012] * 4],
        [[0, *[0.25] * 4], *[[1, 0, 0, 0, 0]] * 4],
        8,
        0.0,
        1_500,
    ),
    ("with think", [0.2, 0.4, 0.3], [[0, 0.5, 0.5], [1, 0, 0], [1, 0, 0]], 6, 2.0, 500),
    ("line of three", [0.2, 0.25, 0.15], [[0, 1, 0], [0, 0, 1], [1, 0, 0]], 3, 0.5, 500),
    ("light load", [0.1, 0.2], [[0, 1], [1, 0]], 2, 3.0, 500),
]


@pytest.mark.parametrize(
    ("name", "service", "routing", "customers", "think", "batch_visits"),
    SIMULATED,
    ids=[network[0] for network in SIMULATED],
)
def test_exact_inside_simulated_interval(
    name: str,
    service: list[float],
    routing: list[list[float]],
    customers: int,
    think: float,
    batch_visits: int,
) -> None:
    """99 % interval of the throughput at station 0 over 20 batches after a warm-up."""
    matrix = np.array(routing, dtype=float)
    stations = len(service)
    visits = np.linalg.solve(
        np.vstack([(matrix.T - np.eye(stations))[1:], np.eye(stations)[0]]),
        np.r_[np.zeros(stations - 1), 1.0],
    )
    solved = exact(visits * service, customers, think)
    expected = float(solved.throughput_per_s)
    # A think station before station 0 that everybody can use at once.
    full = np.zeros((stations + 1, stations + 1))
    full[:stations, :stations] = matrix
    full[0, -1] = 0.0
    full[:, -1] = full[:, 0]
    full[:, 0] = 0.0
    full[-1, 0] = 1.0
    full[-1, -1] = 0.0
    delay = think or 1e-9
    network = ciw.create_network(
        arrival_distributions=[
            *[None] * stations,
            ciw.dists.Sequential([1e-9, float("inf")]),
        ],
        batching_distributions=[
            *[ciw.dists.Deterministic(1)] * stations,
            ciw.dists.Deterministic(customers),
        ],
        service_distributions=[
            *[ciw.dists.Exponential(1 / s) for s in service],
            ciw.dists.Exponential(1 / delay),
        ],
        routing=full.tolist(),
        number_of_servers=[*[1] * stations, float("inf")],
    )
    ciw.seed(20_240)
    batches = 20
    warm_up = 500 / expected
    batch_time = batch_visits / expected
    simulation = ciw.Simulation(network)
    simulation.simulate_until_max_time(warm_up + batches * batch_time)
    ends = np.array([r.service_end_date for r in simulation.get_all_records() if r.node == 1])
    counts, _ = np.histogram(ends, warm_up + batch_time * np.arange(batches + 1))
    rates = counts / batch_time
    half = student.ppf(0.995, batches - 1) * rates.std(ddof=1) / np.sqrt(batches)
    assert abs(rates.mean() - expected) <= half, (rates.mean(), half, expected)
    # The interval has to be narrow enough to tell a wrong model from a right one.
    assert half < 0.05 * expected


def test_identical_stations_are_one_recursion() -> None:
    spread = exact([0.01] * 8 + [0.002], 32)
    folded = exact([0.01, 0.002], 32, multiplicity=[8, 1])
    assert folded.throughput_per_s == pytest.approx(spread.throughput_per_s, rel=1e-13)
    assert folded.queue[0] == pytest.approx(spread.queue[0], rel=1e-13)
    assert folded.residence_s[0] == pytest.approx(spread.residence_s[:8].sum(), rel=1e-13)


def test_part_multiplicity_is_the_generating_function() -> None:
    """X(N) = g(N-1) / g(N), with g the coefficients of (1 - d z)^-m / (1 - e z)."""
    d, e, m, many = 0.3, 0.1, 2.5, 7
    first = np.ones(many + 1)
    for k in range(1, many + 1):
        first[k] = first[k - 1] * d * (m + k - 1) / k
    g = np.convolve(first, e ** np.arange(many + 1))[: many + 1]
    solved = exact([d, e], many, multiplicity=[m, 1])
    assert float(solved.throughput_per_s) == pytest.approx(g[many - 1] / g[many], rel=1e-13)


# Worst of 200,000 random networks of up to six stations: 6.8 %. Exact with one customer.
APPROXIMATION = 0.10

NETWORKS = st.tuples(
    st.lists(st.floats(1e-4, 10), min_size=1, max_size=6), st.integers(1, 40), st.floats(0, 20)
)


@given(NETWORKS)
@settings(deadline=None)
def test_bounds_hold_and_balance_tightens(case: tuple[list[float], int, float]) -> None:
    demands, customers, think = case
    solved = float(exact(demands, customers, think).throughput_per_s)
    wide = wide_bounds(demands, customers, think)
    tight = tight_bounds(demands, customers, think)
    slack = 1 + 1e-9
    assert wide.low_per_s <= tight.low_per_s * slack
    assert tight.low_per_s <= solved * slack
    assert solved <= tight.high_per_s * slack
    assert tight.high_per_s <= wide.high_per_s * slack


@given(NETWORKS)
@settings(deadline=None)
def test_little_and_utilisation_laws(case: tuple[list[float], int, float]) -> None:
    demands, customers, think = case
    solved = exact(demands, customers, think)
    inside = float(solved.queue.sum()) + float(solved.throughput_per_s) * think
    assert inside == pytest.approx(customers, rel=1e-9)
    assert (solved.utilisation <= 1 + 1e-9).all()


@given(NETWORKS)
@settings(deadline=None)
def test_more_customers_never_lower_throughput_or_response(
    case: tuple[list[float], int, float],
) -> None:
    demands, customers, think = case
    now = exact(demands, [customers, customers + 1], think)
    assert now.throughput_per_s[1] >= now.throughput_per_s[0] * (1 - 1e-12)
    assert now.response_s[1] >= now.response_s[0] * (1 - 1e-12)


@given(NETWORKS)
@settings(max_examples=50, deadline=None)
def test_approximation_is_close(case: tuple[list[float], int, float]) -> None:
    demands, customers, think = case
    solved = exact(demands, customers, think).throughput_per_s
    near = approximate(demands, customers, think).throughput_per_s
    assert float(near) == pytest.approx(float(solved), rel=APPROXIMATION if customers > 1 else 1e-6)


def test_approximation_is_the_published_one() -> None:
    """Lazowska et al. 1984, p. 117 (seen): an opinion, not what quotes use, so in no table."""
    near = approximate(*P117)
    assert near.queue == pytest.approx([0.0973, 0.4021, 0.2359], abs=5e-5)
    assert float(near.throughput_per_s) == pytest.approx(0.1510, abs=5e-5)
    assert float(near.response_s) == pytest.approx(4.87, abs=5e-3)


@given(st.lists(NETWORKS.filter(lambda c: len(c[0]) <= 6), min_size=2, max_size=8))
@settings(max_examples=40, deadline=None)
def test_many_networks_equal_one_by_one(cases: list[tuple[list[float], int, float]]) -> None:
    # Missing stations are stations without demand.
    demands = np.array([case[0] + [0.0] * (6 - len(case[0])) for case in cases])
    customers = [case[1] for case in cases]
    think = [case[2] for case in cases]
    together = exact(demands, customers, think)
    for i, case in enumerate(cases):
        alone = exact(*case)
        assert together.throughput_per_s[i] == pytest.approx(alone.throughput_per_s, rel=1e-12)
        assert together.queue[i, : len(case[0])] == pytest.approx(alone.queue, rel=1e-12)


def test_bounds_by_hand_with_think_time() -> None:
    """Demands of 2, 3 and 1 s, 4 s of thinking (Jain's example): N (2 and 20) and both ends.

    Wide: N / (6 N + 4) and min(1 / 3, N / 10). Balanced: N / (10 + (N - 1) 3 / (1 + 4 / 6 N)) and
    min(1 / 3, N / (10 + (N - 1) 2 / (1 + 4 / 6))).
    """
    many = np.array([2, 20])
    wide, tight = wide_bounds(JAIN_342, many, 4.0), tight_bounds(JAIN_342, many, 4.0)
    assert wide.low_per_s == pytest.approx([2 / 16, 20 / 124])
    assert wide.high_per_s == pytest.approx([2 / 10, 1 / 3])
    assert tight.low_per_s == pytest.approx(
        [2 / (10 + 3 / (1 + 4 / 12)), 20 / (10 + 57 / (1 + 4 / 120))]
    )
    assert tight.high_per_s == pytest.approx([2 / (10 + 2 / (1 + 4 / 6)), 1 / 3])


def test_bounds_of_copies_that_are_not_there() -> None:
    """A station of which there is none is none: neither the busiest nor one to average over."""
    without = wide_bounds([2.0, 1.0], 5), tight_bounds([2.0, 1.0], 5)
    beside = (
        wide_bounds([2.0, 1.0, 9.0], 5, 0.0, [1, 1, 0]),
        tight_bounds([2.0, 1.0, 9.0], 5, 0.0, [1, 1, 0]),
    )
    for one, other in zip(without, beside, strict=True):
        assert other.low_per_s == pytest.approx(float(one.low_per_s))
        assert other.high_per_s == pytest.approx(float(one.high_per_s))


def test_only_thinking_takes_time() -> None:
    """Without a busy station the customers come round as fast as they think, and never wait."""
    for bounds in (wide_bounds([0.0], 4, 2.0), tight_bounds([0.0], 4, 2.0)):
        assert (float(bounds.low_per_s), float(bounds.high_per_s)) == (2.0, 2.0)
    assert float(exact([0.0], 4, 2.0).throughput_per_s) == 2.0
    assert np.isinf(knee_customers(closed_network([0.0], 4, 2.0)))


def test_knee() -> None:
    # Where the asymptotes cross: (D + Z) / D_max.
    assert knee_customers(closed_network([2.0, 1.0], 1, 3.0)) == pytest.approx(3.0)
    assert knee_customers(closed_network([0.01], 1, 0.0, [8])) == pytest.approx(8.0)
    before, after = wide_bounds([2.0, 1.0], [3, 4], 3.0).high_per_s
    assert before == pytest.approx(0.5)
    assert after == pytest.approx(0.5)


def test_blank_demands_stay_unknown() -> None:
    solved = exact([[0.1, np.nan], [0.1, 0.2]], 4)
    assert np.isnan(solved.throughput_per_s[0])
    assert np.isfinite(solved.throughput_per_s[1])
    near = approximate([[0.1, np.nan], [0.1, 0.2]], 4)
    assert np.isnan(near.throughput_per_s[0])
    assert np.isfinite(near.throughput_per_s[1])
    assert np.isnan(wide_bounds([0.1, np.nan], 4).high_per_s)
    assert np.isnan(tight_bounds([0.1, np.nan], 4).low_per_s)


@pytest.mark.parametrize("many", [100, 1000])
def test_many_idle_customers_make_an_open_network(many: int) -> None:
    """A closed network comes to the open one of the same rate as one over the customers."""
    wanted = open_network(*P113)
    think = many / 0.3 - float(wanted.residence_s.sum())
    solved = exact([0.605, 2.1, 1.35], many, think)
    for found, opened in (
        (solved.throughput_per_s * np.array([121, 70, 50]), wanted.throughput_per_s),
        (solved.utilisation, wanted.utilisation),
        (solved.residence_s, wanted.residence_s),
        (solved.queue, wanted.queue),
    ):
        assert found == pytest.approx(opened, rel=6 / many)


@pytest.mark.parametrize("solve", [exact, approximate])
@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (([0.1, -0.2], 3), "service demand"),
        (([0.1], 0), "customers must be at least 1, but is 0"),
        (([0.1], 2.5), "customers must be whole"),
        (([0.1], np.nan), "must be known"),
        (([0.1], 3, -1), "think time"),
        ((0.1, 3), "one entry a station"),
        (([], 3), "one entry a station"),
        (([0.0], 3), "takes time"),
        (([0.1], 3, 0.0, [-1.0]), "multiplicity"),
    ],
)
def test_impossible_networks_are_refused(
    solve: Callable[..., Solution], arguments: tuple[object, ...], words: str
) -> None:
    with pytest.raises(ValueError, match=words):
        solve(*arguments)
