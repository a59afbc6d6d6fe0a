"""Arrays that are there already: whose a controller reads, what grows, what can be replaced."""

from dataclasses import replace
from typing import Any

import pytest

from quotelib.build import advice, fit
from quotelib.build.actions import sectors_joined
from quotelib.build.build import Build, Placed, assemble
from quotelib.build.layout import ALL_OF_THEM, Array, Layout
from quotelib.build.placement import place
from quotelib.catalogue.parts import Accessory
from quotelib.catalogue.price_list import PriceList
from quotelib.promise.upgrade import upgrade_words
from quotelib.text import size
from tests.small_list import copy, price_list


def listed() -> PriceList:
    """Give the small list with families, imports and levels that grow."""
    mine = copy()
    says = {
        "CARD": {"family": "Ash", "imports": "Ash;Elm", "grows": "0;5;6;10;50"},
        "BARE": {"family": "Elm", "imports": "Elm", "grows": ""},
        "MEZZ": {"family": "", "imports": "", "grows": "5"},
    }
    for row in mine["controllers.csv"]:
        row |= {"family": "", "imports": "", "grows": "", **says.get(row["sku"], {})}
    return price_list(mine)


PRICES = listed()


def there(
    layout: Layout,
    action: str,
    have: int = ALL_OF_THEM,
    *,
    controller: str = "CARD",
    before: str = "",
    drive: str = "DISK-8T",
    drive_before: str = "",
    owned: bool = False,
) -> Build:
    """Make a build in the customer's chassis whose array is there already."""
    parts: dict[str, Any] = {
        "controller_before": PRICES.controllers.get(before),
        "drive_before": PRICES.drives.get(drive_before),
    }
    own = PRICES.controllers[controller]
    array = Array(PRICES.drives[drive], own, layout, have, action, **parts)  # type: ignore[arg-type]
    return assemble(PRICES, PRICES.chassis["BOX-12"], True, (Placed(own, owned=owned),), (array,))


def codes(build: Build) -> list[str]:
    """Name everything that stops a build or speaks against it."""
    found = [*fit.stops(build), *advice.advice(build, PRICES.terms.advice)]
    return [one.code for one in found]


@pytest.mark.parametrize(
    ("controller", "before", "owned", "expected"),
    [
        ("CARD", "BARE", False, []),  # Ash reads Elm
        ("CARD", "CARD", False, []),
        ("BARE", "CARD", False, ["no_import"]),  # Elm does not read Ash
        ("CARD", "MEZZ", False, ["no_import"]),  # of no known family
        ("MEZZ", "CARD", False, ["no_import"]),
        ("CARD", "", False, ["controller_unknown"]),
        ("CARD", "", True, []),  # nothing changes
        ("BARE", "BARE", True, []),
        ("MEZZ", "MEZZ", True, []),
        ("BARE", "CARD", True, ["no_import"]),  # theirs, but not the one that made it
    ],
)
@pytest.mark.parametrize("action", ["keep", "grow", "replace"])
def test_whose_arrays_a_controller_reads(
    controller: str, before: str, owned: bool, expected: list[str], action: str
) -> None:
    made = there(Layout("5", 4), action, 3, controller=controller, before=before, owned=owned)
    about = {"no_import", "controller_unknown"}
    assert [code for code in codes(made) if code in about] == expected


@pytest.mark.parametrize(
    ("before", "owned", "fitted"),
    [("CARD", True, False), ("", True, False), ("BARE", True, True), ("CARD", False, True)],
)
def test_a_controller_that_takes_an_array_over_is_fitted(
    before: str, owned: bool, fitted: bool
) -> None:
    made = there(Layout("5", 4), "keep", controller="CARD", before=before, owned=owned)
    assert made.is_fitted(made.parts[0]) is fitted
    says = " ".join(upgrade_words(made, 1))
    assert ("CARD comes" in says) is fitted
    assert ("CARD goes on as it is" in says) is not fitted


@pytest.mark.parametrize(("have", "stops"), [(4, True), (5, True), (3, False)])
def test_a_bought_spare_takes_no_members_place(have: int, stops: bool) -> None:
    made = there(Layout("5", 4, spares=2), "replace", have)
    assert ("cannot_replace" in codes(made)) is stops


