"""Chance of losing data: invariants, composition, spares, read errors, field rates, refusals."""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import replace
from itertools import pairwise
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from quotelib.estimate.reliability import field_rates
from quotelib.estimate.reliability.assessment import assess, expected_tb_lost
from quotelib.estimate.reliability.latent_errors import error_rates
from quotelib.estimate.reliability.loss import (
    MTTDL_CAUTION,
    Loss,
    any_of_groups,
    chance_of_loss,
    loss_probability,
    mean_hours_to_loss,
)
from quotelib.estimate.reliability.protection import (
    Protection,
    unreadable_probability,
    unreadable_sectors,
)
from quotelib.estimate.shape import array_shape, group_shape
from quotelib.units import HOURS_PER_YEAR
from tests.estimate.opinions.simulation import interval
from tests.estimate.shapes import LEVELS, groups_of

# A result carries an error of a few units in the last place for each of its some 25 doublings.
ROUNDING = 2e-14

EXAMPLE = Protection(
    members=8,
    redundancy=1,
    mttf_hours=1.2e6,
    rebuild_hours=20.0,
    replacement_hours=24.0,
    drive_bytes=8e12,
    bit_error_rate=1e-15,
)


def annual_pct(mttf_hours: Any) -> Any:
    return 100 * HOURS_PER_YEAR / mttf_hours


def loss(protection: Protection, years: float = 5.0) -> float:
    return float(loss_probability(protection, years).any_data)


@st.composite
def protections(draw: st.DrawFn) -> Protection:
    """Anything from tame to absurd: error rates near certainty, lifetimes of a few rebuilds."""
    rebuild = 10 ** draw(st.floats(-1, 3))
    wait = draw(st.one_of(st.just(0.0), st.floats(-2, 3).map(lambda x: 10.0**x)))
    redundancy = draw(st.integers(1, 3))
    return Protection(
        members=redundancy + draw(st.integers(1, 14)),
        redundancy=redundancy,
        groups=draw(st.integers(1, 4)),
        spares=draw(st.integers(0, 3)),
        mttf_hours=5.0 * (rebuild + wait) * 10 ** draw(st.floats(0, 5)),
        rebuild_hours=rebuild,
        replacement_hours=wait,
        drive_bytes=10 ** draw(st.floats(11, 13.5)),
        bit_error_rate=draw(st.one_of(st.just(0.0), st.floats(-18, -12).map(lambda x: 10.0**x))),
        after_failure_factor=draw(st.one_of(st.just(1.0), st.floats(1, 200))),
    )


WORSE: dict[str, Any] = {
    "rebuild_hours": lambda x: x * 2.0,
    "replacement_hours": lambda x: x * 2.0 + 0.01,
    "members": lambda x: x + 1,
    "groups": lambda x: x + 1,
    "mttf_hours": lambda x: x / 1.2,
    "drive_bytes": lambda x: x * 1.5,
    "bit_error_rate": lambda x: x * 2.0 + 1e-16,
    "after_failure_factor": lambda x: x * 1.5,
}
BETTER: dict[str, Any] = {"redundancy": lambda x: x + 1, "spares": lambda x: x + 1}
YEARS = st.floats(0.001, 20)


@pytest.mark.parametrize("name", WORSE)
@settings(max_examples=60, deadline=None)
@given(protection=protections(), years=YEARS)
def test_what_makes_things_worse_never_lowers_the_risk(
    name: str, protection: Protection, years: float
) -> None:
    worse = replace(protection, **{name: WORSE[name](getattr(protection, name))})
    before, after = (loss_probability(p, years) for p in (protection, worse))
    for chance in ("any_data", "array", "group"):
        if (name, chance) != ("groups", "group"):
            assert getattr(after, chance) >= getattr(before, chance) * (1 - ROUNDING), chance


