"""Which card goes into which slot: against every assignment there is, on random chassis."""

import random
import time
from itertools import permutations

import pytest

from quotelib.build import fit, slots
from quotelib.build.layout import Layout
from quotelib.build.placement import place
from quotelib.build.slots import assign
from quotelib.catalogue.parts import Card, Slot
from tests.small_list import OPTIONS, TABLES, build, change, copy, price_list


def slot(number: int, **cells: object) -> Slot:
    facts = {"chassis_sku": "CHS", "slot": number, "gen": 4, "lanes": 8, "height": "low"}
    return Slot.model_validate({**facts, **cells})


def random_slots(rng: random.Random) -> tuple[Slot, ...]:
    return tuple(
        slot(
            number,
            gen=rng.choice([2, 3, 3, 4, 5, 7]),
            lanes=rng.choice([4, 8, 8, 16]),
            height=rng.choice(["low", "full"]),
            connector_lanes=rng.choice([None, None, 16, 16, 8]),
            needs_processors=rng.choice([None, 1, 1, 2]),
        )
        for number in rng.sample(range(1, 9), rng.randint(0, 6))
    )


def random_card(rng: random.Random) -> Card:
    heights = rng.choice([("low",), ("full",), ("low", "full"), ("low", "full")])
    lanes = rng.choice([None, 4, 8, 8, 16])
    return Card(
        heights, rng.choice([None, 3, 3, 4, 5]), lanes, rng.choice([None, lanes, lanes, 16])
    )


def fits(card: Card, there: Slot, processors: int) -> bool:
    too_long = (card.connector_lanes or 0) > (there.connector_lanes or 99)
    dead = processors > 0 and there.needs_processors > processors
    return there.height in card.brackets and not too_long and not dead


def badness(cards: tuple[Card, ...], chosen: tuple[Slot, ...]) -> tuple[object, ...]:
    """Weigh an assignment as the rule reads: sums over the cards, first to last."""
    pairs = list(zip(cards, chosen, strict=True))
    return (
        sum(c.lanes - min(c.lanes, s.lanes) for c, s in pairs if c.lanes),
        sum(c.gen - min(c.gen, s.gen) for c, s in pairs if c.gen),
        sum(s.height == "full" for s in chosen),
        sum(s.lanes for s in chosen),
        [s.slot for s in chosen],
    )


