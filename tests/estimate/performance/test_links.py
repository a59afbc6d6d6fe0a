"""Line rates against published tables, and what card and slot settle on."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from quotelib.estimate.performance.links import (
    NVME_DRIVE_LANES,
    pcie_lane_gb_s,
    pcie_link_mb_s,
    serial_link_mb_s,
)
from tests.estimate.published import Published, rows

COMPUTED = {
    "link.sata.1.5": lambda: serial_link_mb_s(1.5),
    "link.sata.3": lambda: serial_link_mb_s(3),
    "link.sata.6": lambda: serial_link_mb_s(6),
    "link.sas.6": lambda: serial_link_mb_s(6),
    "link.sas.12": lambda: serial_link_mb_s(12),
    "link.sas.12x4": lambda: 4 * serial_link_mb_s(12),
    "link.sas.22.5": lambda: serial_link_mb_s(22.5),
    "link.pcie.1": lambda: pcie_lane_gb_s(1) * 1e3,
    "link.pcie.2": lambda: pcie_lane_gb_s(2) * 1e3,
    "link.pcie.3": lambda: pcie_lane_gb_s(3) * 1e3,
    "link.pcie.4": lambda: pcie_lane_gb_s(4) * 1e3,
    "link.pcie.5": lambda: pcie_lane_gb_s(5) * 1e3,
    "link.pcie.6": lambda: pcie_lane_gb_s(6),
    "link.pcie.4x4": lambda: pcie_link_mb_s(4, NVME_DRIVE_LANES, 5, NVME_DRIVE_LANES),
    "link.pcie.4x8": lambda: pcie_link_mb_s(4, 8, 5, 16),
    "link.pcie.5x16": lambda: pcie_link_mb_s(5, 16, 5, 16),
}


@pytest.mark.parametrize("row", rows("link"), ids=lambda row: row.key)
def test_published_rate(row: Published) -> None:
    assert row.agrees(float(COMPUTED[row.key]())), row


def test_lesser_of_card_and_slot_both_ways() -> None:
    assert pcie_link_mb_s(4, 8, 3, 16) == pcie_link_mb_s(3, 16, 4, 8)
    assert pcie_link_mb_s(4, 8, 3, 16) == pytest.approx(8 * 8e3 / 8 * 128 / 130)
    assert pcie_link_mb_s(3, 16, 5, 4) == pytest.approx(4 * 8e3 / 8 * 128 / 130)


@given(
    card=st.integers(1, 6),
    slot=st.integers(1, 6),
    card_lanes=st.sampled_from([1, 2, 4, 8, 16]),
    slot_lanes=st.sampled_from([1, 2, 4, 8, 16]),
)
def test_link_never_beats_either_end(
    card: int, slot: int, card_lanes: int, slot_lanes: int
) -> None:
    link = float(pcie_link_mb_s(card, card_lanes, slot, slot_lanes))
    own = float(pcie_link_mb_s(card, card_lanes, card, card_lanes))
    theirs = float(pcie_link_mb_s(slot, slot_lanes, slot, slot_lanes))
    assert 0 < link <= min(own, theirs)


def test_blank_stays_unknown_and_arrays_equal_scalars() -> None:
    rates = np.array([[6.0, np.nan], [12.0, 22.5]])
    got = serial_link_mb_s(rates)
    assert got.shape == rates.shape
    assert np.isnan(got[0, 1])
    assert got[1, 1] == serial_link_mb_s(22.5)
    assert np.isnan(pcie_link_mb_s(np.nan, 8, 4, 8))
    assert np.isnan(pcie_link_mb_s(4, 8, 4, np.nan))


def test_one_lane_is_a_link() -> None:
    assert pcie_link_mb_s(1, 1, 1, 1) == 250
    assert pcie_link_mb_s(2, 1, 2, 4) == pcie_link_mb_s(2, 4, 2, 1) == 500


@pytest.mark.parametrize("rate", [0, -6, 24, 5, np.inf])
def test_rates_no_standard_defines_are_refused(rate: float) -> None:
    with pytest.raises(ValueError, match=r"1\.5, 3, 6, 12 and 22\.5"):
        serial_link_mb_s([6, rate])


@pytest.mark.parametrize("generation", [0, 7, 3.5, -1])
def test_generations_not_published_are_refused(generation: float) -> None:
    with pytest.raises(ValueError, match="known are 1 to 6"):
        pcie_lane_gb_s(generation)


@pytest.mark.parametrize("lanes", [0, -4, 2.5])
def test_impossible_lanes_are_refused(lanes: float) -> None:
    with pytest.raises(ValueError, match="lanes of the slot"):
        pcie_link_mb_s(4, 8, 4, lanes)