@settings(max_examples=100, deadline=None)
@given(protection=protections(), years=YEARS, more=st.floats(0.01, 3))
def test_more_read_errors_lose_more_and_never_the_array(
    protection: Protection, years: float, more: float
) -> None:
    """Were a bad sector the end of the chain, more of them would hide losses of the array."""
    rate = float(np.asarray(protection.bit_error_rate))
    worse = replace(protection, bit_error_rate=min(rate * 10**more + 1e-19, 0.5))
    before, after = (loss_probability(p, years) for p in (protection, worse))
    assert after.array == before.array and after.group == before.group
    assert after.any_data >= before.any_data * (1 - ROUNDING)
    assert after.strips > before.strips
    drive_tb = float(np.asarray(protection.drive_bytes)) / 1e12
    lost = [
        expected_tb_lost(found, usable_tb=drive_tb, striped=True, strip_tb=2.6e-7)
        for found in (before, after)
    ]
    assert lost[1].low > lost[0].low or lost[0].low == drive_tb
    assert lost[1].high >= lost[0].high * (1 - ROUNDING)


@pytest.mark.parametrize("name", BETTER)
@settings(max_examples=100, deadline=None)
@given(protection=protections(), years=YEARS)
def test_more_redundancy_and_more_spares_never_raise_the_risk(
    name: str, protection: Protection, years: float
) -> None:
    roomy = replace(protection, members=np.asarray(protection.members) + 1)
    better = replace(roomy, **{name: BETTER[name](getattr(roomy, name))})
    assert loss(better, years) <= loss(roomy, years) * (1 + ROUNDING)
    array, safer = (loss_probability(p, years).array for p in (roomy, better))
    assert safer <= array * (1 + ROUNDING)


@settings(max_examples=100, deadline=None)
@given(protection=protections(), years=YEARS)
def test_one_more_drive_of_parity_for_the_same_data_never_raises_the_risk(
    protection: Protection, years: float
) -> None:
    """Without spares: there the added drive competes for them."""
    alone = replace(protection, spares=0, after_failure_factor=1.0)
    more = replace(
        alone,
        members=np.asarray(alone.members) + 1,
        redundancy=np.asarray(alone.redundancy) + 1,
    )
    assert loss(more, years) <= loss(alone, years) * (1 + ROUNDING)


@settings(max_examples=60, deadline=None)
@given(protection=protections(), years=YEARS)
def test_probabilities_hang_together(protection: Protection, years: float) -> None:
    found = loss_probability(protection, years)
    later = loss_probability(protection, years * 1.5)
    assert 0 <= found.group * (1 - ROUNDING) <= found.array <= found.any_data <= 1
    for name in ("any_data", "array", "strips"):
        assert getattr(later, name) >= getattr(found, name) * (1 - ROUNDING), name
    assert float(found.array) == float(any_of_groups(found.group, protection.groups))
    # Any data is the array or a strip: no likelier than the two together.
    assert found.any_data <= (found.array + found.strips) * (1 + ROUNDING)
    without = replace(protection, bit_error_rate=0.0)
    assert chance_of_loss(protection, years) == pytest.approx(float(found.any_data), rel=ROUNDING)
    assert chance_of_loss(without, years) == found.array
    quiet = loss_probability(without, years)
    assert quiet.strips == 0 and quiet.any_data == quiet.array == found.array


@settings(max_examples=30, deadline=None)
@given(rows=st.lists(st.tuples(protections(), YEARS), min_size=1, max_size=12))
def test_arrays_equal_scalars_element_by_element(rows: list[tuple[Protection, float]]) -> None:
    names = [*WORSE, *BETTER]
    together = Protection(**{n: np.array([getattr(p, n) for p, _ in rows]) for n in names})
    years = np.array([y for _, y in rows])
    many = loss_probability(together, years)
    means = mean_hours_to_loss(together)
    for i, (protection, span) in enumerate(rows):
        one = loss_probability(protection, span)
        for name in ("any_data", "array", "group", "strips"):
            assert getattr(one, name) == getattr(many, name)[i], name
        assert chance_of_loss(protection, span) == chance_of_loss(together, years)[i]
        assert mean_hours_to_loss(protection) == means[i]


