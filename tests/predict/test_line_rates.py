"""Is any array faster than the wires it hangs on: device side and host side, coding subtracted.

The limits are worked out here from the price list's files alone, with the line codes of the
standards (from memory, as in `tests/estimate/performance/test_links.py`): 10 bits a byte for SATA
and SAS to 12 Gbit/s and for PCI Express 1 and 2, 150 for 128 for SAS-4, 130 for 128 from PCI
Express 3 on.
"""

import csv
from collections import defaultdict
from dataclasses import replace

import numpy as np
import pytest

from quotelib import resources
from quotelib.build.build import Build
from quotelib.build.layout import Layout
from quotelib.catalogue.price_list import PriceList
from quotelib.choose.search import choose
from quotelib.estimate.performance.load import Load
from quotelib.estimate.performance.sequential import sequential_throughput
from quotelib.predict import inputs, workings
from tests.asking import ask
from tests.predict.outlooks import of_build
from tests.small_list import TABLES, build, change, copy, price_list

SERIAL = {"6": 600.0, "12": 1200.0, "22.5": 2400.0, "24": 2400.0}  # MB/s a lane
PCIE = {"3": 8e3 / 8 * 128 / 130, "4": 16e3 / 8 * 128 / 130, "5": 32e3 / 8 * 128 / 130}
ROUNDING = 1 + 1e-9


def table(name: str) -> list[dict[str, str]]:
    path = resources.starter_prices() / f"{name}.csv"
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


class Wires:
    """Line rates of the builds of the starter list, from its cells."""

    def __init__(self) -> None:
        self.chassis, self.controllers, self.drives = (
            {row["sku"]: row for row in table(name)}
            for name in ("chassis", "controllers", "drives")
        )
        self.slots: dict[str, list[dict[str, str]]] = defaultdict(list)
        for row in table("slots"):
            self.slots[row["chassis_sku"]].append(row)

    def device_mb_s(self, made: Build) -> float:
        (array,) = made.arrays
        controller, drive = self.controllers[array.controller.sku], self.drives[array.drive.sku]
        lanes = 1
        if drive["interface"] == "nvme":
            rate, lanes = PCIE[controller["nvme_gen"]], int(drive.get("lanes") or 4)
        elif drive["interface"] == "sata":
            rate = SERIAL[controller["sata_gbit_s"]]
        else:
            own = drive.get("link_gbit_s") or controller["sas_gbit_s"]
            rate = min(SERIAL[controller["sas_gbit_s"]], SERIAL[own])
        there = array.layout.members * lanes
        if self.chassis[made.chassis.sku]["backplane"] == "expander" and controller["ports"]:
            there = min(there, int(controller["ports"]))
        return rate * there

    def host_mb_s(self, made: Build) -> float:
        """Give the best that any place of the chassis could give the controller."""
        controller = self.controllers[made.arrays[0].controller.sku]
        gen, lanes = controller["host_gen"], int(controller["host_lanes"])
        if controller["mounting"] != "card":
            return PCIE[gen] * lanes
        slots = self.slots[made.chassis.sku]
        return max(PCIE[min(gen, s["gen"])] * min(lanes, int(s["lanes"])) for s in slots)


@pytest.fixture(scope="module")
def builds(starter: PriceList) -> list[Build]:
    """Every build of one array over the starter list: one of those with equal limits and inputs."""
    found: dict[object, Build] = {}
    wires = Wires()
    for candidate in choose(starter, ask(starter, usable_tb="0.1")).feasible:
        made = candidate.build
        there = inputs.behind(made, made.arrays[0])
        array, ports = there.array, there.array.controller.ports
        rates = (wires.device_mb_s(made), wires.host_mb_s(made), ports, *there[1:])
        found.setdefault((array.drive, array.layout, array.controller.reserve_mib, *rates), made)
    return list(found.values())


@pytest.fixture(scope="module")
def limits(builds: list[Build]) -> np.ndarray:
    wires = Wires()
    return np.array([[wires.device_mb_s(b), wires.host_mb_s(b)] for b in builds]).min(axis=1)


@pytest.fixture(scope="module")
def figures(builds: list[Build]) -> inputs.Inputs:
    """Without the controllers' own ceilings, which would hide the wires'."""
    f = inputs.inputs([inputs.behind(b, b.arrays[0]) for b in builds])
    free = replace(f.path, controller_mb_s=np.inf, controller_iops=np.inf)
    return replace(f, path=free)


@pytest.mark.parametrize("state", ["normal", "degraded", "rebuilding"])
@pytest.mark.parametrize("block_kib", [4, 1024])
@pytest.mark.parametrize(("reads", "random"), [(0.0, 0.0), (0.0, 1.0), (0.7, 0.5), (1.0, 1.0)])
def test_operations_stay_within_the_wires(
    figures: inputs.Inputs, limits: np.ndarray, state: str, block_kib: int, reads: float,
    random: float,
) -> None:  # fmt: skip
    assert len(limits) > 5_000
    block = block_kib * 1024.0
    touched = 0
    for outstanding in (1, 48):
        found = workings.throughput(figures, Load(reads, random, block, outstanding), state)
        for rate in (found.iops_low, found.iops, found.iops_bound):
            assert (rate * block / 1e6 <= limits * ROUNDING).all()
        touched += np.count_nonzero(found.iops_bound * block / 1e6 > limits * 0.999)
    # The wires do hold some back, or this would show nothing.
    assert touched > 0 or block_kib == 4 or state != "normal"


