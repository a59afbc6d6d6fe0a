"""States and rates of a group's chain against tables by hand, and how a batch is cut up."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from quotelib.estimate.reliability import chain
from quotelib.estimate.reliability.loss import (
    any_of_groups,
    chance_of_loss,
    loss_and_mean,
    loss_probability,
    mean_hours_to_loss,
)
from quotelib.estimate.reliability.protection import (
    Protection,
    unreadable_probability,
    unreadable_sectors,
)

State = tuple[int, int, int]  # on order for all groups; waiting and rebuilding of this one
Table = dict[State, tuple[float, float, dict[State, float]]]  # into loss, critical, to others


def groups(members: float, all_members: float) -> chain.Groups:
    """A drive in 1,000 hours, ten times as often in distress; 10 h to fill, 20 h to arrive."""
    given = (members, all_members, 0.001, 10.0, 10.0, 20.0, 0.25, 0.75)
    return chain.Groups(*(np.array([x]) for x in given))


# Four drives of twelve, one parity, one spare for all. A first failure is critical: 0.004 an hour,
# a quarter of which ends the chain. With one failed, three others fail at 0.01 each; the one that
# is being filled, or waits, begins again at 0.01, a quarter of which is the end too.
SHARED: Table = {
    (0, 0, 0): (0.001, 0.004, {(1, 0, 1): 0.003, (1, 0, 0): 0.008}),
    (1, 0, 0): (0.001, 0.004, {(2, 1, 0): 0.003, (2, 0, 0): 0.008, (0, 0, 0): 0.05}),
    (2, 0, 0): (0.001, 0.004, {(3, 1, 0): 0.003, (1, 0, 0): 0.1}),
    (0, 0, 1): (0.0325, 0.01, {(1, 0, 1): 0.0155, (0, 0, 0): 0.1}),
    (1, 0, 1): (0.0325, 0.01, {(2, 1, 0): 0.0075, (1, 0, 0): 0.1, (0, 0, 1): 0.05,
                                (2, 0, 1): 0.008}),
    (2, 0, 1): (0.0325, 0.01, {(3, 1, 0): 0.0075, (2, 0, 0): 0.1, (1, 0, 1): 0.1}),
    (2, 1, 0): (0.0325, 0.01, {(1, 0, 1): 0.1, (3, 1, 0): 0.008}),
    (3, 1, 0): (0.0325, 0.01, {(2, 0, 1): 0.075, (2, 1, 0): 0.075}),
}  # fmt: skip
# The same without another group: nobody else takes the spare, and nobody else waits.
LONE: Table = {
    (0, 0, 0): (0.001, 0.004, {(1, 0, 1): 0.003}),
    (1, 0, 0): (0.001, 0.004, {(2, 1, 0): 0.003, (0, 0, 0): 0.05}),
    (0, 0, 1): (0.0325, 0.01, {(1, 0, 1): 0.0075, (0, 0, 0): 0.1}),
    (1, 0, 1): (0.0325, 0.01, {(2, 1, 0): 0.0075, (1, 0, 0): 0.1, (0, 0, 1): 0.05}),
    (2, 1, 0): (0.0325, 0.01, {(1, 0, 1): 0.1}),
}
# Five drives, two parities, no spare: a second failure is critical.
ORDERED: Table = {
    (0, 0, 0): (0.0, 0.0, {(1, 1, 0): 0.005}),
    (0, 0, 1): (0.01, 0.04, {(1, 1, 1): 0.03, (1, 1, 0): 0.01, (0, 0, 0): 0.1}),
    (1, 1, 0): (0.01, 0.04, {(2, 2, 0): 0.03, (0, 0, 1): 0.05}),
    (0, 0, 2): (0.035, 0.02, {(1, 1, 1): 0.015, (0, 0, 1): 0.2}),
    (1, 1, 1): (0.035, 0.02, {(2, 2, 0): 0.0075, (1, 1, 0): 0.1, (0, 0, 2): 0.05}),
    (2, 2, 0): (0.035, 0.02, {(1, 1, 1): 0.1}),
}
# And replaced at once.
AT_ONCE: Table = {
    (0, 0, 0): (0.0, 0.0, {(0, 0, 1): 0.005}),
    (0, 0, 1): (0.01, 0.04, {(0, 0, 2): 0.03, (0, 0, 0): 0.1}),
    (0, 0, 2): (0.035, 0.02, {(0, 0, 1): 0.2}),
}


@pytest.mark.parametrize(
    ("shape", "group", "table"),
    [
        (chain.Shape(1, 1, True, 1), groups(4, 12), SHARED),
        (chain.Shape(1, 1, True, 0), groups(4, 4), LONE),
        (chain.Shape(2, 0, True, 0), groups(5, 5), ORDERED),
        (chain.Shape(2, 0, False, 0), groups(5, 5), AT_ONCE),
    ],
    ids=["spare shared", "spare alone", "ordered", "at once"],
)
def test_every_rate_is_that_of_a_table_by_hand(
    shape: chain.Shape, group: chain.Groups, table: Table
) -> None:
    listed = chain.states(shape)
    assert listed[0] == (0, 0, 0)
    assert sorted(listed) == sorted(table)
    # from few failed to many, which is the order that elimination goes back
    assert [w + r for _, w, r in listed] == sorted(w + r for _, w, r in listed)
    found = chain.rates(shape, group)
    for i, state in enumerate(listed):
        lost, critical, to = table[state]
        assert found.into_loss[i, 0, 0] == pytest.approx(lost, rel=1e-14), state
        assert found.critical[i, 0, 0] == pytest.approx(critical, rel=1e-14), state
        wanted = [to.get(other, 0.0) for other in listed]
        np.testing.assert_allclose(found.between[i, :, 0], wanted, rtol=1e-14, err_msg=str(state))


def test_a_piece_fits_a_cache_and_a_batch_is_sorted_by_its_fastest() -> None:
    shape = chain.Shape(2, 3, True, 0)
    g = groups(5, 5)
    assert chain.pace(shape, g)[0] == pytest.approx(max(2 / 10, 5 / 20))
    assert chain.pace(shape, replace(g, rebuild_hours=np.array([4.0])))[0] == 0.5
    assert chain.pace(chain.Shape(2, 0, False, 0), g)[0] == 0.2
    size = len(chain.states(shape))
    assert chain.chunk_size(shape) == 30_000 // size**2
    # A large chain is worked on sixty-four at a time all the same.
    assert chain.chunk_size(chain.Shape(8, 6, True, 1)) == 64


MANY = 900


def many() -> Protection:
    rng = np.random.default_rng(2)
    redundancy = rng.integers(0, 4, MANY)
    return Protection(
        members=redundancy + rng.integers(1, 9, MANY),
        redundancy=redundancy,
        groups=rng.integers(1, 4, MANY),
        spares=rng.integers(0, 9, MANY),
        mttf_hours=10 ** rng.uniform(5, 6.5, MANY),
        rebuild_hours=10 ** rng.uniform(0, 2, MANY),
        replacement_hours=rng.choice([0.0, 24.0], MANY),
        drive_bytes=8e12,
        bit_error_rate=1e-16,
    )


def test_every_redundant_element_comes_once_with_the_shape_of_its_own() -> None:
    p = many()
    b = p.batch(np.array(43_800.0))
    wanted = b.redundancy > 0
    seen: list[int] = []
    for shape, picked in b.pieces(wanted):
        assert 0 < picked.size <= chain.chunk_size(shape)
        for i in picked:
            delayed = b.groups.replacement_hours[i] > 0
            spares = min(int(b.spares[i]), 6) if delayed else 0
            others = int(spares > 0 and b.count[i] > 1)
            assert shape == chain.Shape(int(b.redundancy[i]), spares, bool(delayed), others)
        seen += picked.tolist()
    assert sorted(seen) == np.flatnonzero(wanted).tolist()


def test_an_error_rate_that_nobody_knows_is_none() -> None:
    """What goes by it is not known either; the chain of the array goes on without."""
    p = Protection(
        members=6, redundancy=1, mttf_hours=1e6, rebuild_hours=10.0, replacement_hours=0.0,
        drive_bytes=1e12, bit_error_rate=np.nan,
    )  # fmt: skip
    assert p.batch(np.array(43_800.0)).groups.unreadable.tolist() == [0.0]


def test_a_shape_of_many_elements_is_cut_from_slow_to_fast() -> None:
    rng = np.random.default_rng(3)
    hours = 10 ** rng.uniform(0, 2, 20_000)
    p = Protection(
        members=6, redundancy=1, mttf_hours=1e6, rebuild_hours=hours, replacement_hours=0.0,
        drive_bytes=1e12, bit_error_rate=0.0,
    )  # fmt: skip
    b = p.batch(np.array(43_800.0))
    pieces = list(b.pieces(np.ones(20_000, dtype=bool)))
    size = chain.chunk_size(pieces[0][0])
    assert [picked.size for _, picked in pieces] == [size, size, 20_000 - 2 * size]
    order = np.concatenate([picked for _, picked in pieces])
    assert sorted(order.tolist()) == list(range(20_000))
    doublings = np.frexp(43_800.0 / hours[order])[1]
    assert (np.diff(doublings) >= 0).all() and doublings[0] < doublings[-1]
    assert not list(b.pieces(np.zeros(20_000, dtype=bool)))


KNOWN: dict[str, Any] = {
    "members": 6.0, "redundancy": 1.0, "groups": 2.0, "spares": 1.0, "mttf_hours": 1e6,
    "rebuild_hours": 10.0, "replacement_hours": 24.0, "drive_bytes": 1e12,
    "bit_error_rate": 1e-16, "after_failure_factor": 2.0,
}  # fmt: skip
OF_REPAIR = ("spares", "rebuild_hours", "replacement_hours", "after_failure_factor")
OF_READING = ("drive_bytes", "bit_error_rate")


@pytest.mark.parametrize("name", KNOWN)
def test_what_is_not_known_makes_not_known_what_needs_it(name: str) -> None:
    unknown = Protection(**{**KNOWN, name: np.nan})
    loss = loss_probability(unknown, 5.0)
    of_failures = name not in OF_READING
    assert np.isnan(loss.array) == of_failures
    assert np.isnan(loss.group) == of_failures
    assert np.isnan(loss.any_data) and np.isnan(loss.strips)
    assert np.isnan(chance_of_loss(unknown, 5.0)) and np.isnan(mean_hours_to_loss(unknown))
    bare = Protection(**{**KNOWN, "redundancy": 0.0, name: np.nan})
    needed = name not in (*OF_REPAIR, *OF_READING)
    assert np.isnan(loss_probability(bare, 5.0).array) == needed
    assert np.isnan(mean_hours_to_loss(bare)) == needed
    assert np.isnan(loss_probability(Protection(**KNOWN), np.nan).array)


def test_the_mean_beside_the_chances_is_the_mean_alone() -> None:
    p = many()
    wanted = np.arange(MANY) % 3 == 0
    loss, mean = loss_and_mean(p, 5.0, wanted)
    alone = mean_hours_to_loss(p)
    assert np.isfinite(alone).all()
    np.testing.assert_array_equal(mean[wanted], alone[wanted])
    assert np.isnan(mean[~wanted]).all()
    np.testing.assert_array_equal(loss.any_data, loss_probability(p, 5.0).any_data)


@pytest.mark.parametrize("errors", [1.0, 1.5])
def test_a_rate_of_errors_stays_below_one_a_bit(errors: float) -> None:
    for asked in (unreadable_probability, unreadable_sectors):
        with pytest.raises(ValueError, match="bit_error_rate must be below 1"):
            asked(1, 1e12, errors)


def test_a_chance_of_some_group_is_asked_of_chances() -> None:
    assert any_of_groups(1.0, 3) == 1
    with pytest.raises(ValueError, match="one_group must be at most 1"):
        any_of_groups(1.5, 3)