def test_threads_change_nothing() -> None:
    rng = np.random.default_rng(11)
    count = 30_000
    many = replace(
        EXAMPLE,
        redundancy=rng.integers(0, 3, count),
        rebuild_hours=rng.uniform(2, 60, count),
        spares=rng.integers(0, 2, count),
    )
    found = loss_probability(many, 5.0).any_data
    for i in range(0, count, 997):
        one = replace(
            EXAMPLE,
            redundancy=many.redundancy[i],  # type: ignore[index]
            rebuild_hours=many.rebuild_hours[i],  # type: ignore[index]
            spares=many.spares[i],  # type: ignore[index]
        )
        assert loss(one) == found[i]


def test_without_redundancy_it_is_the_exponential_law() -> None:
    bare = replace(EXAMPLE, redundancy=0)
    assert loss(bare) == pytest.approx(1 - np.exp(-8 * 5 * HOURS_PER_YEAR / 1.2e6), rel=1e-14)
    assert float(mean_hours_to_loss(bare)) == pytest.approx(1.2e6 / 8)
    # neither repair nor read errors enter: they may be unknown
    unknown = replace(bare, rebuild_hours=np.nan, replacement_hours=np.nan, bit_error_rate=np.nan)
    assert loss(unknown) == loss(bare)


def test_nested_levels_are_composed_exactly_even_where_one_minus_p_rounds() -> None:
    assert float(any_of_groups(1e-20, 7)) == pytest.approx(7e-20, rel=1e-14)
    assert float(any_of_groups(0.3, 3)) == pytest.approx(1 - 0.7**3, rel=1e-14)
    assert float(any_of_groups(1.0, 3)) == 1.0
    tiny = replace(EXAMPLE, redundancy=2, bit_error_rate=0.0, mttf_hours=1e10, rebuild_hours=0.5)
    assert loss(replace(tiny, groups=6)) == pytest.approx(6 * loss(tiny), rel=1e-12)
    assert 0 < loss(tiny) < 1e-15


def test_mean_time_and_chance_agree_where_losses_are_rare() -> None:
    for redundancy in (1, 2, 3):
        rare = replace(EXAMPLE, redundancy=redundancy, bit_error_rate=1e-17, spares=1)
        rate = 5 * HOURS_PER_YEAR / float(mean_hours_to_loss(rare))
        assert loss(rare) == pytest.approx(-np.expm1(-rate), rel=3e-3)


def test_first_order_of_a_bad_sector_after_a_failure() -> None:
    """Re-derived: a failure arrives at n lambda; its rebuild reads seven drives without help.

    Any data are lost with the chance of a bad sector (Chen et al. 1994, section 3.4.3), and as many
    strips as there are bad sectors on average; the array by the pair of failures of section 3.4.1.
    """
    calm = replace(EXAMPLE, mttf_hours=1e9, replacement_hours=0.0)
    failures = 8 * 5 * HOURS_PER_YEAR / 1e9
    found = loss_probability(calm, 5.0)
    unreadable = float(unreadable_probability(7, 8e12, 1e-15))
    assert float(found.any_data) == pytest.approx(failures * unreadable, rel=1e-3)
    assert float(found.strips) == pytest.approx(failures * 7 * 8 * 8e12 * 1e-15, rel=1e-3)
    assert float(found.array) == pytest.approx(failures * 7 * 20 / 1e9, rel=1e-3)


def test_double_parity_corrects_a_bad_sector_unless_two_drives_are_out() -> None:
    single, double = EXAMPLE, replace(EXAMPLE, redundancy=2)
    assert loss(double) < loss(single) / 1000


@pytest.mark.parametrize("bits", [1.0, 8e12, 1e20])
@pytest.mark.parametrize("rate", [0.0, 1e-30, 1e-17, 1e-14])
def test_unreadable_probability_keeps_its_digits(bits: float, rate: float) -> None:
    got = float(unreadable_probability(1, bits / 8, rate))
    x = bits * rate  # series of 1 - exp(-x) and its limit, apart from terms of the rate squared
    assert got == pytest.approx(x - x * x / 2 + x**3 / 6 if x < 1e-3 else 1 - np.exp(-x), rel=1e-10)


