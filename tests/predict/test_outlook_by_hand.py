"""Is each figure of a quote what the estimate gives when it is called by hand."""

from dataclasses import dataclass, fields

import numpy as np
import pytest

from quotelib.build.layout import Layout
from quotelib.catalogue.price_list import PriceList
from quotelib.estimate.capacity import drive_bytes, member_bytes
from quotelib.estimate.performance.day import open_response
from quotelib.estimate.performance.links import pcie_link_mb_s, serial_link_mb_s
from quotelib.estimate.performance.load import DataPath, Load, Serving
from quotelib.estimate.performance.mixed import MixedThroughput, mixed_throughput
from quotelib.estimate.performance.sequential import sequential_throughput
from quotelib.estimate.performance.service import DriveTimes, disk_times, flash_times
from quotelib.estimate.performance.write_cache import cached_writes
from quotelib.estimate.reliability.field_rates import mttf_range
from quotelib.estimate.reliability.loss import Loss, loss_probability, mean_hours_to_loss
from quotelib.estimate.reliability.protection import Protection, unreadable_probability
from quotelib.estimate.reliability.rebuild import rebuild_window
from quotelib.estimate.shape import array_shape
from quotelib.predict.estimate import one
from tests.predict.outlooks import of_build
from tests.small_list import build

BLOCK = 16 * 1024  # of the small list's workload "files": 70 % reads, 60 % random, 8 outstanding


@dataclass(frozen=True)
class Case:
    """A build of the small list, its figures copied from there by hand."""

    names: str
    layout: Layout
    shape: tuple[int, int, int, int]  # members, spans, parity, copies
    groups: tuple[int, int, int]  # members, redundancy, number
    times: DriveTimes
    rates: tuple[float, float]  # read, write, MB/s
    path: DataPath
    media: str
    drive: tuple[int, int, float, float]  # GB, block, MTTF in h, bit error rate
    reserve_mib: int


CARD = {"controller_mb_s": 6000, "controller_iops": 700_000}
GEN3_X8 = pcie_link_mb_s(3, 8, 3, 8)
DISK_4T = disk_times(BLOCK, 8.5, 7200, 200, 190)
DISK_8T = disk_times(BLOCK, 8.5, 7200, 250, 240)
FLASH_1T = flash_times(BLOCK, 90_000, 30_000, 550, 500)
FLASH_NV = flash_times(BLOCK, 700_000, 90_000, 5000, 2000)
SATA, SAS = serial_link_mb_s(6), serial_link_mb_s(12)
D4 = (4000, 512, 1e6, 1e-15)
D8 = (8000, 4096, 2e6, 1e-15)
F1 = (960, 512, 2e6, 1e-17)
NV = (1920, 512, 2e6, 1e-17)

CASES = {
    "RAID 1 on the board": Case(
        "BOX-4 BOARD DISK-4T", Layout("1", 2), (2, 1, 0, 2), (2, 1, 1), DISK_4T, (200, 190),
        DataPath(SATA, np.inf, np.inf, pcie_link_mb_s(3, 4, 3, 4)), "hdd", D4, 8,
    ),
    "RAID 5 of SATA disks on a card": Case(
        "BOX-12 CARD DISK-4T", Layout("5", 6), (6, 1, 1, 1), (6, 1, 1), DISK_4T, (200, 190),
        DataPath(SATA, host_link_mb_s=GEN3_X8, **CARD), "hdd", D4, 512,
    ),
    "RAID 60 of SAS disks with a spare": Case(
        "BOX-12 CARD DISK-8T", Layout("60", 10, 2, 1), (10, 2, 2, 1), (5, 2, 2), DISK_8T,
        (250, 240), DataPath(SAS, host_link_mb_s=GEN3_X8, **CARD), "hdd", D8, 512,
    ),
    "RAID 10 of flash in a socket": Case(
        "BOX-8 MEZZ FLASH-1T", Layout("10", 4), (4, 1, 0, 2), (2, 1, 2), FLASH_1T, (550, 500),
        DataPath(SATA, host_link_mb_s=GEN3_X8), "ssd", F1, 512,
    ),
    "RAID 0 of flash": Case(
        "BOX-8 MEZZ FLASH-1T", Layout("0", 3), (3, 1, 0, 1), (3, 0, 1), FLASH_1T, (550, 500),
        DataPath(SATA, host_link_mb_s=GEN3_X8), "ssd", F1, 512,
    ),
    "NVMe drives passed through": Case(
        "BOX-NV THROUGH FLASH-NV", Layout("none", 4), (4, 1, 0, 1), (1, 0, 4), FLASH_NV,
        (5000, 2000), DataPath(pcie_link_mb_s(4, 4, 4, 4), host_link_mb_s=GEN3_X8), "ssd", NV, 0,
    ),
}  # fmt: skip
pytestmark = pytest.mark.parametrize("case", CASES.values(), ids=CASES)


