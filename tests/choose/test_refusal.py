"""Is a refusal worth reading: what stops or binds, and what would be nearest."""

import re
from decimal import Decimal

import pytest

from quotelib.build.layout import Layout
from quotelib.catalogue.price_list import PriceList
from quotelib.choose.candidate import Candidate
from quotelib.choose.options import pins_of
from quotelib.choose.search import choose
from quotelib.facts import Reason
from quotelib.pricing.money import digits, to_minor
from tests.asking import ask
from tests.small_list import build, change, copy, only_array, price_list


def refused(prices: PriceList, **cells: str) -> tuple[Reason, ...]:
    found = choose(prices, ask(prices, **cells))
    assert found.best is None
    assert found.feasible == ()
    assert found.refused
    return found.refused


STOPPED = [
    ({"controller": "MEZZ", "drive": "DISK-8T", "members": "4", "level": "6"}, "level_not_offered"),
    ({"drive": "DISK-8T", "members": "7", "level": "10"}, "member_count"),
    ({"chassis": "BOX-12", "drive": "DISK-8T", "members": "13", "level": "5"}, "bays_full"),
    ({"chassis": "BOX-8", "drive": "DISK-4T", "members": "3", "level": "0"}, "bay_width"),
    ({"chassis": "BOX-NV", "controller": "THROUGH", "drive": "FLASH-1T", "usable_tb": "1"},
     "bay_interface"),
    ({"controller": "BOARD", "drive": "DISK-8T", "chassis": "BOX-4", "usable_tb": "1"},
     "drive_link"),
    ({"controller": "MEZZ", "drive": "DISK-8T", "members": "9", "level": "5"}, "too_many_drives"),
    ({"chassis": "BOX-4", "controller": "MEZZ", "usable_tb": "1"}, "no_socket"),
    ({"chassis": "BOX-4", "controller": "BARE", "usable_tb": "1"}, "no_slot"),
    ({"chassis": "BOX-12", "controller": "BOARD", "usable_tb": "1"}, "board_elsewhere"),
    ({"usable_tb": "1", "spares": "20"}, "bays_full"),
    ({"usable_tb": "1", "level": "5", "spans": "2"}, "member_count"),
]  # fmt: skip


@pytest.mark.parametrize(("cells", "code"), STOPPED, ids=[code for _, code in STOPPED])
def test_a_refusal_names_what_stops_it(small: PriceList, cells: dict[str, str], code: str) -> None:
    reasons = {reason.code: reason.words for reason in refused(small, **cells)}
    assert code in reasons
    words = reasons[code]
    assert re.search(r"\b(choose|use)\b", words)


def test_a_refusal_for_power() -> None:
    tables = copy()
    change(tables, "BOX-12", supply_w="210")
    found = refused(price_list(tables), chassis="BOX-12", drive="DISK-4T", members="4", level="5")
    assert [reason.code for reason in found] == ["power"]


@pytest.mark.parametrize(
    ("cells", "column", "words"),
    [
        # 11 data members of 8,001,026,260,992 bytes: 88.011 TB, 80.04 TiB
        (
            {"usable_tb": "200", "level": "5"},
            "usable_tb",
            "at least 200 TB usable asked; nearest with all else as asked is "
            "88.01 TB (80.04 TiB): RAID 5 over 12 drives, DISK-8T in BOX-12 on CARD",
        ),
        (
            {"usable_tb": "4", "survive": "3"},
            "survive",
            "survival of any 3 drive failures asked; nearest with all else as asked is RAID 6, "
            "which survives any 2: RAID 6 over 4 drives, DISK-4T in BOX-4 on CARD",
        ),
        (
            {"usable_tb": "4", "media": "ssd", "drive": "DISK-4T"},
            "media",
            "flash asked; nearest with all else as asked is hard disks (DISK-4T): ",
        ),
        (
            {"usable_tb": "4", "free_slots": "3"},
            "free_slots",
            "at least 3 free slots asked; nearest with all else as asked is 2 in BOX-12: ",
        ),
        (
            {"usable_tb": "4", "max_price": "500.00", "level": "1"},
            "max_price",
            "at most GBP 500 net a build asked; nearest with all else as asked is GBP 859.84 a "
            "build: RAID 1 over 2 drives, DISK-4T in BOX-4 on BOARD",
        ),
    ],
)
def test_a_refusal_names_the_demand_and_what_is_nearest(
    small: PriceList, cells: dict[str, str], column: str, words: str
) -> None:
    (reason,) = refused(small, **cells)
    assert reason.code == column
    assert reason.words.startswith(words)