@pytest.mark.parametrize("rate", [0.0, 1e-30, 1e-15, 1e-11])
def test_the_mean_number_of_bad_sectors_goes_with_the_bits(rate: float) -> None:
    mean, some = unreadable_sectors(3, 1e12, rate), unreadable_probability(3, 1e12, rate)
    assert float(mean) == pytest.approx(24e12 * rate)
    # Independent errors: none is met with the chance e^-mean of a Poisson number.
    assert float(some) == pytest.approx(-np.expm1(-float(mean)), rel=1e-9)


def simulated_with_spares(p: Protection, years: float, trials: int, seed: int) -> tuple[int, int]:
    """Events of the whole array one by one; every spare is followed, in every group."""
    rng = random.Random(seed)
    n, k, groups = int(p.members), int(p.redundancy), int(p.groups)  # type: ignore[arg-type]
    fail, fill, bring = (1 / float(x) for x in (p.mttf_hours, p.rebuild_hours, p.replacement_hours))  # type: ignore[arg-type]
    lost = 0
    for _ in range(trials):
        filling, waiting, shelf, coming = [0] * groups, [0] * groups, int(p.spares), 0  # type: ignore[arg-type]
        clock = 0.0
        while True:
            drives = groups * n - sum(waiting)
            rates = (drives * fail, sum(filling) * fill, coming * bring)
            clock += rng.expovariate(sum(rates))
            if clock > years * HOURS_PER_YEAR:
                break
            (event,) = rng.choices((0, 1, 2), rates)
            if event == 0:
                weights = [n - waiting[g] for g in range(groups)]
                (g,) = rng.choices(range(groups), weights)
                if rng.random() * weights[g] < filling[g]:
                    filling[g] -= 1
                coming += 1
                if shelf:
                    shelf -= 1
                    filling[g] += 1
                else:
                    waiting[g] += 1
                if filling[g] + waiting[g] > k:
                    lost += 1
                    break
            elif event == 1:
                (g,) = rng.choices(range(groups), filling)
                filling[g] -= 1
            else:
                coming -= 1
                if any(waiting):
                    (g,) = rng.choices(range(groups), waiting)
                    waiting[g] -= 1
                    filling[g] += 1
                else:
                    shelf += 1
    return lost, trials


def spare_cases() -> Iterator[tuple[Protection, bool]]:
    busy = replace(
        EXAMPLE, mttf_hours=4e3, rebuild_hours=40.0, replacement_hours=400.0, bit_error_rate=0.0
    )
    yield replace(busy, members=4, spares=1), True
    yield replace(busy, members=6, redundancy=2, spares=1), True
    yield replace(busy, members=6, redundancy=2, spares=2), True
    yield replace(busy, members=3, groups=3, spares=1), False
    yield replace(busy, members=5, groups=2, redundancy=2, spares=2), False


@pytest.mark.parametrize(("protection", "exact"), list(spare_cases()))
def test_spares_against_a_simulation_of_every_one(protection: Protection, exact: bool) -> None:
    """Exact for one group; for shared spares on the side of more risk, by less than a tenth."""
    years = 0.25
    low, high = interval(*simulated_with_spares(protection, years, 12_000, seed=7), 0.99)
    found = loss(protection, years)
    assert found >= low
    assert found <= (high if exact else 1.1 * high)


def test_spares_help_when_replacement_is_slow_and_not_when_it_is_at_once() -> None:
    slow = replace(EXAMPLE, redundancy=2, replacement_hours=200.0)
    risks = [loss(replace(slow, spares=s)) for s in range(9)]
    assert risks[1] < risks[0] / 10
    assert all(a >= b * (1 - ROUNDING) for a, b in pairwise(risks))
    assert risks[6] == risks[8]  # more than six count as six
    at_once = replace(slow, replacement_hours=0.0)
    assert loss(at_once) == loss(replace(at_once, spares=3))


