"""Does a page say of disks what holds for disks, of flash what holds for flash, and so on."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import numpy as np
import pytest

from quotelib.build.layout import Layout
from quotelib.estimate.reliability.field_rates import FIELD_SOURCES
from quotelib.predict.availability import availability_estimates
from quotelib.predict.estimate import Estimate
from quotelib.predict.forecast import Forecast, forecast
from quotelib.predict.outlook import array_estimates, outlook
from quotelib.text import figure
from tests.small_list import build, price_list

PRICES = price_list()
FILES = PRICES.workloads["files"]

DISKS = ("BOX-12 CARD DISK-8T", Layout("5", 4))  # with a protected cache
SPARED = ("BOX-12 CARD DISK-8T", Layout("6", 6, 1, 1))
PLAIN_DISKS = ("BOX-12 MEZZ DISK-8T", Layout("5", 4))
STRIPED = ("BOX-12 CARD DISK-8T", Layout("0", 4))
FLASH = ("BOX-8 MEZZ FLASH-1T", Layout("5", 4))
PASSED = ("BOX-NV THROUGH FLASH-NV", Layout("none", 4))


def ahead(names: str, layout: Layout, named: bool = True) -> Forecast:
    made = build(PRICES, names, layout)
    return forecast(made, made.arrays[0], FILES if named else None, PRICES.terms)


def found(names: str, layout: Layout, named: bool = True) -> dict[str, Estimate]:
    return {e.key: e for e in array_estimates(ahead(names, layout, named))}


def inputs(e: Estimate) -> dict[str, str]:
    return {i.label: i.value for i in e.inputs}


def test_a_rebuild_of_disks_has_tracks_and_places() -> None:
    disk, flash = (found(*of)["rebuild_hours"] for of in (DISKS, FLASH))
    for words in ("at the mean of a disk's tracks", "has to position anew at every MiB"):
        assert words in disk.basis and words not in flash.basis
    assert any("Holland and Gibson" in source for source in disk.sources)
    assert not any("Holland and Gibson" in source for source in flash.sources)
    assert inputs(disk)["rate with an idle host"] == "240 MB/s on outer tracks, 180 MB/s on all"
    assert "tracks" not in inputs(flash)["rate with an idle host"]


def test_who_waits_for_whom_until_a_rebuild_starts() -> None:
    without, spared = (found(*of)["exposed_hours"] for of in (DISKS, SPARED))
    assert without.basis.startswith("24 h until somebody has replaced the drive")
    assert spared.basis.startswith("0.25 h until a hot spare starts")
    assert (inputs(without)["hot spares"], inputs(spared)["hot spares"]) == ("0", "1")


def test_writes_are_answered_by_a_cache_where_there_is_one() -> None:
    cached, through = found(*DISKS), found(*PLAIN_DISKS)
    answered = ("Writes are answered from the protected cache", "Writes are answered once the")
    assert answered[0] in cached["host_iops"].basis and answered[1] in through["host_iops"].basis
    assert answered[1] not in cached["host_iops"].basis
    assert "from the protected cache" in cached["write_ms"].basis
    assert "as no protected cache answers it" in through["write_ms"].basis
    said = [" ".join(outlook(ahead(*of)).words) for of in (DISKS, PLAIN_DISKS)]
    # 0.03 ms of the controller and 0.04 of the cache.
    assert "write is answered in about 0.070 ms" in said[0]
    assert "with the cache full" not in said[1]


@pytest.mark.parametrize(
    ("of", "name"),
    [
        (DISKS, "answers from the cache"),
        (PLAIN_DISKS, "inside flash"),
        (FLASH, "inside flash"),
    ],
)
def test_waits_that_keep_nothing_busy_are_called_what_they_are(
    of: tuple[str, Layout], name: str
) -> None:
    names = [share.name for share in outlook(ahead(*of)).time_shares]
    assert name in names
    assert len({"answers from the cache", "inside flash", "flash and cache"} & set(names)) == 1


def test_long_transfers_of_disks_and_flash() -> None:
    disk, flash = (found(*of)["read_mb_s"] for of in (DISKS, FLASH))
    assert "Low end: half, as on the inner tracks" in disk.basis
    assert "Low end: a fifth less, common practice" in flash.basis
    assert disk.low == pytest.approx(disk.value / 2 if disk.value else 0)
    assert flash.low == pytest.approx(0.8 * flash.value if flash.value else 0)
    assert inputs(disk)["what holds it back"] == "drives"


def test_the_first_inputs_are_what_decides() -> None:
    disk, flash = (found(*of)["lone_read_ms"] for of in (DISKS, FLASH))
    assert inputs(disk)["average seek"] == "8.5 ms"
    assert inputs(disk)["speed"] == "7200 rpm"
    assert inputs(flash)["rated random reads"] == "90000 a second"
    assert inputs(flash)["rated random writes"] == "30000 a second"
    # A lone operation goes by the block, not by how many are asked for at once.
    assert inputs(disk)["block"] == "16 KiB"
    assert list(inputs(disk)) == ["block", "average seek", "speed"]
    assert len(inputs(flash)) == 3


def test_each_part_of_a_forecast_is_of_one_array() -> None:
    o = ahead(*DISKS)
    for name in (
        "mixed", "degraded", "rebuilding", "reads", "writes", "own_writes", "lone_read",
        "lone_write",
    ):  # fmt: skip
        assert {np.shape(x) for x in vars(getattr(o, name)).values()} == {(1,)}, name


def test_a_load_that_was_named_is_said() -> None:
    named, neutral = (found(*DISKS, named=named)["host_iops"] for named in (True, False))
    assert inputs(named)["workload"] == "files"
    assert inputs(neutral)["workload"] == "none named, so a neutral one"
    assert [ahead(*DISKS, named=x).named for x in (True, False)] == [True, False]
    # Nothing is known of a neutral day.
    assert "day_iops" in found(*DISKS) and "day_iops" not in found(*DISKS, named=False)


def test_what_loss_is_said_of() -> None:
    array, stripes, drives = (found(*of)["loss_pct"] for of in (DISKS, STRIPED, PASSED))
    assert "costs a strip" in array.basis
    for of, media in ((DISKS, "hdd"), (FLASH, "ssd")):
        for key in ("array_loss_pct", "loss_pct"):
            sources = " | ".join(found(*of)[key].sources)
            assert all(source in sources for source in FIELD_SOURCES[media])
    assert "As of the array: without redundancy they are one" in stripes.basis
    assert "As of a drive and what is on it" in drives.basis
    assert "the worse of two" in array.basis and "the worse of two" not in stripes.basis
    assert "rebuild" in inputs(array) and "rebuild" not in inputs(stripes)
    assert inputs(array)["scrub"] == "interval not stated"
    away = [found(*of)["hours_without_data_year"] for of in (DISKS, PASSED)]
    assert away[0].name.startswith("expected hours a year without the array's data")
    assert away[1].name.startswith("expected hours a year without the data of some drive")
    assert away[0].basis.startswith("Losses of the array a year, times 24 h")
    assert away[1].basis.startswith("Losses of any one drive a year")
    one = ahead(*PASSED)  # a drive is written no faster than its link takes it
    path = replace(one.f.path, link_mb_s=np.array([100.0]))
    linked = next(availability_estimates(replace(one, f=replace(one.f, path=path))))
    assert linked.low == pytest.approx(one.array.member_bytes / 100e6 / 3600)
    restored = [found(*of)["restore_hours"].name for of in (DISKS, PASSED)]
    assert [name.rsplit("onto ", 1)[1] for name in restored] == ["the whole array", "one drive"]


def test_stages_of_a_rebuild() -> None:
    """A hot spare starts in a quarter of an hour; without one it takes a day."""
    for of, own in ((DISKS, "without a hot spare"), (SPARED, "with a hot spare")):
        stages = outlook(ahead(*of)).rebuild_stages
        assert {s.case for s in stages if s.case.endswith("(proposed)")} == {f"{own} (proposed)"}
        window = ahead(*of).window
        for spare, wait in (("with a", 0.25), ("without a", 24.0)):
            mine = [s for s in stages if s.case.startswith(spare)]
            assert [s.stage for s in mine] == [
                "waiting", "rebuild, idle host", "more under your load",
            ]  # fmt: skip
            idle, loaded = float(window.idle_hours[0]), float(window.loaded_hours[0])
            ends = [wait, wait + idle, wait + loaded]
            assert [s.end_hours for s in mine] == pytest.approx(ends, rel=1e-5)
            assert [s.start_hours for s in mine] == pytest.approx([0.0, *ends[:2]], rel=1e-5)
    assert not outlook(ahead(*STRIPED)).rebuild_stages


def test_days_that_are_too_much() -> None:
    """A third of what the disks do in a day takes all of eight hours; and more than all of it."""
    made = build(PRICES, *DISKS)
    whole = 20 / float(ahead(*DISKS).day.utilisation[0])  # GB a day that leave no rest
    for part, words, known in (
        (0.1, "95 of 100 are answered within", True),
        (0.32, "95 of 100 are answered within", True),
        (0.34, "Within 8 hours alone it could not do them", False),
        (0.9, "Within 8 hours alone it could not do them", False),
        (3.0, "more than this array can take, however evenly it comes", False),
    ):
        load = FILES.model_copy(update={"writes_gb_per_day": Decimal(round(part * whole, 3))})
        o = forecast(made, made.arrays[0], load, PRICES.terms)
        said = " ".join(outlook(o).words)
        assert words in said, (part, said)
        late = {e.key: e for e in array_estimates(o)}["day_p99_ms"]
        assert (late.value is not None) is known
        if not known:
            assert late.basis == "not known: more than the drives do within 8 h."
        busy = float(o.day.utilisation[0])
        assert busy == pytest.approx(min(part, 1.0), rel=1e-3)
        assert f"keeps the drives busy {figure(100 * busy, 2)} % of the time" in said or part == 3


def test_sentences_of_a_knee() -> None:
    """Past it, about at it, and with room: by a fifth either way."""
    made = build(PRICES, *DISKS)
    knee = float(ahead(*DISKS).mixed.knee_outstanding[0])
    for many, words in (
        (int(1.2 * knee) + 1, "are past that point"),
        (int(1.2 * knee), "about as much as it does without a queue"),
        (int(0.8 * knee) + 1, "about as much as it does without a queue"),
        (int(0.8 * knee), "It has room"),
    ):
        load = FILES.model_copy(update={"outstanding": many})
        said = outlook(forecast(made, made.arrays[0], load, PRICES.terms)).words
        assert any(words in one for one in said), (many, knee, said)