def test_each_demand_of_which_one_must_give_is_named(small: PriceList) -> None:
    cells = {"usable_tb": "60", "max_price": "1000"}
    columns = [reason.code for reason in refused(small, **cells)]
    assert columns == ["usable_tb", "max_price"]
    # and giving way on either of them alone is enough
    for column in columns:
        rest = {name: value for name, value in cells.items() if name != column}
        pins = rest if "usable_tb" in rest else {**rest, "usable_tb": "0"}
        assert choose(small, ask(small, **pins)).best is not None


@pytest.mark.parametrize("currency", ["GBP", "EUR", "JPY", "KWD"])
@pytest.mark.parametrize("builds", ["1", "3", "7"])
def test_the_nearest_price_is_one_that_would_do(
    small: PriceList, currency: str, builds: str
) -> None:
    cells = {"usable_tb": "20", "survive": "1", "currency": currency, "builds": builds}
    (reason,) = refused(small, **cells, max_price="1")
    (limit,) = re.findall(rf"is {currency} ([\d.]+) a build", reason.words)
    assert choose(small, ask(small, **cells, max_price=limit)).best is not None
    step = Decimal(1).scaleb(Decimal(limit).as_tuple().exponent)  # type: ignore[arg-type]
    less = str(Decimal(limit) - step)
    assert choose(small, ask(small, **cells, max_price=less)).best is None


@pytest.mark.parametrize("builds", ["1", "3", "7", "12", "25"])
@pytest.mark.parametrize("currency", ["GBP", "JPY", "KWD"])
def test_a_price_that_was_quoted_is_a_budget_that_does(
    small: PriceList, currency: str, builds: str
) -> None:
    """Who was told what one costs, and says yes to that, must get it: no higher, and no lower."""
    cells = {"usable_tb": "20", "discount_pct": "3.7", "currency": currency, "builds": builds}
    best = choose(small, ask(small, **cells)).best
    assert best is not None and best.net is not None
    cells |= pins_of(best.build)
    each = to_minor(currency, best.net / int(builds))
    unit = Decimal(1).scaleb(-digits(currency))
    met = choose(small, ask(small, **cells, max_price=f"{each:f}")).best
    assert met is not None and met.net == best.net
    (reason,) = choose(small, ask(small, **cells, max_price=f"{each - unit:f}")).refused
    assert f"{currency} {each:f} a build" in reason.words


@pytest.mark.parametrize("level", ["1", "5", "6", "10", "50", "60"])
def test_the_nearest_size_is_one_that_would_do(small: PriceList, level: str) -> None:
    (reason,) = refused(small, usable_tb="999", level=level)
    (size,) = re.findall(r"is ([\d.]+) TB \(", reason.words)
    assert choose(small, ask(small, usable_tb=size, level=level)).best is not None


# Demands that the estimates answer


@pytest.mark.parametrize(
    ("column", "asked", "attribute", "enough", "short"),
    [
        ("host_iops", "5000", "host_iops", 5000.0, 4999.0),
        ("host_mb_s", "900", "host_mb_s", 901.0, 899.0),
        ("max_loss_pct", "0.5", "loss_pct", 0.5, 0.51),
    ],
)
def test_estimated_demands(
    small: PriceList, column: str, asked: str, attribute: str, enough: float, short: float
) -> None:
    made = build(small, "BOX-4 BOARD DISK-4T", Layout("1", 2))
    enquiry = ask(small, drive="DISK-4T", members="2", level="1", **{column: asked})
    (demand,) = enquiry.asked(small)
    assert demand.column == column
    good, bad, unknown = (
        Candidate(made, only_array(made).usable_bytes, **{attribute: value})  # type: ignore[arg-type]
        for value in (enough, short, None)
    )
    assert demand.met(good)
    assert not demand.met(bad)
    assert not demand.met(unknown)
    assert demand.shortfall(good) <= 0 < demand.shortfall(bad) < demand.shortfall(unknown)
    assert demand.shown(unknown) == "not known"