def test_range_runs_from_the_data_sheet_to_the_field() -> None:
    disk = field_rates.mttf_range(2.5e6, "hdd")
    assert float(disk.best) == 2.5e6
    assert float(annual_pct(disk.expected)) == pytest.approx(3.01)
    assert float(annual_pct(disk.worst)) == pytest.approx(8.6)
    flash = field_rates.mttf_range(2e6, "ssd")  # the sheet's 0.44 % is above the field's 0.22 %
    assert float(flash.expected) == 2e6
    assert float(annual_pct(flash.best)) == pytest.approx(0.22)
    poor = field_rates.mttf_range(5e4, "hdd")
    assert float(poor.worst) == float(poor.expected) == 5e4
    both = field_rates.mttf_range([2.5e6, 2e6], ["hdd", "ssd"])
    assert both.expected.tolist() == [float(disk.expected), float(flash.expected)]


@settings(max_examples=40, deadline=None)
@given(
    mttf=st.floats(3e5, 1e7),
    media=st.sampled_from(["hdd", "ssd"]),
    redundancy=st.integers(0, 2),
    busy=st.floats(20, 500),
    scrub=st.one_of(st.none(), st.floats(1, 10_000)),
)
def test_every_range_holds_its_value(
    mttf: float, media: str, redundancy: int, busy: float, scrub: float | None
) -> None:
    protection = replace(EXAMPLE, mttf_hours=mttf, redundancy=redundancy)
    risk = assess(
        protection,
        5.0,
        media=media,
        usable_tb=56.0,
        striped=True,
        strip_tb=2.6e-7,
        rebuild_hours_low=9.0,
        rebuild_hours_high=busy,
        scrub_hours=scrub,
    )
    assert risk.loss_low <= risk.loss.any_data <= risk.loss_high
    # The cases a figure comes from are kept beside it.
    assert risk.mttf.worst <= risk.mttf.expected <= risk.mttf.best
    assert risk.loss_high == max(risk.worst.any_data, risk.loss.any_data)
    assert risk.array_low <= risk.loss.array <= risk.array_high
    assert risk.array_low == min(risk.best.array, risk.loss.array)
    assert risk.array_high == max(risk.worst.array, risk.loss.array)
    assert risk.tb_lost_high >= 56.0 * risk.worst.array
    # Drives that fail together are inside the range, not beside it.
    together = loss_probability(
        replace(protection, mttf_hours=risk.mttf.expected, after_failure_factor=10.0), 5.0
    )
    assert risk.loss.array <= together.array <= risk.array_high
    assert risk.loss.any_data <= together.any_data <= risk.loss_high
    assert risk.rebuild_unreadable_low <= risk.rebuild_unreadable <= risk.rebuild_unreadable_high
    assert risk.tb_lost_low <= risk.tb_lost <= risk.tb_lost_high <= 56.0
    assert (risk.rebuild_unreadable == 0) == (redundancy == 0)
    assert risk.mttdl_hours > 0
    if redundancy == 0:
        assert together.any_data == risk.loss.any_data


def test_terabytes_lost_by_how_the_drives_are_used() -> None:
    four, none = any_of_groups(0.01, 4), np.zeros(())
    single = Loss(array=four, any_data=four, group=np.asarray(0.01), strips=none)
    apart = expected_tb_lost(single, usable_tb=40, striped=False, strip_tb=0)
    assert float(apart.high) == float(apart.low) == pytest.approx(0.01 * 40)
    striped = expected_tb_lost(single, usable_tb=40, striped=True, strip_tb=0)
    assert float(striped.high) == pytest.approx((1 - 0.99**4) * 40)
    found = loss_probability(EXAMPLE, 5.0)
    tb = expected_tb_lost(found, usable_tb=56, striped=True, strip_tb=2e-7)
    assert float(tb.low) == pytest.approx(56 * float(found.array) + 2e-7 * float(found.strips))
    assert float(tb.high) == pytest.approx(56 * float(found.any_data))
    # Never more than there is.
    ruin = Loss(*map(np.asarray, (0.9, 0.99, 0.9, 1e9)))
    for end in (expected_tb_lost(ruin, usable_tb=56, striped=True, strip_tb=2e-7),):
        assert float(end.low) == float(end.high) == 56


