"""Every figure a quote gives about losing data, over a thousand random arrays made worse."""

from __future__ import annotations

from dataclasses import fields, replace
from typing import Any

import numpy as np
import pytest

from quotelib.estimate.reliability.assessment import Risk, assess
from quotelib.estimate.reliability.field_rates import mttf_range
from quotelib.estimate.reliability.loss import Loss, loss_probability, mean_hours_to_loss
from quotelib.estimate.reliability.protection import Protection

COUNT = 1000
ROUNDING = 3e-14


def arrays() -> tuple[Protection, dict[str, Any]]:
    rng = np.random.default_rng(17)
    redundancy = rng.integers(0, 4, COUNT)
    drive = 10 ** rng.uniform(11.5, 13.5, COUNT)
    media = rng.choice(["hdd", "ssd"], COUNT)
    members = redundancy + rng.integers(1, 13, COUNT)
    protection = Protection(
        members=members,
        redundancy=redundancy,
        groups=rng.integers(1, 5, COUNT),
        spares=rng.integers(0, 3, COUNT),
        mttf_hours=10 ** rng.uniform(4.5, 6.5, COUNT),
        rebuild_hours=10 ** rng.uniform(0, 2.5, COUNT),
        replacement_hours=rng.choice([0.0, 4.0, 24.0, 72.0], COUNT),
        drive_bytes=drive,
        bit_error_rate=rng.choice([0.0, 1e-17, 1e-16, 1e-15, 1e-14], COUNT),
    )
    rest = {"media": media, "usable_tb": (members - redundancy) * drive / 1e12, "striped": True,
            "strip_tb": 2.6e-7}  # fmt: skip
    return protection, rest


def figures(protection: Protection, rest: dict[str, Any], **change: Any) -> dict[str, Any]:
    ends = {
        "rebuild_hours_low": np.asarray(protection.rebuild_hours) / 3,
        "rebuild_hours_high": np.asarray(protection.rebuild_hours) * 5,
        **change,
    }
    risk = assess(protection, 5.0, **rest, **ends)
    found = {
        f.name: getattr(risk, f.name)
        for f in fields(Risk)
        if isinstance(getattr(risk, f.name), np.ndarray)
    }
    for case in ("best", "loss", "worst"):
        loss = getattr(risk, case)
        found |= {f"{case}.{f.name}": getattr(loss, f.name) for f in fields(Loss)}
    found["losses an hour"] = 1 / found.pop("mttdl_hours")
    return found


@pytest.mark.parametrize(
    "name",
    ["bit_error_rate", "rebuild_hours", "mttf_hours", "replacement_hours", "after_failure_factor",
     "scrub_hours"],
)  # fmt: skip
def test_no_figure_falls_where_something_gets_worse(name: str) -> None:
    """Terabytes lost fell from 1.6e-5 to 3.4e-7 with more read errors while those ended the chain.

    An array that is lost loses no more strips, so that their mean number, and it alone, may fall
    where arrays are lost more often; the terabytes hold both.
    """
    protection, rest = arrays()
    before = figures(protection, rest, scrub_hours=240.0)
    if name == "scrub_hours":
        after = figures(protection, rest, scrub_hours=2400.0)
    elif name == "after_failure_factor":
        after = figures(protection, rest, scrub_hours=240.0, after_failure_factor=30.0)
    else:
        given = np.asarray(getattr(protection, name), dtype=float)
        more = {"bit_error_rate": given * 3 + 1e-18, "mttf_hours": given / 1.5}.get(
            name, given * 1.5 + 0.5
        )
        after = figures(replace(protection, **{name: more}), rest, scrub_hours=240.0)
    raised = False
    for key, figure in after.items():
        assert np.isfinite(figure).all(), key
        if key.endswith("strips") and name not in ("bit_error_rate", "scrub_hours"):
            continue
        fell = figure < before[key] * (1 - ROUNDING)
        assert not fell.any(), (key, np.flatnonzero(fell)[:3])
        raised |= bool((figure > before[key]).any())
    assert raised


def test_the_ends_hold_every_value_of_a_thousand_arrays() -> None:
    found = figures(*arrays())
    for value, low, high in (
        ("loss.array", "array_low", "array_high"),
        ("loss.any_data", "loss_low", "loss_high"),
        ("tb_lost", "tb_lost_low", "tb_lost_high"),
        ("rebuild_unreadable", "rebuild_unreadable_low", "rebuild_unreadable_high"),
    ):
        assert (found[low] <= found[value]).all() and (found[value] <= found[high]).all()
    assert (found["tb_lost_high"] > found["tb_lost"] * 2).any()


