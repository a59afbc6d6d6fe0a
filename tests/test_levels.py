"""Is the level table what it should be, and does capacity follow from it."""

from collections.abc import Callable
from dataclasses import replace
from itertools import combinations

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from quotelib.build.layout import Array, Layout
from quotelib.levels import LEVELS, array_levels, place
from tests.small_list import price_list

# The level table: common practice, no source. Members, spans, data members, survives any.
TABLE = [
    ("0", 2, 1, 2, 0),
    ("0", 7, 1, 7, 0),
    ("1", 2, 1, 1, 1),
    ("5", 3, 1, 2, 1),
    ("5", 12, 1, 11, 1),
    ("6", 4, 1, 2, 2),
    ("6", 9, 1, 7, 2),
    ("10", 4, 1, 2, 1),
    ("10", 10, 1, 5, 1),
    ("50", 6, 2, 4, 1),
    ("50", 9, 3, 6, 1),
    ("50", 12, 2, 10, 1),
    ("60", 8, 2, 4, 2),
    ("60", 12, 3, 6, 2),
    ("60", 12, 2, 8, 2),
    ("none", 1, 1, 1, 0),
    ("none", 5, 1, 5, 0),
]

# Common practice, no source: what the levels do not take.
NOT_TAKEN = [
    ("0", 1, 1),
    ("0", 4, 2),
    ("1", 1, 1),
    ("1", 3, 1),
    ("1", 4, 2),
    ("5", 2, 1),
    ("5", 6, 2),
    ("6", 3, 1),
    ("10", 2, 1),
    ("10", 5, 1),
    ("10", 8, 2),
    ("50", 6, 1),
    ("50", 5, 2),
    ("50", 7, 2),
    ("50", 6, 3),
    ("60", 6, 2),
    ("60", 9, 2),
    ("60", 8, 1),
    ("none", 4, 2),
]


def groups_of(level: str, members: int, spans: int) -> list[tuple[set[int], int]]:
    """Model an array as groups of members, each with the losses it stands (our own model)."""
    drives = list(range(members))
    if level in {"0", "none"}:
        return [(set(drives), 0)]
    if level in {"1", "10"}:
        return [(set(drives[i : i + 2]), 1) for i in range(0, members, 2)]
    stands = {"5": 1, "6": 2, "50": 1, "60": 2}[level]
    size = members // spans
    return [(set(drives[i : i + size]), stands) for i in range(0, members, size)]


def survives_any(groups: list[tuple[set[int], int]], failures: int) -> bool:
    drives = set().union(*(group for group, _ in groups))
    return all(
        all(len(group & set(lost)) <= stands for group, stands in groups)
        for lost in combinations(sorted(drives), failures)
    )


@pytest.mark.parametrize(("level", "members", "spans", "data", "survives"), TABLE)
def test_level_table(level: str, members: int, spans: int, data: int, survives: int) -> None:
    rule = LEVELS[level]
    assert rule.takes(members, spans)
    assert spans in rule.spans_for(members)
    assert rule.data_members(members, spans) == data
    assert rule.survives == survives


@pytest.mark.parametrize(("level", "members", "spans", "data", "survives"), TABLE)
def test_level_table_against_a_model_of_failures(
    level: str, members: int, spans: int, data: int, survives: int
) -> None:
    groups = groups_of(level, members, spans)
    assert survives_any(groups, survives)
    assert not survives_any(groups, survives + 1)
    assert data == sum(len(group) - stands for group, stands in groups)


@pytest.mark.parametrize(("level", "members", "spans"), NOT_TAKEN)
def test_not_taken(level: str, members: int, spans: int) -> None:
    assert not LEVELS[level].takes(members, spans)
    assert spans not in LEVELS[level].spans_for(members)


@pytest.mark.parametrize("members", [0, -1])
@pytest.mark.parametrize("level", sorted(LEVELS))
def test_no_level_takes_nothing(level: str, members: int) -> None:
    assert LEVELS[level].spans_for(members) == []
    assert not LEVELS[level].takes(members, 0)


def test_order_of_the_table_breaks_ties() -> None:
    assert list(LEVELS) == ["0", "1", "5", "6", "10", "50", "60", "none"]
    assert [place(name) for name in LEVELS] == list(range(8))


@given(st.sampled_from(sorted(LEVELS)), st.integers(1, 60))
def test_spans_for_lists_exactly_what_is_taken(level: str, members: int) -> None:
    rule = LEVELS[level]
    assert rule.spans_for(members) == [s for s in range(1, 61) if rule.takes(members, s)]