def test_a_bad_sector_in_a_mirror_is_not_a_lost_array() -> None:
    """Two disks of 10 TB at the field's mean rate, as the starter list sells them.

    By hand, in fractions of rare events: two disks fail at 3.01 % a year each. The other one then
    fails within a day and twelve hours' rebuild, or meets bad sectors in 8 x 10^13 bits.
    """
    rate = 0.0301 / HOURS_PER_YEAR
    mirror = replace(
        EXAMPLE, members=2, mttf_hours=1 / rate, rebuild_hours=12.0, drive_bytes=1e13,
        bit_error_rate=1e-15,
    )  # fmt: skip
    found = loss_probability(mirror, 5.0)
    failures = 2 * 5 * 0.0301
    assert float(found.array) == pytest.approx(failures * rate * 36, rel=0.01)
    assert float(found.any_data) == pytest.approx(failures * 0.0769, rel=0.02)
    assert float(found.strips) == pytest.approx(failures * 0.08, rel=0.01)
    lost = expected_tb_lost(found, usable_tb=10, striped=True, strip_tb=2.6e-7)
    assert float(lost.low) == pytest.approx(10 * failures * rate * 36, rel=0.01)


def test_arrays_become_groups() -> None:
    cases = [("none", 4, 1), ("0", 4, 1), ("1", 2, 1), ("5", 8, 1), ("6", 8, 1), ("10", 8, 1),
             ("50", 8, 2), ("60", 12, 3)]  # fmt: skip
    assert {level for level, _, _ in cases} == set(LEVELS)
    found = [groups_of(*case) for case in cases]
    assert [float(g.members) for g in found] == [1, 4, 2, 8, 8, 2, 4, 4]
    assert [float(g.redundancy) for g in found] == [0, 0, 1, 1, 2, 1, 1, 2]
    assert [float(g.groups) for g in found] == [4, 1, 1, 1, 1, 4, 2, 3]
    # All at once gives the same.
    parity, copies = zip(*(LEVELS[level] for level, _, _ in cases), strict=True)
    shape = array_shape([n for _, n, _ in cases], [s for _, _, s in cases], parity, copies)
    many = group_shape(shape, [level != "none" for level, _, _ in cases])
    assert many.members.tolist() == [float(g.members) for g in found]
    assert many.groups.tolist() == [float(g.groups) for g in found]


@pytest.mark.parametrize(
    ("shape", "members", "redundancy", "groups"),
    [((12, 1, 0, 3), 3, 2, 4), ((12, 2, 0, 3), 3, 2, 4), ((16, 2, 3, 1), 8, 3, 2)],
)
def test_three_copies_and_three_parities_become_groups(
    shape: tuple[int, int, int, int], members: int, redundancy: int, groups: int
) -> None:
    found = group_shape(array_shape(*shape))
    got = (float(found.members), float(found.redundancy), float(found.groups))
    assert got == (members, redundancy, groups)
    assert float(array_shape(*shape).redundancy) == redundancy


def test_a_third_copy_and_a_third_parity_lower_the_risk_of_the_same_data() -> None:
    def risk(*shape: int) -> float:
        g = group_shape(array_shape(*shape))
        return loss(replace(EXAMPLE, members=g.members, redundancy=g.redundancy, groups=g.groups))

    assert risk(12, 1, 0, 3) < risk(8, 1, 0, 2) / 100
    assert risk(11, 1, 3) < risk(10, 1, 2) / 100