@pytest.mark.parametrize("few", [500, 0], ids=["tried one by one", "by scipy"])
def test_the_assignment_is_the_one_on_2000_random_chassis(
    few: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(slots, "_FEW", few)
    rng = random.Random(20_261_128)
    seen = {"alone": 0, "shared": 0, "none": 0, "lost": 0, "dead": 0}
    for _ in range(2000):
        there = random_slots(rng)
        cards = tuple(random_card(rng) for _ in range(rng.randint(1, 4)))
        processors = rng.randint(0, 2)
        possible = [
            chosen
            for chosen in permutations(there, len(cards))
            if all(fits(c, s, processors) for c, s in zip(cards, chosen, strict=True))
        ]
        best = min(possible, key=lambda chosen: badness(cards, chosen), default=None)
        assert assign.__wrapped__(there, cards, processors) == best, (there, cards)
        seen["none"] += best is None
        seen["dead"] += processors == 1 and any(s.needs_processors > 1 for s in there)
        if best:
            seen["shared" if len(cards) > 1 else "alone"] += 1
            seen["lost"] += badness(cards, best)[:2] != (0, 0)
    # The sample is worth something only if it reaches every branch often.
    assert min(seen.values()) > 200, seen


def test_a_hundred_cards_in_a_hundred_slots() -> None:
    # By hand: those of 16 lanes need the slots of 16, in rising order; the others take the rest.
    numbers = random.Random(3).sample(range(1, 201), 100)
    there = tuple(slot(n, lanes=8 if n % 2 else 16) for n in numbers)
    wide = [n for n in sorted(numbers) if n % 2 == 0]
    cards = [Card(("low", "full"), 4, 16)] * len(wide)
    cards += [Card(("low",), 4, 8)] * (len(numbers) - len(wide))
    expected = wide + [n for n in sorted(numbers) if n % 2]
    start = time.process_time()
    found = assign(there, tuple(cards))
    assert time.process_time() - start < 10
    assert found is not None
    assert [s.slot for s in found] == expected
    assert assign(there, (*cards, cards[0])) is None


@pytest.mark.parametrize(
    ("lanes", "expected"),
    [
        # Alone, either card would take slot 2. Together no card of 8 lanes goes into slot 1.
        ((4, 8), (1, 2)),
        ((8, 4), (2, 1)),
        # Alike in all: in their order.
        ((4, 4), (1, 2)),
        ((8, 8), (1, 2)),
    ],
)
def test_two_cards_share(lanes: tuple[int, int], expected: tuple[int, int]) -> None:
    there = (slot(1, lanes=4), slot(2, lanes=8))
    found = assign(there, tuple(Card(("low",), 4, n) for n in lanes))
    assert found is not None
    assert tuple(s.slot for s in found) == expected


def test_what_keeps_a_card_out_is_said() -> None:
    tables = copy({**TABLES, "options.csv": OPTIONS})
    change(tables, "CARD", connector_lanes="16")
    tables["slots.csv"] = [
        {**row, "connector_lanes": length, "needs_processors": needs}
        for row, length, needs in zip(
            tables["slots.csv"], ("8", "8", "16", "16"), ("1", "1", "2", "1"), strict=True
        )
    ]
    prices = price_list(tables)
    names = "BOX-12 CARD DISK-8T"
    # Nobody said how many processors there are: slot 2, which is long enough, will do.
    seated = place(build(prices, names, Layout("5", 3))).seats[0]
    assert (seated.number, seated.why.partition(" Its ")[0]) == (
        2,
        "Slot 2 is the only low-profile slot, and the card fits no other.",
    )
    (found,) = fit.stops(build(prices, names, Layout("5", 3), options="CPU-8"))
    assert found.code == "no_slot"
    assert "no slot of BOX-12 takes CARD: slot 1 is 8 lanes long, the card 16" in found.what
    assert "slot 2 needs 2 processors" in found.what
    assert not fit.stops(build(prices, names, Layout("5", 3), options="CPU-8 CPU-8"))


def test_why_of_several_cards() -> None:
    prices = price_list(copy({**TABLES, "options.csv": OPTIONS}))
    made = build(prices, "BOX-12 CARD DISK-8T", Layout("5", 3), options="BOOT-CARD")
    card, boot = place(made).seats
    # BOX-12: slot 1 full of 8 lanes, slot 2 low of 16. The boot card has a low bracket only.
    assert (card.number, boot.number) == (1, 2)
    assert card.why.startswith("Slot 1 gives it all its own lanes and generation: the 2 cards lose")


@pytest.mark.parametrize(
    ("cells", "words"),
    [
        ({}, "Slots 1 and 2 give the card all its own lanes and generation: slot 2 is the most"),
        ({"host_lanes": "16"}, "Of slots 1 and 2, which take the card, slot 2 gives it most: all"),
        ({"host_lanes": "16", "host_gen": "5"}, "most: generation 4 where its own is 5."),
        ({"host_gen": ""}, "Slots 1 and 2 give the card all that is known of its own link: slot 2"),
        ({"brackets": "full"}, "Slot 1 is the only full-height slot, and the card fits no other."),
    ],
)
def test_why_of_one_card(cells: dict[str, str], words: str) -> None:
    made = build(price_list(change(copy(), "CARD", **cells)), "BOX-12 CARD DISK-8T", Layout("5", 3))
    assert words in place(made).seats[0].why


def test_a_slot_with_fewer_lanes_than_the_card() -> None:
    tables = change(copy(), "CARD", host_lanes="16", host_gen="4")
    for row in tables["slots.csv"]:
        if row["chassis_sku"] == "BOX-12":
            row.update(lanes="4" if row["slot"] == "1" else "8", gen="3")
    made = build(price_list(tables), "BOX-12 CARD DISK-8T", Layout("5", 3))
    assert "gives it most: 8 of its 16 lanes and generation 3 where its own is 4." in (
        place(made).seats[0].why
    )