def same(found: object, wanted: object) -> None:
    assert found == pytest.approx(one(wanted), rel=1e-9, abs=0)


def serving(case: Case) -> Serving:
    """Strips of 256 KiB, but for drives passed through; the card has a protected cache."""
    strip = np.inf if case.layout.level == "none" else 256 * 1024
    return Serving(strip, "CARD" in case.names)


def mixed(
    case: Case, reads: float, rand: float, state: str = "normal", outstanding: int = 8
) -> MixedThroughput:
    load, shape = Load(reads, rand, BLOCK, outstanding), array_shape(*case.shape)
    # A block is shorter than a strip, so that it lies on one drive.
    return mixed_throughput(shape, case.times, case.path, load, serving(case), state=state)


def day(case: Case) -> tuple[float, float, float]:
    """Operations a second of 20 GB written a day, how busy they keep a drive, and its own."""
    rate = 20e9 / (BLOCK * 0.3 * 86_400)
    busy = mixed(case, 0.7, 0.6)
    return rate, rate * one(busy.drives_alone_ms) / 1e3, rate * one(busy.drive_operations)


def size_of_member(case: Case) -> tuple[int, int]:
    whole = drive_bytes(*case.drive[:2])
    return whole, member_bytes(whole, case.reserve_mib, case.layout.strip_kib)


def test_speed(small: PriceList, case: Case) -> None:
    found = of_build(small, build(small, case.names, case.layout), "files")
    wanted = mixed(case, 0.7, 0.6)
    for key, low, value, high in (
        ("host_iops", wanted.iops_low, wanted.iops, wanted.iops_bound),
        ("response_ms", wanted.response_low_ms, wanted.response_ms, wanted.response_high_ms),
        ("host_mb_s", *(x * BLOCK / 1e6 for x in (wanted.iops_low, wanted.iops)), None),
        ("knee_outstanding", None, wanted.knee_outstanding, None),
        ("read_iops", None, mixed(case, 1, 1).iops, mixed(case, 1, 1).iops_bound),
        ("write_iops", mixed(case, 0, 1).iops_low, mixed(case, 0, 1).iops, None),
    ):
        same(found[key].value, value)
        if low is not None:
            same(found[key].low, low)
        if high is not None:
            same(found[key].high, high)
    long = sequential_throughput(array_shape(*case.shape), *case.rates, case.path)
    same(found["read_mb_s"].value, long.read_mb_s)
    same(found["read_mb_s"].high, long.read_best_mb_s)
    same(found["write_mb_s"].value, long.write_mb_s)
    same(found["write_mb_s"].low, (0.5 if case.media == "hdd" else 0.8) * long.write_mb_s)
    same(found["lone_read_ms"].value, mixed(case, 1, 1, outstanding=1).response_ms)
    lone = mixed(case, 0, 1, outstanding=1)
    # A cache answers after 0.04 ms, 0.01 at best, and the controller takes 0.03, 0.02 at best.
    cached = serving(case).cached
    same(found["write_ms"].value, 0.07 if cached else lone.response_ms)
    same(found["write_ms"].low, 0.03 if cached else lone.response_low_ms)
    same(found["write_ms"].high, mixed(case, 0, 0.6).response_high_ms)
    same(found["day_iops"].value, day(case)[0])
    times = open_response(
        array_shape(*case.shape), case.times, Load(0.7, 0.6, BLOCK, 8), serving(case),
        [[3 * day(case)[0]], [day(case)[0]], [6 * day(case)[0]]],
    )  # fmt: skip
    for key, three in (
        ("day_response_ms", times.mean_ms), ("day_p95_ms", times.p95_ms),
        ("day_p99_ms", times.p99_ms),
    ):  # fmt: skip
        for end, wanted in zip(("value", "low", "high"), three, strict=True):
            if np.isfinite(wanted).all():
                same(getattr(found[key], end), wanted)
            else:
                assert getattr(found[key], end) is None
    if case.groups[1]:
        for key, state in (("degraded_iops", "degraded"), ("rebuilding_iops", "rebuilding")):
            hurt = mixed(case, 0.7, 0.6, state)
            same(found[key].value, hurt.iops)
            same(found[key].low, hurt.iops_low)
    else:
        assert "degraded_iops" not in found and "rebuilding_iops" not in found


