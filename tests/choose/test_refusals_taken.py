"""Enquiries over the starter list that must be refused: the right demand, and ways out that work.

Which demand binds is reasoned by hand beside each case, and checked: without it there is a server,
and without any other one alone there is none. What is named as nearest is taken by its words, as
pins, and has to be what is quoted; what we advise against in it has to be said. The nearest and
the largest sound builds (`Choice.nearest`, `Choice.largest`) are taken as well, and have to be
quoted without any advice that nobody accepted.
"""

import datetime as dt
import re
from dataclasses import dataclass, field

import pytest

from quotelib.build.build import Build
from quotelib.catalogue.price_list import PriceList
from quotelib.choose.candidate import Candidate
from quotelib.choose.search import Choice
from quotelib.choose.server import choose_server
from quotelib.choose.wishes import demands, without
from quotelib.enquiry.columns import COLUMNS
from quotelib.enquiry.reading import read_request
from quotelib.enquiry.request import ServerAsked
from quotelib.levels import LEVELS
from quotelib.promise.answer import answer
from quotelib.text import spoken

DAY = dt.date(2026, 11, 30)
Cells = dict[str, str]


@dataclass(frozen=True)
class Case:
    """Rows that are refused.

    Parameters
    ----------
    codes : tuple of str
        Of the reasons: demands that bind, or what stops it.
    instead : tuple of Cells
        Where parts do not go together: other cells of the first row, as `says` advises.
    """

    rows: tuple[Cells, ...]
    codes: tuple[str, ...]
    instead: Cells = field(default_factory=dict)
    says: str = ""


DEMANDS = {
    # 24 bays of 20 TB are 480 TB, without redundancy.
    "capacity": Case(({"usable_tb": "500"},), ("usable_tb",)),
    # 4 bays of 4 TB, one of them for parity, are 12 TB.
    "bays": Case(
        ({"usable_tb": "20", "survive": "1", "chassis": "CHS-1U-4L", "drive": "DRV-HDD-4T-SATA"},),
        ("usable_tb",),
    ),
    "loss": Case(({"usable_tb": "40", "max_loss_pct": "0.0000000001"},), ("max_loss_pct",)),
    # The cheapest chassis with a controller for RAID 6 costs more than that.
    "price": Case(({"usable_tb": "40", "survive": "2", "max_price": "1000"},), ("max_price",)),
    # Eight of the fastest drives behind the widest link do a tenth of it.
    "operations": Case(
        ({"usable_tb": "1", "workload": "office_files", "host_iops": "1000000"},), ("host_iops",)
    ),
    # A millionth of a second: no link answers so soon.
    "response": Case(
        ({"usable_tb": "1", "workload": "office_files", "max_response_ms": "0.001"},),
        ("max_response_ms",),
    ),
    "throughput": Case(
        ({"usable_tb": "1", "workload": "office_files", "host_mb_s": "100000"},), ("host_mb_s",)
    ),
    # The smallest chassis draws 115 W by itself.
    "power": Case(({"usable_tb": "8", "survive": "1", "max_watts": "100"},), ("max_watts",)),
    # The largest number of slots is 4.
    "slots": Case(({"usable_tb": "8", "free_slots": "9"},), ("free_slots",)),
    # Its only slot is of low height.
    "height": Case(
        ({"usable_tb": "8", "survive": "1", "chassis": "CHS-1U-4L", "free_slots": "1:full"},),
        ("free_slots",),
    ),
    "media": Case(
        ({"usable_tb": "8", "survive": "1", "media": "ssd", "drive": "DRV-HDD-8T-SATA"},),
        ("media",),
    ),
    # No level of the table survives three.
    "survival": Case(({"usable_tb": "8", "survive": "3"},), ("survive",)),
    # Of no chassis there are sixty in stock.
    "days": Case(
        ({"usable_tb": "8", "survive": "1", "builds": "60", "max_lead_days": "1"},),
        ("max_lead_days",),
    ),
    # Not even parts in stock leave on the day after, as the bench needs one and tests another.
    "ship day": Case(
        ({"usable_tb": "8", "survive": "1", "chassis": "CHS-2U-8L", "ship_by": "2026-12-01"},),
        ("ship_by",),
    ),
    "memory": Case(({"usable_tb": "8", "survive": "1", "memory_gb": "90000"},), ("memory_gb",)),
    # RAID 1 on two of four bays leaves two for the other: RAID 1 of 20 TB.
    "two arrays, bays": Case(
        (
            {"array": "a", "usable_tb": "8", "survive": "1", "chassis": "CHS-1U-4L"},
            {"array": "b", "usable_tb": "60", "survive": "1"},
        ),
        ("usable_tb",),
    ),
    "two arrays, price": Case(
        (
            {"array": "a", "usable_tb": "8", "survive": "1", "max_price": "1500"},
            {"array": "b", "usable_tb": "20", "survive": "2"},
        ),
        ("max_price",),
    ),
    "two arrays, survival": Case(
        (
            {"array": "a", "usable_tb": "8", "survive": "3"},
            {"array": "b", "usable_tb": "20", "survive": "2"},
        ),
        ("survive",),
    ),
    "two arrays, power": Case(
        (
            {"array": "a", "usable_tb": "8", "survive": "1", "max_watts": "120"},
            {"array": "b", "usable_tb": "20", "survive": "2"},
        ),
        ("max_watts",),
    ),
    "two arrays, loss": Case(
        (
            {"array": "a", "usable_tb": "8", "survive": "1", "max_loss_pct": "0.0000000001"},
            {"array": "b", "usable_tb": "20", "survive": "2"},
        ),
        ("max_loss_pct",),
    ),
}