def test_drives_passed_through_are_read_by_anything() -> None:
    assert "no_import" not in codes(there(Layout("none", 4), "keep", controller="THROUGH"))
    assert "controller_unknown" not in codes(there(Layout("none", 4), "keep", controller="THROUGH"))


def test_a_new_array_needs_no_import() -> None:
    assert codes(there(Layout("5", 4), "new", 0)) == []


@pytest.mark.parametrize(
    ("layout", "have", "controller", "words"),
    [
        (Layout("5", 8), 4, "CARD", ""),
        (Layout("6", 5), 4, "CARD", ""),
        (Layout("10", 8), 4, "CARD", ""),
        (Layout("50", 9, 3), 6, "CARD", ""),  # a span more
        (Layout("50", 8, 2), 6, "CARD", ""),  # one more to each span
        (Layout("50", 12, 2), 6, "CARD", ""),  # three more to each: six are two spans of three
        (Layout("50", 12, 3), 6, "CARD", "do not grow to 12"),  # a span more, and more to each
        (Layout("60", 8, 2), 4, "CARD", "do not grow to 8"),  # one span is no RAID 60
        (Layout("50", 10, 2), 7, "CARD", "do not grow to 10"),
        (Layout("60", 10, 2), 8, "CARD", "grows RAID 0, RAID 5, RAID 6, RAID 10 and RAID 50 only"),
        (Layout("6", 8), 4, "MEZZ", "grows RAID 5 only"),
        (Layout("5", 8), 4, "BARE", "is not known to grow any array"),
        (Layout("5", 8), 2, "CARD", "takes 3 or more members, and 2 members now"),
        (Layout("10", 8), 5, "CARD", "an even number, and 5 members now"),
        (Layout("5", 8), 8, "CARD", "has its 8 members already"),
        (Layout("none", 8), 4, "THROUGH", "no array that grows"),
    ],
)
def test_what_grows(layout: Layout, have: int, controller: str, words: str) -> None:
    made = there(layout, "grow", have, controller=controller, owned=True)
    found = [f.words for f in fit.stops(made) if f.code == "cannot_grow"]
    assert bool(found) == bool(words), found
    assert all(words in said for said in found)


@pytest.mark.parametrize(
    ("layout", "have", "words"),
    [
        (Layout("5", 4), 0, ""),
        (Layout("1", 2), 1, ""),
        (Layout("10", 4), 3, ""),
        (Layout("0", 4), 0, "RAID 0 survives no missing drive"),
        (Layout("5", 4), 4, "all 4 drives stay"),
    ],
)
def test_what_can_be_replaced(layout: Layout, have: int, words: str) -> None:
    found = [f.words for f in fit.stops(there(layout, "replace", have, owned=True))]
    assert bool(found) == bool(words), found
    assert all(words in said for said in found)


@pytest.mark.parametrize(
    ("drive", "before", "words"),
    [
        ("DISK-8T", "DISK-8T", []),
        ("DISK-4T", "DISK-8T", ["sata, not sas", "blocks of 512 bytes, not 4096", "too small"]),
        ("DISK-8T", "DISK-4T", ["sas, not sata", "blocks of 4096 bytes, not 512"]),
        (
            "FLASH-1T",
            "DISK-4T",
            ["flash, not a disk", "too small"],
        ),
    ],
)
@pytest.mark.parametrize("action", ["grow", "replace"])
def test_drives_that_do_not_go_together(
    drive: str, before: str, words: list[str], action: str
) -> None:
    made = there(Layout("5", 6), action, 3, drive=drive, drive_before=before, owned=True)
    found = [f.what for f in fit.stops(made) if f.code == "drive_mismatch"]
    assert bool(found) == bool(words), found
    for word in words:
        assert word in found[0]


def test_the_smaller_kind_says_what_a_member_holds() -> None:
    mixed = there(Layout("5", 6), "grow", 3, drive="DISK-8T", drive_before="DISK-4T").arrays[0]
    small = there(Layout("5", 6), "grow", 3, drive="DISK-4T").arrays[0]
    large = there(Layout("5", 6), "grow", 3).arrays[0]
    assert mixed.usable_bytes == small.usable_bytes < large.usable_bytes
    none_left = replace(mixed, action="replace", their_drives=0)
    assert none_left.usable_bytes == large.usable_bytes


