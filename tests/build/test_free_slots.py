"""Which slots stay free, and do they meet what was asked: against every way to take them."""

import random
from itertools import permutations

import pytest
from pydantic_core import PydanticCustomError

from quotelib.build.layout import Layout
from quotelib.build.slots import free_slots, stay_free
from quotelib.catalogue.free_slots import SlotsWanted, slots_wanted
from quotelib.catalogue.parts import Slot
from tests.small_list import OPTIONS, TABLES, build, copy, price_list


def slot(number: int, height: str, lanes: int, length: int | None = None) -> Slot:
    facts = {"chassis_sku": "CHS", "slot": number, "gen": 4, "height": height, "lanes": lanes}
    return Slot.model_validate({**facts, "connector_lanes": length})


@pytest.mark.parametrize(
    ("cell", "wanted"),
    [
        ("2", (SlotsWanted(2),)),
        ("0", (SlotsWanted(0),)),
        ("1:full", (SlotsWanted(1, "full"),)),
        ("1:full:16;1", (SlotsWanted(1, "full", 16), SlotsWanted(1))),
        (" 2 : low : 8 ; 1 ", (SlotsWanted(2, "low", 8), SlotsWanted(1))),
    ],
)
def test_a_cell_is_read(cell: str, wanted: tuple[SlotsWanted, ...]) -> None:
    assert slots_wanted(cell) == wanted


@pytest.mark.parametrize(
    ("cell", "why"),
    [
        ("", "is blank"),
        ("1;", "is blank"),
        ("one", "is not a number"),
        ("-1", "is negative"),
        ("1.5", "is not a whole number"),
        ("1:tall", "is not known"),
        ("1:full:12", "is not a lane count"),
        ("1:full:16:4", "has more than three parts in one item"),
        ("1::8", "is blank"),
    ],
)
def test_a_cell_is_refused(cell: str, why: str) -> None:
    with pytest.raises(PydanticCustomError) as caught:
        slots_wanted(cell)
    assert caught.value.context is not None
    assert caught.value.context["why"] == why
    assert caught.value.context["right"]


def by_trying(slots: tuple[Slot, ...], wanted: tuple[SlotsWanted, ...]) -> bool:
    each = [want for want in wanted for _ in range(want.count)]
    return any(
        all(
            (s.height == "full" or want.height == "low")
            and (s.lanes if s.connector_lanes is None else s.connector_lanes) >= want.lanes
            for s, want in zip(chosen, each, strict=True)
        )
        for chosen in permutations(slots, len(each))
    )


def test_against_every_way_to_take_the_slots() -> None:
    rng = random.Random(5)
    met = 0
    for _ in range(3000):
        slots = tuple(
            slot(n, rng.choice(["low", "full"]), rng.choice([4, 8, 16]), rng.choice([None, 8, 16]))
            for n in range(rng.randint(0, 6))
        )
        wanted = tuple(
            SlotsWanted(rng.randint(0, 2), rng.choice(["low", "full"]), rng.choice([0, 0, 8, 16]))
            for _ in range(rng.randint(1, 3))
        )
        expected = by_trying(slots, wanted)
        assert stay_free(slots, wanted) == expected, (slots, wanted)
        met += expected
    assert 500 < met < 2500


def test_what_a_build_leaves_free() -> None:
    prices = price_list(copy({**TABLES, "options.csv": OPTIONS}))
    bare = build(prices, "BOX-12 MEZZ DISK-8T", Layout("5", 3))
    assert [s.slot for s in free_slots(bare)] == [1, 2]
    taken = build(prices, "BOX-12 CARD DISK-8T", Layout("5", 3))
    assert [s.slot for s in free_slots(taken)] == [1]
    assert stay_free(free_slots(taken), slots_wanted("1:full:8"))
    assert not stay_free(free_slots(taken), slots_wanted("1:full:8;1"))
    full = build(prices, "BOX-12 CARD DISK-8T", Layout("5", 3), options="BOOT-CARD")
    assert free_slots(full) == ()