@pytest.mark.parametrize(
    ("fields", "says"),
    [
        ({"members": 0}, "members must be at least 1"),
        ({"members": 4.5}, "members must be whole"),
        ({"redundancy": 0.5}, "redundancy must be whole"),
        ({"groups": 1.5}, "groups must be whole"),
        ({"spares": 0.5}, "spares must be whole"),
        ({"redundancy": 8}, "at least one drive holds data"),
        ({"members": 20, "redundancy": 9}, "redundancy must be at most 8"),
        ({"redundancy": -1}, "redundancy must be at least 0"),
        ({"groups": 0}, "groups must be at least 1"),
        ({"spares": -1}, "spares must be at least 0"),
        ({"mttf_hours": 0}, "mttf_hours must be above 0"),
        ({"mttf_hours": 44.0}, "mttf_hours must be above rebuild_hours"),
        ({"mttf_hours": 30.0}, "mttf_hours must be above rebuild_hours"),
        ({"rebuild_hours": 0}, "rebuild_hours must be above 0"),
        ({"replacement_hours": -1}, "replacement_hours must be at least 0"),
        ({"drive_bytes": -1}, "drive_bytes must be at least 0"),
        ({"bit_error_rate": 1}, "bit_error_rate must be below 1"),
        ({"bit_error_rate": -1e-15}, "bit_error_rate must be at least 0"),
        ({"after_failure_factor": 0.5}, "after_failure_factor must be at least 1"),
        ({"members": [8, 9], "spares": [0, 1, 2]}, "right would be one shape for all"),
    ],
)
def test_impossible_inputs_are_refused(fields: dict[str, Any], says: str) -> None:
    with pytest.raises(ValueError, match=says):
        replace(EXAMPLE, **fields)


def test_years_and_media_are_checked_too() -> None:
    with pytest.raises(ValueError, match="years must be at least 0"):
        loss_probability(EXAMPLE, -1)
    with pytest.raises(ValueError, match="do not go together"):
        loss_probability(replace(EXAMPLE, spares=[0, 1]), [1, 2, 3])
    with pytest.raises(ValueError, match='must be "hdd" or "ssd"'):
        field_rates.mttf_range(1e6, "tape")
    assert loss(EXAMPLE, 0.0) == 0.0


@pytest.mark.parametrize(
    "name",
    ["members", "spares", "groups", "mttf_hours", "rebuild_hours", "replacement_hours",
     "drive_bytes", "bit_error_rate", "after_failure_factor"],
)  # fmt: skip
def test_not_known_in_not_known_out_and_only_there(name: str) -> None:
    given_value = float(getattr(EXAMPLE, name))
    many = replace(EXAMPLE, **{name: np.array([given_value, np.nan])})
    found = loss_probability(many, 5.0)
    for figures in (found.any_data, chance_of_loss(many, 5.0)):
        assert figures[0] == pytest.approx(loss(EXAMPLE), rel=ROUNDING)
        assert np.isnan(figures[1])
    assert np.isnan(found.strips[1])
    assert np.isnan(mean_hours_to_loss(many)[1])
    # Whether the array is lost does not depend on what can be read.
    readable = name in ("bit_error_rate", "drive_bytes")
    assert np.isnan(found.array).tolist() == [False, not readable]
    if readable:
        assert found.array[1] == found.array[0] and found.group[1] == found.group[0]


def test_no_read_errors_and_no_failures_are_legal() -> None:
    assert float(loss_probability(replace(EXAMPLE, bit_error_rate=0), 5).strips) == 0.0
    never = replace(EXAMPLE, mttf_hours=np.inf)
    assert loss(never) == 0.0
    assert np.isinf(mean_hours_to_loss(never))


def test_the_mean_comes_with_its_caution() -> None:
    assert "does not mean" in MTTDL_CAUTION