APART = {
    "bays full": Case(
        ({"chassis": "CHS-1U-4L", "drive": "DRV-HDD-4T-SATA", "members": "6", "level": "5"},),
        ("bays_full",), {"chassis": "CHS-2U-8L"}, "choose a larger chassis",
    ),
    "width and link": Case(
        ({"chassis": "CHS-2U-8L", "drive": "DRV-SSD-1920-NVME-RD", "usable_tb": "5",
          "survive": "1"},),
        ("bay_width", "bay_interface"), {"chassis": "CHS-1U-8N"}, "a chassis with nvme bays",
    ),
    "level": Case(
        ({"controller": "CTL-RE-12G-CD", "level": "6", "usable_tb": "8"},),
        ("level_not_offered",), {"level": "5"}, "choose another level or another controller",
    ),
    "members": Case(
        ({"level": "10", "members": "7", "drive": "DRV-HDD-8T-SATA"},),
        ("member_count",), {"members": "8"}, "use 8 members",
    ),
    "the customer's chassis has no slot": Case(
        ({"chassis": "CHS-1U-8S-NS", "owned": "chassis", "controller": "CTL-RB2-12G-CD",
          "usable_tb": "2", "survive": "1"},),
        ("no_slot",), {"controller": "CTL-RB2-12G-MZ"}, "a mezzanine version",
    ),
    "an upgrade that cannot be": Case(
        ({"chassis": "CHS-2U-12L", "owned": "chassis;controller", "controller": "CTL-RE-12G-CD",
          "drive": "DRV-HDD-8T-SATA", "action": "grow", "have_drives": "4", "members": "6",
          "level": "10"},),
        ("cannot_grow",), {"level": "5"}, "grows RAID 5 only",
    ),
}  # fmt: skip


def read(prices: PriceList, rows: tuple[Cells, ...]) -> ServerAsked:
    """Read rows, held against the day of the quote."""
    head = {"enquiry_id": "R-1", "customer": "Somebody"}
    first, *others = rows
    made = [head | first, *({"enquiry_id": "R-1"} | row for row in others)]
    (asked,) = read_request(made, prices).servers
    return asked.on(DAY)


def pinned(rows: tuple[Cells, ...], build: Build) -> tuple[Cells, ...]:
    """Ask for a build by its parts, with nothing demanded."""
    wishes = {name for name, column in COLUMNS.items() if column.demand is not None}
    made = []
    for row, array in zip(rows, build.arrays, strict=True):
        layout = array.layout
        pins = {"chassis": build.chassis.sku} if row is rows[0] else {}
        pins |= {"controller": array.controller.sku, "drive": array.drive.sku}
        pins |= {"level": layout.level, "members": str(layout.members)}
        pins |= {"spans": str(layout.spans)} if layout.rule.spanned else {}
        made.append({n: cell for n, cell in row.items() if n not in wishes} | pins)
    named = [p.part.sku for p in build.parts for _ in range(p.count) if p.part.role in _ADDED]
    if named:
        made[0]["options"] = ";".join(named)
    return tuple(made)


_ADDED = ("processor", "memory module")


def taken(prices: PriceList, rows: tuple[Cells, ...], build: Build) -> Candidate:
    """Take a build by its pins; it has to be what is chosen."""
    best = choose_server(prices, read(prices, pinned(rows, build))).best
    assert best is not None
    assert best.build.chassis == build.chassis
    parts = [(a.controller.sku, a.drive.sku, a.layout) for a in build.arrays]
    assert [(a.controller.sku, a.drive.sku, a.layout) for a in best.build.arrays] == parts
    return best