def bays(build: Build) -> list[str]:
    """Write each bay: array, span, whose; ``-`` where it is empty."""
    return [
        "-" if b.array is None else f"{b.array}{b.span or b.use[0]}{'t' if b.owned else 'o'}"
        for b in place(build).bays
    ]


def test_bought_members_go_behind_those_that_are_there() -> None:
    made = there(Layout("5", 8), "grow", 4, owned=True)
    assert bays(made) == ["01t"] * 4 + ["01o"] * 4 + ["-"] * 4


def test_old_drives_of_a_later_array_keep_their_bays_too() -> None:
    first = there(Layout("5", 6), "grow", 3, owned=True)
    second = replace(first.arrays[0], layout=Layout("1", 2), action="keep", their_drives=2)
    made = replace(first, arrays=(*first.arrays, second))
    assert bays(made) == ["01t"] * 3 + ["11t"] * 2 + ["01o"] * 3 + ["-"] * 4


@pytest.mark.parametrize(
    ("layout", "have", "expected"),
    [
        (Layout("50", 9, 3), 6, "01t 01t 01t 02t 02t 02t 03o 03o 03o"),
        (Layout("50", 8, 2), 6, "01t 01t 01t 02t 02t 02t 01o 02o"),
        (Layout("50", 12, 2), 6, "01t 01t 01t 02t 02t 02t 01o 01o 01o 02o 02o 02o"),
    ],
)
def test_old_members_stay_in_their_span(layout: Layout, have: int, expected: str) -> None:
    assert bays(there(layout, "grow", have, owned=True))[: layout.members] == expected.split()


def test_a_drive_that_replaces_another_takes_its_bay() -> None:
    first = there(Layout("5", 4), "replace", 1, owned=True)
    second = replace(first.arrays[0], layout=Layout("1", 2), action="keep", their_drives=2)
    third = replace(first.arrays[0], layout=Layout("5", 4), action="grow", their_drives=3)
    made = replace(first, arrays=(*first.arrays, second, third))
    assert bays(made)[:10] == ["01t"] + ["01o"] * 3 + ["11t"] * 2 + ["21t"] * 3 + ["21o"]


def accessories(build: Build) -> dict[str, int]:
    """Count the accessories of a build."""
    return {p.part.sku: p.count for p in build.pieces() if isinstance(p.part, Accessory)}


@pytest.mark.parametrize(
    ("action", "have", "adapters"), [("new", 2, 6), ("grow", 4, 2), ("replace", 1, 5)]
)
def test_adapters_come_for_drives_that_are_put_in(action: str, have: int, adapters: int) -> None:
    made = there(Layout("5", 6), action, have, drive="FLASH-1T", owned=True)
    assert accessories(made)["ADAPTER"] == adapters
    kept = there(Layout("5", 6), "keep", drive="FLASH-1T", owned=True)
    assert "ADAPTER" not in accessories(kept)


def test_drives_in_their_bays_need_no_adapter_that_is_sold() -> None:
    tables = copy()
    tables["accessories.csv"] = [r for r in tables["accessories.csv"] if r["sku"] != "ADAPTER"]
    bare = price_list(tables)
    kept = there(Layout("5", 6), "keep", drive="FLASH-1T", owned=True)
    grown = there(Layout("5", 6), "grow", 4, drive="FLASH-1T", owned=True)
    for made, expected in ((kept, []), (grown, ["bay_width"])):
        again = assemble(bare, made.chassis, True, made.parts, made.arrays)
        assert [f.code for f in fit.stops(again) if f.code == "bay_width"] == expected


def test_drives_that_stay_are_in_the_build_with_an_accessory() -> None:
    tables = copy()
    for row in tables["accessories.csv"]:
        row["with"] = "DISK-4T" if row["sku"] == "CABLE" else ""
    prices = price_list(tables)
    for action, have, number in (("grow", 3, 1), ("replace", 1, 1), ("replace", 0, 0)):
        made = there(Layout("5", 6), action, have, drive_before="DISK-4T")
        again = assemble(prices, made.chassis, True, made.parts, made.arrays)
        assert accessories(again).get("CABLE", 0) == number


