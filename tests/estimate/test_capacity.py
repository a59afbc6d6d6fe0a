"""How many bytes are there: published LBA counts, and the arithmetic from label to usable."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quotelib.estimate.capacity import drive_bytes, lba_count, member_bytes
from quotelib.units import GB, KIB, MIB

# SFF-8447 (LBA Count for Disk Drives) and IDEMA LBA1-03. "seen": the value stands in the
# source, or drives of that size were seen to report it in published kernel and tool logs;
# "re-derived": worked out from the formula in the comment.
PUBLISHED = [
    # 512-byte blocks, up to 8000 GB: 97,696,368 + 1,953,504 x (GB - 50)
    (50, 512, 97_696_368, "re-derived: the formula's own base"),
    (80, 512, 156_301_488, "seen: worked example in LBA1-02"),
    (960, 512, 1_875_385_008, "seen: reported by drives of several makers"),
    (2000, 512, 3_907_029_168, "seen: reported by drives of several makers"),
    (4000, 512, 7_814_037_168, "seen: reported by drives of several makers"),
    (6000, 512, 11_721_045_168, "seen: reported by drives of several makers"),
    (8000, 512, 15_628_053_168, "seen: reported by drives of several makers"),
    # above: capacity over block size, rounded up to a multiple of 2^21
    (10_000, 512, 19_532_873_728, "seen: reported by drives of several makers"),
    (16_000, 512, 31_251_759_104, "seen: reported by drives of several makers"),
    # 20e12 / 512 / 2^21 = 18626.45..., 18627 x 2^21 = 39,063,650,304
    (20_000, 512, 39_063_650_304, "re-derived"),
    # 4096-byte blocks, up to 8000 GB: 12,212,046 + 244,188 x (GB - 50)
    (50, 4096, 12_212_046, "re-derived: 97,696,368 / 8"),
    # 12,212,046 + 244,188 x 1750 = 439,541,046
    (1800, 4096, 439_541_046, "re-derived"),
    (4000, 4096, 976_754_646, "seen: reported by a drive"),
    (6000, 4096, 1_465_130_646, "seen: reported by drives"),
    (8000, 4096, 1_953_506_646, "seen: reported by drives"),
    # above: rounded up to a multiple of 2^18
    (10_000, 4096, 2_441_609_216, "seen: reported by drives"),
    # 31,251,759,104 / 8
    (16_000, 4096, 3_906_469_888, "re-derived"),
]


@pytest.mark.parametrize(("capacity_gb", "block", "blocks", "status"), PUBLISHED)
def test_published_lba_counts(capacity_gb: int, block: int, blocks: int, status: str) -> None:
    assert lba_count(capacity_gb, block) == blocks, status
    assert drive_bytes(capacity_gb, block) == blocks * block


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
