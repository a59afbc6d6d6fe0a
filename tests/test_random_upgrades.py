"""Random upgrades over the starter list: drives that are there, what is charged, what is erased.

What is expected is worked out here from the rows of the enquiry and the rows of the price list,
and compared with the record. The same sixty enquiries in each run; for a thousand others, in some
minutes:

    RANDOM_UPGRADES=1000 .venv/bin/python -m pytest -q tests/test_random_upgrades.py
"""

import datetime as dt
import os
import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass

import pytest
from hypothesis import HealthCheck, event, given, settings
from hypothesis import strategies as st

from quotelib.build.findings import ADVICE
from quotelib.catalogue.parts import Chassis, Controller, Drive
from quotelib.catalogue.price_list import PriceList
from quotelib.enquiry.reading import read_request
from quotelib.promise.answer import answer
from quotelib.promise.record import Server

A_FEW = 60
EXAMPLES = int(os.environ.get("RANDOM_UPGRADES", A_FEW))
DATE = dt.date(2026, 11, 28)
Cells = dict[str, str]

# Members a level can have, so many that it can be larger than before: common practice.
MEMBERS = {
    "0": (2, 3, 4, 6),
    "1": (2,),
    "5": (3, 4, 5, 6),
    "6": (4, 5, 6, 8),
    "10": (4, 6, 8),
    "50": (6, 8, 9),
    "60": (8, 10, 12),
    "none": (1, 2, 3),
}
SPANS = {("50", 6): "2", ("50", 8): "2", ("50", 9): "3", ("60", 8): "2", ("60", 10): "2"}
SPANS[("60", 12)] = "3"


@dataclass(frozen=True)
class Asked:
    """One array of an enquiry, as its row says it."""

    cells: Cells
    action: str
    members: int
    spares: int
    have: int

    @property
    def bought(self) -> int:
        """Drives that we sell."""
        return self.members + self.spares - self.have

    @property
    def there(self) -> int:
        """Members that are in their bays: a drive that is replaced is, too."""
        return self.members if self.action == "replace" else min(self.have, self.members)

    @property
    def put_in(self) -> int:
        """Drives that are put in: all of a new array, else those bought."""
        return self.members + self.spares if self.action == "new" else self.bought


def fits(chassis: Chassis, controller: Controller) -> bool:
    """Tell whether a chassis has a place of the kind a controller needs."""
    if controller.mounting == "board":
        return chassis.board_controller == controller.sku
    if controller.mounting == "mezzanine":
        return chassis.mezzanine_sockets > 0
    return any(slot.height in controller.brackets for slot in chassis.slots)


def goes_on(chassis: Chassis, controller: Controller, drive: Drive) -> bool:
    """Tell whether a drive goes into a chassis and onto a controller, with an adapter at most."""
    links = {
        "sata": controller.sata_gbit_s,
        "sas": controller.sas_gbit_s,
        "nvme": controller.nvme_gen,
    }
    return (
        bool(links[drive.interface])
        and drive.interface in chassis.bay_interfaces
        and drive.width_in == chassis.bay_width_in
    )


def alike(prices: PriceList, drive: Drive) -> list[str]:
    """List the drives that may be there where others like this one are added."""
    same = ("media", "interface", "block_bytes", "width_in")
    return [
        one.sku
        for one in prices.drives.values()
        if all(getattr(one, name) == getattr(drive, name) for name in same)
        if one.capacity_gb <= drive.capacity_gb
    ]