def test_a_spare_goes_into_the_last_bay() -> None:
    made = there(Layout("5", 6, spares=1), "grow", 4, owned=True)
    assert bays(made)[-1] == "0so"


def test_how_long_the_data_of_an_array_that_does_not_grow_is_under_way() -> None:
    """Two spans of three hold four members' worth of data, not five."""
    made = there(Layout("50", 9, 3), "grow", 6, controller="MEZZ")
    (found,) = (f for f in fit.stops(made) if f.code == "cannot_grow")
    member = made.arrays[0].member_bytes
    assert made.arrays[0].spans_before == 2
    assert f"back up the {size(4 * member)} it holds at most" in found.change
    # At 10 and 1 Gbit/s, 1460 of 1538 bytes of each frame.
    least, most = (4 * member / (gbit * 125e6 * 1460 / 1538) / 3600 for gbit in (10, 1))
    assert f"({least:.1f} to {most:.0f} h" in found.change


def test_what_is_made_and_what_stays() -> None:
    """Of one array that is made, one that grows and both; nothing of a server without any."""
    grown = there(Layout("5", 6), "grow", 4)
    made = replace(grown, arrays=(replace(grown.arrays[0], action="new"),))
    both = replace(grown, arrays=(*made.arrays, *grown.arrays))
    every = (made, grown, both, replace(grown, arrays=()))
    told = [(one.makes_arrays, one.keeps_arrays, one.only_keeps_arrays) for one in every]
    assert told == [
        (True, False, False),
        (False, True, True),
        (True, True, False),
        (False, False, False),
    ]


def test_drives_of_one_kind_join_no_sectors() -> None:
    grown = there(Layout("5", 6), "grow", 4)
    assert grown.arrays[0].drive_before is None
    assert list(sectors_joined(grown)) == []
    (array,) = grown.arrays
    old, new = (
        array.drive.model_copy(update={"physical_block_bytes": size}) for size in ("512", "4096")
    )
    joined = replace(array, drive=new, drive_before=old)
    assert [f.code for f in sectors_joined(replace(grown, arrays=(joined,)))] == ["sectors_mixed"]
    other = replace(joined, action="new")
    assert list(sectors_joined(replace(grown, arrays=(other,)))) == []


@pytest.mark.parametrize(
    ("before", "family"), [("BARE", "of the family Elm"), ("MEZZ", "of a family not known")]
)
def test_the_family_of_what_made_an_array_is_said(before: str, family: str) -> None:
    now = "MEZZ" if before == "BARE" else "CARD"
    made = there(Layout("5", 4), "keep", controller=now, before=before)
    (found,) = (f for f in fit.stops(made) if f.code == "no_import")
    assert f"the array was made by {before} ({family})" in found.what


def test_what_is_done_with_a_server() -> None:
    kept = there(Layout("5", 4), "keep")
    assert kept.actions == {"keep"}
    assert replace(kept, chassis_owned=False).actions == {"keep", "new"}
    assert replace(kept, arrays=()).actions == {"keep"}
    assert replace(kept, arrays=(), chassis_owned=False).actions == {"new"}
    assert there(Layout("5", 4), "new").actions == {"new"}


def test_the_customers_controller_is_fitted_into_a_chassis_of_ours() -> None:
    """And one of ours into the customer's, though its array stays as it is."""
    kept = there(Layout("5", 4), "keep", before="CARD", owned=True)
    assert not kept.is_fitted(kept.parts[0])
    assert replace(kept, chassis_owned=False).is_fitted(kept.parts[0])
    ours = replace(kept, parts=(replace(kept.parts[0], owned=False),))
    assert ours.is_fitted(ours.parts[0])
    # One new array beside one that stays is enough to open the box for.
    more = replace(kept, arrays=(*kept.arrays, replace(kept.arrays[0], action="new")))
    assert more.is_fitted(more.parts[0])