def said_to_fit(prices: PriceList, rows: tuple[Cells, ...], words: str) -> Candidate:
    """Take the build that words name."""
    one = re.compile(
        r"(?P<level>RAID \d+ over (?P<n>\d+) drives(?: in (?P<s>\d+) spans of \d+)?"
        r"|(?P<free>\d+) drives? passed through), (?P<drive>[\w-]+) in (?P<box>[\w-]+) "
        r"on (?P<card>[\w-]+)"
    )
    found = list(one.finditer(words))
    assert len(found) == len(rows)
    pins = []
    for row, match in zip(rows, found, strict=True):
        level = "none" if match["free"] else match["level"].split()[1]
        assert level in LEVELS
        own = {"controller": match["card"], "drive": match["drive"], "level": level}
        own |= {"members": match["free"] or match["n"], "spans": match["s"] or ""}
        own |= {"chassis": match["box"]} if row is rows[0] else {}
        wishes = {name for name, column in COLUMNS.items() if column.demand is not None}
        pins.append({n: cell for n, cell in row.items() if n not in wishes} | own)
    best = choose_server(prices, read(prices, tuple(pins))).best
    assert best is not None, words
    return best


def refused(prices: PriceList, case: Case) -> tuple[ServerAsked, Choice]:
    asked = read(prices, case.rows)
    choice = choose_server(prices, asked)
    assert choice.best is None
    assert tuple(reason.code for reason in choice.refused) == case.codes
    return asked, choice


@pytest.mark.parametrize("case", DEMANDS.values(), ids=DEMANDS)
def test_the_demand_that_binds_and_what_is_nearest(starter: PriceList, case: Case) -> None:
    asked, choice = refused(starter, case)
    for demand, row in demands(starter, asked):
        alone = choose_server(starter, without(asked, row, demand.column)).best is not None
        assert alone == (demand.column in case.codes and of_first(asked, row, demand.column, case))
    for reason in choice.refused:
        assert "nearest with all else as asked is" in reason.change
        best = said_to_fit(starter, case.rows, reason.change)
        against = [spoken(one.code) for one in best.open_advice(())]
        advised = reason.change.partition("; we advise against it: ")[2]
        assert bool(advised) == bool(against)
        assert all(code in advised for code in against)


def of_first(asked: ServerAsked, row: object, column: str, case: Case) -> bool:
    """Tell whether a demand is the one that binds: of the only array, or of the one that asks it.

    Of two arrays that ask for the same column, by hand: the first, but for the bays, where it is
    the second that asks for too much.
    """
    if row is None or len(asked.arrays) == 1:
        return True
    if column == "usable_tb":
        return row is asked.arrays[1]
    return row is asked.arrays[0]


@pytest.mark.parametrize("case", DEMANDS.values(), ids=DEMANDS)
def test_the_nearest_and_the_largest_are_quoted_when_taken(starter: PriceList, case: Case) -> None:
    _, choice = refused(starter, case)
    assert [near.demand.column for near in choice.nearest] == list(case.codes)
    largest = [] if choice.largest is None else [choice.largest]
    for candidate in [*(near.candidate for near in choice.nearest), *largest]:
        best = taken(starter, case.rows, candidate.build)
        assert not best.open_advice(())
        head = {"enquiry_id": "R-1", "customer": "Somebody"}
        rows = pinned(case.rows, candidate.build)
        made = [head | rows[0], *({"enquiry_id": "R-1"} | row for row in rows[1:])]
        got = answer(starter, read_request(made, starter), DAY, alternatives=False)
        assert got.outcome == "quoted", got.reasons
    if choice.largest is not None and case.codes == ("usable_tb",) and len(case.rows) == 1:
        assert choice.largest.usable_bytes == choice.nearest[0].candidate.usable_bytes


@pytest.mark.parametrize("case", APART.values(), ids=APART)
def test_parts_that_do_not_go_together_and_the_way_out(starter: PriceList, case: Case) -> None:
    _, choice = refused(starter, case)
    assert case.says in "; ".join(reason.words for reason in choice.refused)
    assert choice.nearest == ()
    first, *others = case.rows
    best = choose_server(starter, read(starter, (first | case.instead, *others))).best
    assert best is not None
    assert not best.open_advice(())


def test_there_are_twenty_and_more() -> None:
    assert len(DEMANDS) >= 20 and len({case.codes for case in DEMANDS.values()}) >= 12