@st.composite
def one_array(draw: st.DrawFn, prices: PriceList, chassis: Chassis, most: int) -> Asked | None:
    """Draw one array in a chassis with at most so many drives; None where nothing goes in."""
    pairs = [
        (controller, drive)
        for controller in prices.controllers.values()
        if fits(chassis, controller)
        for drive in prices.drives.values()
        if goes_on(chassis, controller, drive)
    ]
    controller, drive = draw(st.sampled_from(pairs))
    action = draw(st.sampled_from(["keep", "grow", "replace", "new"]))
    levels = controller.grows if action == "grow" else controller.levels or ("none",)
    if action == "replace":
        levels = tuple(level for level in levels if level not in ("0", "none"))
    possible = [(level, n) for level in levels for n in MEMBERS[level] if n <= most]
    if action == "grow":
        possible = [(level, n) for level, n in possible if n > MEMBERS[level][0]]
    if not possible:
        return None
    level, members = draw(st.sampled_from(possible))
    spares = draw(st.sampled_from([0, 0, 1])) if members < most and level != "none" else 0
    have = {
        "keep": members + spares,
        "grow": draw(st.sampled_from([n for n in MEMBERS[level] if n < members] or [members])),
        "replace": draw(st.integers(0, members - 1)),
        "new": draw(st.sampled_from([0, 0, members])),
    }[action]
    owned = ["chassis", *(["drive"] if action == "keep" else [])]
    cells = {
        "action": action,
        "controller": controller.sku,
        "drive": drive.sku,
        "level": level,
        "members": str(members),
        "spans": SPANS.get((level, members), ""),
        "spares": str(spares),
        "have_drives": "" if action == "keep" else str(have),
    }
    if draw(st.booleans()) and controller.mounting != "board":
        owned.append("controller")
    elif action != "new" and draw(st.booleans()):
        readable = [
            c.sku
            for c in prices.controllers.values()
            if c.family in controller.imports and level in (*c.levels, "none")
        ]
        cells["from_controller"] = draw(st.sampled_from([*readable, controller.sku]))
    if action in ("grow", "replace") and draw(st.booleans()):
        cells["from_drive"] = draw(st.sampled_from(alike(prices, drive)))
    return Asked(cells | {"owned": ";".join(owned)}, action, members, spares, have)


@st.composite
def enquiries(draw: st.DrawFn, prices: PriceList) -> list[Asked]:
    """Draw one server of the customer's with one to three arrays."""
    chassis = draw(st.sampled_from(list(prices.chassis.values())))
    left, found = chassis.bays, []
    for n in range(draw(st.sampled_from([1, 2, 2, 3]))):
        asked = draw(one_array(prices, chassis, left))
        if asked is not None:
            left -= asked.members + asked.spares
            found.append(Asked({**asked.cells, "array": f"a{n}"}, *_counts(asked)))
    if found:
        first = {"chassis": chassis.sku, "builds": draw(st.sampled_from(["1", "3"]))}
        if draw(st.booleans()):
            first["accept"] = ";".join(ADVICE)
        found[0] = Asked(found[0].cells | first, *_counts(found[0]))
    return found


def _counts(asked: Asked) -> tuple[str, int, int, int]:
    return asked.action, asked.members, asked.spares, asked.have


def check_bays(server: Server, asked: list[Asked]) -> None:
    """Members that are there keep the first bays, array by array; bought ones come behind."""
    bays = [(bay.array, bay.use) for bay in server.placement.bays]
    there = [n for n, one in enumerate(asked) for _ in range(one.there)]
    bought = [n for n, one in enumerate(asked) for _ in range(one.members - one.there)]
    spares = [n for n, one in enumerate(asked) for _ in range(one.spares)]
    empty = [None] * (len(bays) - len(there) - len(bought) - len(spares))
    assert [array for array, _ in bays] == [*there, *bought, *empty, *spares]
    assert all(use == "spare" for _, use in bays[len(bays) - len(spares) :])
    assert "spare" not in [use for _, use in bays[: len(bays) - len(spares)]]
    owned = Counter(bay.array for bay in server.placement.bays if bay.owned)
    assert owned == Counter(n for n, one in enumerate(asked) for _ in range(one.have))
    # A bay of a drive that stays, or is replaced, is before any bay of a drive that is added.
    added = {n for n, one in enumerate(asked) if one.action in ("new", "grow")}
    first_added = min(
        (b.bay for b in server.placement.bays if b.array in added and not b.owned), default=10**6
    )
    stay = [b.bay for b in server.placement.bays if b.owned and b.use != "spare"]
    assert max(stay, default=0) < first_added


def expected_services(prices: PriceList, asked: list[Asked]) -> Counter[str]:
    """Count the work on one server, by the rows of the enquiry and the price list."""
    found: Counter[str] = Counter()
    done = {one.action for one in asked}
    theirs = {one.cells["controller"] for one in asked if "controller" in one.cells["owned"]}
    anew = {one.cells["controller"] for one in asked if one.action == "new"}
    cards = {
        one.cells["controller"]
        for one in asked
        if prices.controllers[one.cells["controller"]].mounting != "board"
    }
    for service in prices.services.values():
        wanted = set(service.actions or ("new",))
        mine = [one for one in asked if one.action in wanted]
        if service.when == "chosen" or service.per == "quote" or not wanted & done:
            continue
        found[service.sku] = {
            "build": 1,
            "drive": sum(one.put_in for one in mine),
            "array": sum(one.cells["level"] != "none" for one in mine),
            "controller": len(cards - (theirs - anew)),
        }[service.per]
    return +found