def test_rebuild_and_risk(small: PriceList, case: Case) -> None:
    found = of_build(small, build(small, case.names, case.layout), "files")
    whole, member = size_of_member(case)
    shape = array_shape(*case.shape)
    members, redundancy, groups = case.groups
    spares = case.layout.spares

    # Disks: 8.5 ms seek and half a turn at 7200 a minute, three quarters of the rim's rate.
    disk = {"position_ms": 8.5 + 30_000 / 7200, "rim_to_mean": 0.75}
    window = rebuild_window(
        shape, member, case.rates[1], case.rates[0], link_mb_s=case.path.link_mb_s,
        controller_mb_s=case.path.controller_mb_s, drive_utilisation=day(case)[1],
        host_ops_per_s=day(case)[2], spares=spares,
        **(disk if case.media == "hdd" else {}),
    )  # fmt: skip
    spread = mttf_range(case.drive[2], case.media)

    def protection(mttf: object, hours: object, errors: object, factor: float = 1) -> Protection:
        return Protection(
            members=members, redundancy=redundancy, groups=groups, spares=spares,
            mttf_hours=mttf, rebuild_hours=hours if redundancy else 1,  # type: ignore[arg-type]
            replacement_hours=24, drive_bytes=whole, bit_error_rate=errors,  # type: ignore[arg-type]
            after_failure_factor=factor,
        )  # fmt: skip

    idle, loaded, worst = window.idle_hours, window.loaded_hours, window.busy_hours
    sheet = case.drive[3]
    # Drives with an error: of disks 1.4 % a year, half a month each, and 10 % a year for half of
    # five years; of flash 5 % and 15.75 % a year.
    few, many = (0.014, 0.1) if case.media == "hdd" else (0.05, 0.1575)
    low = min(sheet, few * 15 / 365 / (8 * whole))
    high = max(sheet, many * 2.5 / (8 * whole))
    expected = protection(spread.expected, loaded, sheet)
    loss = loss_probability(expected, 5)
    hopeful = loss_probability(protection(spread.best, idle, low), 5)
    poor = loss_probability(protection(spread.worst, worst, high), 5)
    batch = loss_probability(protection(spread.expected, worst, high, 10), 5)
    dire = Loss(*(np.maximum(getattr(poor, f.name), getattr(batch, f.name)) for f in fields(Loss)))
    for key, chance in (("array_loss_pct", "array"), ("loss_pct", "any_data")):
        same(found[key].value, 100 * getattr(loss, chance))
        same(found[key].low, 100 * getattr(hopeful, chance))
        same(found[key].high, 100 * getattr(dire, chance))
    same(found["mttdl_years"].value, mean_hours_to_loss(expected) / 8760)
    usable_tb = build(small, case.names, case.layout).arrays[0].usable_bytes / 1e12
    # Drives passed through are lost one by one, an array as a whole.
    gone_tb = usable_tb * (loss.group if case.layout.level == "none" else loss.array)
    same(found["tb_lost"].value, gone_tb + 256 * 1024 / 1e12 * loss.strips)
    of_array = case.layout.level != "none"
    data, chances = (usable_tb, (hopeful.array, loss.array, dire.array))
    write = float(sequential_throughput(shape, *case.rates, case.path).write_mb_s)
    if not of_array:
        data, write = member / 1e12, min(case.rates[1], float(np.asarray(case.path.link_mb_s)))
    restore = [data * 1e6 / min(gbit * 125 * 1460 / 1538, write) / 3600 for gbit in (10, 2.5, 1)]
    away = []
    for chance, notice, hours in zip(chances, (4, 24, 72), restore, strict=True):
        each = -np.log1p(-chance) / 5 * (notice + hours)
        away.append(each / (1 + each / 8760))
    for name, three in (("restore_hours", restore), ("hours_without_data_year", away)):
        for end, wanted in zip(("low", "value", "high"), three, strict=True):
            same(getattr(found[name], end), wanted)
    if not redundancy:
        gone = {"rebuild_hours", "exposed_hours", "unreadable_pct", "strips_lost"}
        assert not gone & set(found)
        assert found["array_loss_pct"].value == found["loss_pct"].value
        assert not any("replace" in i.label for i in found["loss_pct"].inputs)
        return
    same(found["strips_lost"].low, hopeful.strips)
    same(found["strips_lost"].value, loss.strips)
    same(found["strips_lost"].high, dire.strips)
    same(found["rebuild_hours"].low, idle)
    same(found["rebuild_hours"].value, loaded)
    same(found["rebuild_hours"].high, worst)
    wait = 0.25 if spares else 24
    same(found["exposed_hours"].low, idle + wait)
    same(found["exposed_hours"].value, loaded + wait)
    same(found["exposed_hours"].high, worst + wait)
    for end, errors in (("low", low), ("value", sheet), ("high", high)):
        unreadable = unreadable_probability(members - redundancy, whole, errors)
        same(getattr(found["unreadable_pct"], end), 100 * unreadable)