def test_a_summary_of_many_is_a_summary_of_each() -> None:
    striped = np.array([False, True, True])
    shape = group_shape(array_shape([4, 8, 12], [1, 1, 2], [0, 1, 2]), striped)
    many = replace(EXAMPLE, members=shape.members, redundancy=shape.redundancy, groups=shape.groups)
    rest: dict[str, Any] = {"media": "ssd", "usable_tb": 30.0, "strip_tb": 2.6e-7}
    together = assess(many, [1.0, 5.0, 10.0], striped=striped, **rest)
    for i, years in enumerate((1.0, 5.0, 10.0)):
        one = replace(
            EXAMPLE,
            members=shape.members[i],
            redundancy=shape.redundancy[i],
            groups=shape.groups[i],
        )
        alone = assess(one, years, striped=striped[i], **rest)
        assert alone.loss.any_data == together.loss.any_data[i]
        names = ("array_low", "array_high", "loss_low", "loss_high", "rebuild_unreadable",
                 "rebuild_unreadable_low", "rebuild_unreadable_high", "tb_lost", "tb_lost_low",
                 "tb_lost_high", "mttdl_hours")  # fmt: skip
        for name in names:
            assert getattr(alone, name) == getattr(together, name)[i], name
        best = replace(one, mttf_hours=field_rates.mttf_range(1.2e6, "ssd").best)
        few = error_rates(1e-15, 8e12, "ssd", unscrubbed_hours=years * HOURS_PER_YEAR)
        assert alone.loss_low == loss(replace(best, bit_error_rate=few.low), years)
        lives, slow = field_rates.mttf_range(1.2e6, "ssd"), replace(one, bit_error_rate=few.high)
        poor = replace(slow, mttf_hours=lives.worst)
        batch = replace(slow, mttf_hours=lives.expected, after_failure_factor=10.0)
        assert alone.loss_high == max(loss(poor, years), loss(batch, years))


@pytest.mark.parametrize("slower", ["rebuild_hours", "replacement_hours"])
@pytest.mark.parametrize("redundancy", [1, 2])
def test_slow_repair_is_no_shelter_where_a_bad_sector_is_near_certain(
    slower: str, redundancy: int
) -> None:
    """Drives out of service must not make the array safer by failing less often."""
    doomed = replace(
        EXAMPLE,
        members=redundancy + 1,
        redundancy=redundancy,
        mttf_hours=1000.0,
        rebuild_hours=20.0,
        replacement_hours=20.0,
        bit_error_rate=1e-13,
    )
    assert loss(replace(doomed, **{slower: 400.0}), 0.05) >= loss(doomed, 0.05)


def test_a_rebuild_begun_again_reads_everything_again() -> None:
    """Re-derived by hand: a mirror is two states, and q the chance of a bad sector."""
    fail, fill, q = 1 / 1000.0, 1 / 50.0, 0.8
    mirror = replace(
        EXAMPLE,
        members=2,
        mttf_hours=1 / fail,
        rebuild_hours=1 / fill,
        replacement_hours=0.0,
        drive_bytes=1e12,
        bit_error_rate=float(-np.expm1(np.log1p(-q) / 8e12)),
    )
    degraded_ends = fail + q * fail  # the other drive fails, or this one again and unreadable
    # healthy: T0 = 1/(2f) + (1 - q) T1; degraded: T1 = (1 + fill T0) / (ends + fill)
    t0 = (1 / (2 * fail) + (1 - q) / (degraded_ends + fill)) / (
        1 - (1 - q) * fill / (degraded_ends + fill)
    )
    assert float(mean_hours_to_loss(mirror)) == pytest.approx(t0, rel=1e-12)


def test_a_mirror_with_a_spare_is_five_states() -> None:
    """Re-derived by hand: no other group is there to take the spare, or to be served first."""
    fail, fill, bring = 1 / 4000.0, 1 / 40.0, 1 / 400.0
    # Orders and slots: 0 all well; 1 spare ordered; 2 filling, spare ordered; 3 filling, spare
    # there; 4 waiting, two ordered. The last column is the loss.
    rates = np.zeros((5, 6))
    rates[0, 2] = rates[1, 4] = 2 * fail
    rates[1, 0] = rates[2, 3] = bring
    rates[2, 1] = rates[3, 0] = fill
    rates[2, 4] = rates[3, 2] = fail  # the drive that is being filled fails
    rates[4, 2] = 2 * bring
    rates[2:, 5] = fail
    leave = np.diag(rates.sum(axis=1)) - rates[:, :5]
    by_hand = np.linalg.solve(leave, np.ones(5))[0]
    mirror = replace(
        EXAMPLE, members=2, spares=1, mttf_hours=1 / fail, rebuild_hours=1 / fill,
        replacement_hours=1 / bring, bit_error_rate=0.0,
    )  # fmt: skip
    assert float(mean_hours_to_loss(mirror)) == pytest.approx(by_hand, rel=1e-12)