def check_price(prices: PriceList, server: Server, asked: list[Asked]) -> None:
    """Drives that are bought are charged, and the work that belongs to the arrays' actions."""
    lines: Counter[str] = Counter()
    for line in server.lines:
        lines[line.sku] += line.quantity
        assert line.amount == line.quantity * line.unit_price
    drives: Counter[str] = Counter()
    for one in asked:
        drives[one.cells["drive"]] += one.bought * server.builds
    assert Counter({sku: n for sku, n in lines.items() if sku in prices.drives}) == +drives
    work = expected_services(prices, asked)
    assert Counter({sku: n for sku, n in lines.items() if sku in prices.services}) == Counter(
        {sku: n * server.builds for sku, n in work.items()}
    )
    assert not {one.cells["chassis"] for one in asked[:1]} & set(lines)
    theirs = {one.cells["controller"] for one in asked if "controller" in one.cells["owned"]}
    assert not theirs & set(lines)


ERASES = re.compile(
    r"\b(creat|initiali[sz]|eras|format|wip|burn-in|test load|test data|GiB written)\w*",
    re.IGNORECASE,
)
DENIES = re.compile(r"\b(no|not|never|none|nothing|neither|without|cannot)\b", re.IGNORECASE)


def erasing(texts: Iterator[str]) -> list[str]:
    """Give the sentences that speak of making or erasing anything, and do not say not to."""
    sentences = (one for text in texts for one in re.split(r"(?<=[.;?!])\s+", text))
    return [one for one in sentences if ERASES.search(one) and not DENIES.search(one)]


def check_bench(server: Server, asked: list[Asked]) -> None:
    """Nothing is made, initialised, erased or written over but where an array is new.

    This is the assertion on the bench sheet.
    """
    bench = server.bench
    for one, of_array in zip(asked, bench.arrays, strict=True):
        if one.action != "new":
            told = [f"{fact.label}: {fact.value}" for fact in of_array.settings]
            told += [f"{check.what}: {check.must}" for check in of_array.checks]
            assert erasing(iter(told)) == [], one
    if "new" not in {one.action for one in asked}:
        steps = [f"{step.title}. {step.words}" for step in bench.steps]
        steps += [f"{check.what}: {check.must}" for check in bench.checks]
        assert erasing(iter(steps)) == []


def test_random_upgrades(starter: PriceList) -> None:
    seen: Counter[str] = Counter()

    @settings(
        max_examples=EXAMPLES,
        derandomize=EXAMPLES == A_FEW,
        deadline=None,
        suppress_health_check=[HealthCheck.too_slow, HealthCheck.large_base_example],
    )
    @given(enquiries(starter))
    def run(asked: list[Asked]) -> None:
        if not asked:
            return
        rows = [{"enquiry_id": "E-1", **one.cells} for one in asked]
        rows[0]["customer"] = "Invented"
        found = answer(starter, read_request(rows, starter), DATE, alternatives=False)
        event(found.outcome)
        seen[found.outcome] += 1
        if found.record is None:
            seen.update(reason.code for reason in found.reasons)
            return
        (server,) = found.record.servers
        check_bays(server, asked)
        check_price(starter, server, asked)
        check_bench(server, asked)
        seen.update(f"{one.action} built" for one in asked)

    run()
    assert seen["quoted"] + seen["held"] >= EXAMPLES // 4, seen
    for action in ("new", "keep", "grow", "replace"):
        assert seen[f"{action} built"] >= 3, seen


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("Create the array. Check it.", "Create the array."),
        ("Nothing is created; start it.", ""),
        ("Do not erase it. Start the full initialisation.", "Start the full initialisation."),
        ("16 GiB written, restarted, read back", "16 GiB written, restarted, read back"),
        ("Let the controller rebuild the drive.", ""),
    ],
)
def test_what_erases_is_seen(text: str, found: str) -> None:
    assert erasing(iter([text])) == [found] * bool(found)