def test_wear(small: PriceList, case: Case) -> None:
    found = of_build(small, build(small, case.names, case.layout), "files")
    if case.media == "hdd":
        assert "wear_years" not in found
        return
    # 1 write a day for 5 years; 20 GB a day from the host, mirrors twice, shared by the members.
    copies = case.shape[3]
    years = case.drive[0] * 365 * 5 / (20 * copies / case.shape[0] * 365)
    same(found["wear_years"].value, years)


def test_power(small: PriceList, case: Case) -> None:
    made = build(small, case.names, case.layout)
    found = of_build(small, made, "files")
    active, idle = float(made.arrays[0].drive.active_w), float(made.arrays[0].drive.idle_w)
    full = float(made.watts)
    rest = full - made.arrays[0].layout.drives * (active - idle)
    # A hot spare waits, whatever the others do.
    working = made.arrays[0].layout.members * (active - idle)
    same(found["mean_watts"].low, rest)
    same(found["mean_watts"].value, rest + day(case)[1] * working)
    same(found["mean_watts"].high, full)
    same(found["heat_btu_h"].high, 3.412 * full)
    same(found["kwh_year"].high, 8.76 * full)
    same(found["supply_pct"].high, 100 * full / float(made.chassis.supply_w))


def test_cache(small: PriceList, case: Case) -> None:
    made = build(small, case.names, case.layout)
    found = of_build(small, made, "files")
    if not made.arrays[0].controller.cache_mib:
        assert "burst_seconds" not in found and "destage_mb_s" not in found
        return
    destage = mixed(case, 0, 0.6).iops * BLOCK / 1e6
    same(found["destage_mb_s"].value, destage)
    burst = cached_writes(2048, True, np.inf, destage, min(6000.0, one(GEN3_X8)))
    same(found["burst_seconds"].value, burst.seconds_until_full)