def test_the_mean_of_several_groups_is_that_of_one_divided() -> None:
    """Divided by the wrong count, 2,152 years became 137,760."""
    one = Protection(
        members=8, redundancy=1, mttf_hours=2e5, rebuild_hours=20.0, replacement_hours=24.0,
        drive_bytes=8e12, bit_error_rate=1e-16,
    )  # fmt: skip
    alone = float(mean_hours_to_loss(one))
    for groups in (2, 8, 64):
        many = replace(one, groups=groups)
        assert float(mean_hours_to_loss(many)) == pytest.approx(alone / groups, rel=1e-13)
        # And by another way: the chance over a time short beside it is that time over the mean.
        years = 1e-4 * alone / groups / 8760 + 20 * 44 / 8760
        chance = float(loss_probability(many, years).any_data)
        assert chance == pytest.approx(years * 8760 * groups / alone, rel=0.06)
    bare = replace(one, redundancy=0, groups=64)
    assert float(mean_hours_to_loss(bare)) == pytest.approx(2e5 / 8 / 64)


def test_what_is_read_is_what_survives() -> None:
    """A group of eight with a redundancy of two reads six drives: sixfold, not tenfold, of one."""
    group = Protection(
        members=8, redundancy=2, mttf_hours=1e6, rebuild_hours=10.0, replacement_hours=0.0,
        drive_bytes=1e12, bit_error_rate=1e-17,
    )  # fmt: skip
    risk = assess(group, 5.0, media="hdd", usable_tb=6.0, striped=True, strip_tb=2.6e-7)
    assert float(risk.rebuild_unreadable) == pytest.approx(6 * 8e12 * 1e-17, rel=1e-3)


@pytest.mark.parametrize("redundancy", [1, 2])
def test_the_worst_case_is_figure_by_figure_the_worse_of_two(redundancy: int) -> None:
    """All of it at once multiplied what is rare: a worst model that comes in a bad batch too."""
    group = Protection(
        members=6 + redundancy, redundancy=redundancy, mttf_hours=1.2e6, rebuild_hours=20.0,
        replacement_hours=24.0, drive_bytes=8e12, bit_error_rate=1e-16,
    )  # fmt: skip
    risk = assess(
        group, 5.0, media="hdd", usable_tb=48.0, striped=True, strip_tb=2.6e-7,
        rebuild_hours_low=8.0, rebuild_hours_high=90.0,
    )  # fmt: skip
    lives = mttf_range(1.2e6, "hdd")
    # Never scrubbed in five years: one disk in four has a sector that nobody can read.
    slow = replace(group, rebuild_hours=90.0, bit_error_rate=0.25 / 6.4e13)
    model = loss_probability(replace(slow, mttf_hours=lives.worst), 5.0)
    batch = loss_probability(
        replace(slow, mttf_hours=lives.expected, after_failure_factor=10.0), 5.0
    )
    # With one parity an unreadable sector is likelier by the model, the loss of all by the batch.
    assert (model.any_data > batch.any_data) == (redundancy == 1)
    assert model.array < batch.array
    for f in fields(Loss):
        worse = max(float(getattr(model, f.name)), float(getattr(batch, f.name)))
        assert float(getattr(risk.worst, f.name)) == pytest.approx(worse, rel=1e-12), f.name
    assert float(risk.array_high) == float(batch.array) == float(risk.worst.array)
    assert float(risk.loss_high) == float(risk.worst.any_data)
    best = loss_probability(
        replace(group, mttf_hours=lives.best, rebuild_hours=8.0,
                bit_error_rate=0.014 * 15 / 365 / 6.4e13), 5.0,
    )  # fmt: skip
    assert float(risk.array_low) == float(best.array)
    assert float(risk.loss_low) == pytest.approx(float(best.any_data), rel=1e-12)
    # Six drives are read.
    for found, mean in (
        (risk.rebuild_unreadable_low, 6 * 0.014 * 15 / 365),
        (risk.rebuild_unreadable, 6 * 6.4e13 * 1e-16),
        (risk.rebuild_unreadable_high, 6 * 0.25),
    ):
        assert float(found) == pytest.approx(-np.expm1(-mean), rel=1e-6)


def test_no_time_loses_nothing_and_half_a_year_is_asked_like_any() -> None:
    group = Protection(
        members=4, redundancy=1, mttf_hours=1e6, rebuild_hours=10.0, replacement_hours=24.0,
        drive_bytes=1e12, bit_error_rate=1e-15,
    )  # fmt: skip
    rest: dict[str, Any] = {"media": "hdd", "striped": True, "strip_tb": 2.6e-7}
    none, half = (assess(group, years, usable_tb=3.0, **rest) for years in (0.0, 0.5))
    assert none.loss_high == none.array_high == none.tb_lost_high == none.worst.strips == 0
    assert 0 < half.loss_low < half.loss.any_data < half.loss_high < 0.1
    # An array that holds nothing loses nothing, and one that holds half a terabyte less than that.
    assert assess(group, 0.5, usable_tb=0.0, **rest).tb_lost_high == 0
    assert 0 < assess(group, 0.5, usable_tb=0.5, **rest).tb_lost_high < 0.5
    with pytest.raises(ValueError, match="years must be at least 0"):
        assess(group, -0.1, usable_tb=3.0, **rest)