@pytest.mark.parametrize("state", ["normal", "degraded", "rebuilding"])
def test_long_transfers_stay_within_the_wires(
    figures: inputs.Inputs, limits: np.ndarray, state: str
) -> None:
    f = figures
    found = sequential_throughput(f.shape, f.read_mb_s, f.write_mb_s, f.path, state=state)
    for rate in (found.read_mb_s, found.read_best_mb_s, found.write_mb_s):
        assert (rate <= limits * ROUNDING).all()
        if state == "normal":
            assert np.count_nonzero(rate > limits * 0.999) > 0


def test_writes_send_copies_and_parity_over_the_same_lanes(
    builds: list[Build], figures: inputs.Inputs
) -> None:
    wires = Wires()
    device = np.array([wires.device_mb_s(b) for b in builds])
    data = np.array([b.arrays[0].layout.data_members for b in builds])
    members = np.array([b.arrays[0].layout.members for b in builds])
    f = figures
    found = sequential_throughput(f.shape, f.read_mb_s, f.write_mb_s, f.path)
    assert (found.write_mb_s * members / data <= device * ROUNDING).all()


def of_flash(starter: PriceList, level: str) -> Build:
    card = starter.controllers["CTL-RF8-12G-CD"].model_copy(update={"ports": 8})
    eight = replace(starter, controllers={card.sku: card}, fingerprint="eight lanes")
    cells = {"chassis": "CHS-2U-24S", "drive": "DRV-SSD-3840-SAS-RD", "members": "24"}
    return next(iter(choose(eight, ask(eight, **cells, level=level)).feasible)).build


@pytest.mark.parametrize("level", ["0", "6", "10"])
def test_twenty_four_flash_drives_on_eight_lanes_of_12_gbit(starter: PriceList, level: str) -> None:
    """They were shown at 12,400 MB/s; eight lanes carry 9,600 at most."""
    made = of_flash(starter, level)
    for workload in starter.workloads:
        found = of_build(starter, made, workload)
        for key in ("host_mb_s", "read_mb_s", "write_mb_s", "destage_mb_s"):
            for figure in (found[key].low, found[key].value, found[key].high):
                assert figure is not None and figure <= 9600 * ROUNDING, (workload, key)
    assert found["read_mb_s"].high == pytest.approx(9600)
    assert found["write_mb_s"].value == pytest.approx(
        9600 * made.arrays[0].layout.data_members / 24
    )
    held = {i.label: i.value for i in found["write_mb_s"].inputs}
    assert held["what holds it back"] == "lanes shared behind the expander"
    assert held["lanes to the drives"].startswith("the 8 lanes of CTL-RF8-12G-CD")


def test_an_idle_operation_takes_no_longer_for_shared_lanes(small: PriceList) -> None:
    """One at a time finds a lane free: the lanes are as fast as they were, only fewer."""
    tables = change(copy(TABLES), "CARD", ports="2")
    found = {}
    for backplane in ("direct", "expander"):
        prices = price_list(change(copy(tables), "BOX-12", backplane=backplane))
        array = build(prices, "BOX-12 CARD DISK-8T", Layout("0", 8)).arrays[0]
        f = inputs.inputs([inputs.Behind(array, None, 1, backplane)])
        few, many = (
            workings.throughput(f, Load(1.0, 1.0, 2.0**20, n), "normal") for n in (1, 10_000)
        )
        found[backplane] = (few.response_ms[0], many.iops_bound[0])
    assert found["expander"][0] == pytest.approx(found["direct"][0])
    # Eight disks of 250 MB/s are slower than two lanes of 1,200.
    assert found["expander"][1] == pytest.approx(found["direct"][1])


def test_arrays_on_one_controller_have_a_fair_share_of_its_lanes(starter: PriceList) -> None:
    made = of_flash(starter, "0")
    (array,) = made.arrays
    alone, shared = (
        inputs.inputs([inputs.Behind(array, None, sharing, "expander")]) for sharing in (1, 2)
    )
    assert alone.path.links_at_once == 8 and shared.path.links_at_once == 4
    rates = [
        sequential_throughput(f.shape, f.read_mb_s, f.write_mb_s, f.path).read_mb_s[0]
        for f in (alone, shared)
    ]
    assert rates == pytest.approx([9600, 4800])


@pytest.mark.parametrize(("backplane", "ports"), [("expander", ""), ("", "8")])
def test_lanes_that_are_not_known_hold_nothing_back_and_the_page_says_so(
    backplane: str, ports: str
) -> None:
    tables = change(copy(TABLES), "CARD", ports=ports)
    prices = price_list(change(tables, "BOX-12", backplane=backplane))
    made = build(prices, "BOX-12 CARD DISK-8T", Layout("6", 8))
    f = inputs.inputs([inputs.behind(made, made.arrays[0])])
    assert np.isinf(f.path.links_at_once).all()
    found = of_build(prices, made, None)
    held = {i.label: i.value for i in found["read_mb_s"].inputs}
    assert held["lanes to the drives"].startswith("not known")
