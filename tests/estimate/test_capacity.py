"""How many bytes are there: published LBA counts, and the arithmetic from label to usable."""

from collections.abc import Callable
from functools import partial

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quotelib.estimate.capacity import STRIP_KIB, drive_bytes, lba_count, member_bytes
from quotelib.units import GB, KIB, MIB
from tests.estimate.published import Published, rows

COMPUTED: dict[str, Callable[[], float]] = {
    row.key: partial(lba_count, *map(int, row.key.split(".")[1:])) for row in rows("blocks")
}


@pytest.mark.parametrize("row", rows("blocks"), ids=lambda row: row.key)
def test_published_lba_counts(row: Published) -> None:
    capacity_gb, block = map(int, row.key.split(".")[1:])
    assert lba_count(capacity_gb, block) == row.value, row
    assert drive_bytes(capacity_gb, block) == row.value * block


@given(st.integers(1, 60_000))
def test_both_block_sizes_hold_the_same_bytes(capacity_gb: int) -> None:
    # Follows from the standard: its 4096-byte figures are an eighth of the 512-byte ones.
    assert drive_bytes(capacity_gb, 512) == drive_bytes(capacity_gb, 4096)


@given(st.integers(1, 60_000))
def test_never_less_than_advertised(capacity_gb: int) -> None:
    assert drive_bytes(capacity_gb, 512) >= capacity_gb * GB


@pytest.mark.parametrize(("capacity_gb", "block"), [(0, 512), (-1, 4096), (100, 520), (100, 0)])
def test_refuses_what_the_standard_does_not_cover(capacity_gb: int, block: int) -> None:
    with pytest.raises(ValueError, match="must be"):
        lba_count(capacity_gb, block)


def test_member_bytes_by_hand() -> None:
    # 8 TB, 512-byte blocks: 15,628,053,168 x 512 = 8,001,563,222,016
    # less 512 MiB (536,870,912):               8,001,026,351,104
    # over 256 KiB (262,144): 30,521,493.34..., so 30,521,493 strips: 8,001,026,260,992
    assert member_bytes(8_001_563_222_016, 512, 256) == 8_001_026_260_992


def test_a_strip_is_of_256_kib() -> None:
    assert STRIP_KIB == 256


def test_a_reserve_larger_than_the_drive_leaves_nothing() -> None:
    assert member_bytes(MIB, 2, 256) == 0


@given(
    st.integers(0, 10**14),
    st.integers(0, 4096),
    st.sampled_from([16, 64, 256, 1024]),
)
def test_whole_strips_and_never_more_than_there_is(
    smallest: int, reserve_mib: int, strip_kib: int
) -> None:
    member = member_bytes(smallest, reserve_mib, strip_kib)
    assert member % (strip_kib * KIB) == 0
    assert 0 <= member <= max(0, smallest - reserve_mib * MIB)
    # what is left over does not fill another strip
    assert max(0, smallest - reserve_mib * MIB) - member < strip_kib * KIB
