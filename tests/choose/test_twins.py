"""The same controller as mezzanine and as card, and what keeping the slot free costs."""

import dataclasses
from decimal import Decimal

import pytest

from quotelib.catalogue.price_list import PriceList
from quotelib.choose.search import choose
from quotelib.choose.twins import find_twins, only_slot_used, twins
from tests.asking import ask

FIXED = {"drive": "DRV-HDD-1200-SAS-10K", "members": "5", "level": "5"}


def test_twins_of_the_starter_list(starter: PriceList) -> None:
    found = {sku: [t.sku for t in twins(starter, c)] for sku, c in starter.controllers.items()}
    assert {sku: other for sku, other in found.items() if other} == {
        f"CTL-{name}-12G-{one}": [f"CTL-{name}-12G-{two}"]
        for name in ("PT", "RE", "RB2", "RF8")
        for one, two in (("MZ", "CD"), ("CD", "MZ"))
    }


@pytest.mark.parametrize(
    "change",
    [
        {"kind": "pass_through", "levels": ()},
        {"levels": ("0", "1")},
        {"cache_mib": 4096},
        {"cache_protection": "flash"},
        {"sata_gbit_s": "3"},
        {"sas_gbit_s": "22.5"},
        {"nvme_gen": 4},
        {"max_drives": 8},
        {"ports": 4},
        {"condition": "refurbished"},
        {"mounting": "card"},
    ],
)
def test_what_differs_is_no_twin(starter: PriceList, change: dict[str, object]) -> None:
    card = starter.controllers["CTL-RB2-12G-CD"]
    other = starter.controllers["CTL-RB2-12G-MZ"]
    assert twins(starter, card) == (other,)
    changed = other.model_copy(update=change)
    price_list = dataclasses.replace(
        starter, controllers={card.sku: card, changed.sku: changed}, fingerprint="changed"
    )
    assert twins(price_list, card) == ()


@pytest.mark.parametrize(
    ("controller", "difference"),
    [
        # 228 + 36 against 246 + 46 + 8.50 for the bracket; freight 16.50 + 1.15 x 17.26 kg =
        # 36.35 against 16.50 + 1.15 x 17.37 kg = 36.48.
        ("CTL-RE-12G-CD", "-36.63"),
        ("CTL-RE-12G-MZ", "-36.63"),
        # 748 + 36 against 712 + 46 + 8.50; freight 36.57 against 36.69.
        ("CTL-RF8-12G-CD", "17.38"),
    ],
)
def test_what_keeping_the_slot_free_costs(
    starter: PriceList, controller: str, difference: str
) -> None:
    enquiry = ask(starter, chassis="CHS-1U-10S", controller=controller, **FIXED)
    best = choose(starter, enquiry).best
    assert best is not None
    (twin,) = find_twins(starter, enquiry, best.build)
    assert twin.difference == Decimal(difference)
    assert twin.candidate is not None
    assert twin.candidate.build.chassis.sku == "CHS-1U-10S"
    assert [c.sku for _, c in twin.candidate.build.controllers()] == [twin.other.sku]


def test_keeping_the_slot_free_may_take_another_chassis(starter: PriceList) -> None:
    cells = {"controller": "CTL-RB2-12G-CD", "drive": "DRV-HDD-8T-SAS", "members": "6"}
    enquiry = ask(starter, level="6", **cells)
    best = choose(starter, enquiry).best
    assert best is not None
    assert best.build.chassis.sku == "CHS-2U-8L"  # which has no socket
    (twin,) = find_twins(starter, enquiry, best.build)
    assert twin.candidate is not None
    assert twin.candidate.build.chassis.sku == "CHS-2U-12L"
    assert twin.difference is not None
    assert twin.difference > 0
    pinned = ask(starter, level="6", chassis="CHS-2U-8L", **cells)
    (twin,) = find_twins(starter, pinned, best.build)
    assert (twin.candidate, twin.difference) == (None, None)
    assert "mezzanine socket" in twin.refused[0].words


def test_no_twin_nothing_to_say(starter: PriceList) -> None:
    enquiry = ask(starter, chassis="CHS-2U-12L", controller="CTL-RU1-12G-CD", usable_tb="10")
    best = choose(starter, enquiry).best
    assert best is not None
    assert list(find_twins(starter, enquiry, best.build)) == []
    assert list(only_slot_used(starter, best.build)) == []


@pytest.mark.parametrize(
    ("chassis", "controller", "noted"),
    [
        ("CHS-1U-10S", "CTL-RB2-12G-CD", True),
        ("CHS-1U-10S", "CTL-RB2-12G-MZ", False),
        ("CHS-1U-10S", "CTL-RF8-22G-CD", False),  # no mezzanine version is sold
        ("CHS-2U-24S", "CTL-RB2-12G-CD", False),  # other slots are left
    ],
)
def test_only_slot_used(starter: PriceList, chassis: str, controller: str, noted: bool) -> None:
    best = choose(starter, ask(starter, chassis=chassis, controller=controller, **FIXED)).best
    assert best is not None
    found = list(only_slot_used(starter, best.build))
    assert len(found) == noted
    for note in found:
        assert (note.code, note.severity) == ("only_slot_used", "note")
        assert "CTL-RB2-12G-MZ" in note.words


def test_only_slot_used_is_silent_where_there_is_no_socket(starter: PriceList) -> None:
    enquiry = ask(
        starter,
        chassis="CHS-1U-4L",
        controller="CTL-RB2-12G-CD",
        drive="DRV-HDD-4T-SATA",
        members="4",
        level="6",
    )
    best = choose(starter, enquiry).best
    assert best is not None
    assert list(only_slot_used(starter, best.build)) == []