@st.composite
def layouts(draw: st.DrawFn) -> Layout:
    """Draw a layout that its level takes."""
    rule = LEVELS[draw(st.sampled_from(sorted(LEVELS)))]
    spans = draw(st.integers(2, 8)) if rule.spanned else 1
    most = rule.max_per_span or 24
    steps = st.integers(rule.min_per_span // rule.multiple, most // rule.multiple)
    members = draw(steps) * rule.multiple * spans
    strip_kib = draw(st.sampled_from([64, 256, 1024]))
    return Layout(rule.name, members, spans, draw(st.integers(0, 3)), strip_kib)


PRICES = price_list()
Size = tuple[int, str, int]


def array(size: Size, layout: Layout) -> Array:
    """Make an array of drives of a capacity and block size on a controller with a reserve."""
    capacity_gb, block_bytes, reserve_mib = size
    cells = {"capacity_gb": capacity_gb, "block_bytes": block_bytes}
    return Array(
        PRICES.drives["DISK-8T"].model_copy(update=cells),
        PRICES.controllers["CARD"].model_copy(update={"reserve_mib": reserve_mib}),
        layout,
    )


sizes = st.tuples(st.integers(1, 30_000), st.sampled_from(["512", "4096"]), st.integers(0, 2048))


@given(layouts())
def test_drawn_layouts_are_taken(layout: Layout) -> None:
    assert layout.rule.takes(layout.members, layout.spans)


@given(layouts(), sizes)
def test_usable_never_exceeds_raw(layout: Layout, size: Size) -> None:
    made = array(size, layout)
    assert 0 <= made.usable_bytes <= layout.members * made.drive_bytes


@given(layouts(), st.integers(1, 6), sizes)
def test_usable_never_falls_when_drives_are_added(layout: Layout, steps: int, size: Size) -> None:
    # Within a level and a number of spans. Across numbers of spans it may well fall: RAID 50
    # over 24 drives in 2 spans keeps 22, over 25 in 5 spans (25 takes no fewer) only 20.
    rule = layout.rule
    assume(rule.max_per_span is None)
    members = layout.members + steps * layout.spans * rule.multiple
    before = array(size, layout)
    after = array(size, replace(layout, members=members))
    assert rule.takes(members, layout.spans)
    assert before.usable_bytes < after.usable_bytes or before.member_bytes == 0


@given(layouts(), sizes)
def test_spares_hold_nothing(layout: Layout, size: Size) -> None:
    bare = replace(layout, spares=0)
    assert array(size, layout).usable_bytes == array(size, bare).usable_bytes


def test_usable_bytes_by_hand() -> None:
    # 8 TB of 4096-byte blocks: 1,953,506,646 x 4096 = 8,001,563,222,016 bytes; less 512 MiB,
    # in whole strips of 256 KiB: 8,001,026,260,992. RAID 6 over 6 keeps 4 of them.
    made = array((8000, "4096", 512), Layout("6", 6, spares=1))
    assert made.usable_bytes == 4 * 8_001_026_260_992


@pytest.mark.parametrize(
    ("layout", "words"),
    [
        (Layout("5", 4), "RAID 5 over 4 drives"),
        (Layout("50", 6, 2, 1), "RAID 50 over 6 drives in 2 spans of 3, 1 hot spare"),
        (Layout("60", 8, 2, 2), "RAID 60 over 8 drives in 2 spans of 4, 2 hot spares"),
        (Layout("none", 1), "1 drive passed through"),
        (Layout("none", 3), "3 drives passed through"),
    ],
)
def test_words(layout: Layout, words: str) -> None:
    assert layout.words == words


@pytest.mark.parametrize("level", array_levels())
@pytest.mark.parametrize("spans", [1, 2, 3])
@pytest.mark.parametrize("members", range(1, 14))
def test_the_members_it_proposes_can_be_used(level: str, members: int, spans: int) -> None:
    rule = LEVELS[level]
    nearest = rule.nearest_members(members, spans)
    assert rule.spans_for(nearest)
    if rule.spanned and spans > 1:
        assert rule.takes(nearest, spans)
    # upwards first, and nothing nearer in that direction
    between = range(members, nearest) if nearest >= members else range(members, members)
    fits: Callable[[int], bool] = (
        (lambda n: rule.takes(n, spans))
        if rule.spanned and spans > 1
        else (lambda n: bool(rule.spans_for(n)))
    )
    assert not any(fits(n) for n in between)


@pytest.mark.parametrize(
    ("level", "words"),
    [
        ("0", "If any one drive fails, data is lost."),
        ("none", "If any one drive fails, data is lost."),
        ("1", "It survives the failure of any one drive."),
        ("5", "It survives the failure of any one drive."),
        ("6", "It survives the failure of any two drives."),
        ("10", "It survives the failure of any one drive. It may survive more, as long as no pair "
         "loses both of its drives."),
        ("50", "It survives the failure of any one drive. It may survive more, as long as no span "
         "loses two drives."),
        ("60", "It survives the failure of any two drives. It may survive more, as long as no "
         "span loses three drives."),
    ],
)  # fmt: skip
def test_what_is_said_of_surviving(level: str, words: str) -> None:
    assert LEVELS[level].survives_words == words
