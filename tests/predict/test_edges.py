"""What estimates say where things turn: one drive or several, no arrays, no cache to trust."""

from dataclasses import replace
from decimal import Decimal

import numpy as np
import pytest

from quotelib.build.build import Build
from quotelib.build.layout import Layout
from quotelib.catalogue.price_list import PriceList
from quotelib.catalogue.work import Workload
from quotelib.estimate.performance.load import STATIONS
from quotelib.estimate.reliability.field_rates import mttf_range
from quotelib.estimate.reliability.rebuild import ATTENDED_SWAP_HOURS
from quotelib.predict import losing, workings
from quotelib.predict.changing import change_estimates
from quotelib.predict.estimate import Estimate, made
from quotelib.predict.forecast import Forecast, drive_inputs, forecast
from quotelib.predict.inputs import Behind
from quotelib.predict.outlook import _words, array_estimates, outlook, with_others
from quotelib.predict.running import server_estimates
from quotelib.predict.screening import screen
from quotelib.predict.shown import Chance
from quotelib.predict.speed import SHARED_LANES, held_back
from quotelib.text import figure
from tests.small_list import build, change, copy, price_list, server

RAID5 = Layout("5", 4)
PRICES = price_list()
FILES = PRICES.workloads["files"]
UNTOLD = FILES.model_copy(update={"writes_gb_per_day": Decimal(0)})  # how busy a day is


def ahead(build: Build, prices: PriceList = PRICES, load: Workload = FILES) -> list[Forecast]:
    return [forecast(build, array, load, prices.terms) for array in build.arrays]


def power(build: Build, prices: PriceList = PRICES, load: Workload = FILES) -> dict[str, Estimate]:
    return {e.key: e for e in server_estimates(build, ahead(build, prices, load), prices.terms)}


def there(action: str, have: int) -> dict[str, Estimate]:
    """Work out what changing an array of four takes, of which the customer has some."""
    new = build(PRICES, "BOX-12 CARD DISK-8T", RAID5)
    array = replace(new.arrays[0], action=action, their_drives=have)  # type: ignore[arg-type]
    (one,) = ahead(replace(new, chassis_owned=True, arrays=(array,)))
    return {e.key: e for e in change_estimates(one)}


def test_what_is_said_of_changes_goes_by_the_action() -> None:
    assert set(there("new", 0)) == {"filling_hours"}
    assert set(there("grow", 3)) == {"growth_hours"}
    assert set(there("replace", 2)) == {"replacement_hours", "replacement_days"}
    assert set(there("keep", 4)) == set()


def test_growth_by_hand() -> None:
    """Two drives' worth is read from three at 250 MB/s and written over three's worth at 240."""
    growth = there("grow", 3)["growth_hours"]
    held = 2 * 8_001_026_260_992
    idle = held / (3 * 250e6) / 3600 + held / (3 * 240e6) / 3600
    assert growth.name == "growing from 3 to 4 members"
    assert growth.inputs[0].value == "16.00 TB (14.55 TiB)"
    assert (growth.low, growth.value, growth.high) == pytest.approx((idle, idle / 0.3, idle / 0.1))
    new = build(PRICES, "BOX-12 CARD DISK-8T", RAID5)
    grown = replace(new.arrays[0], action="grow", their_drives=3)
    (one,) = ahead(replace(new, chassis_owned=True, arrays=(grown,)))
    slow = replace(one, f=replace(one.f, path=replace(one.f.path, link_mb_s=np.array([100.0]))))
    (linked,) = change_estimates(slow)
    assert linked.low == pytest.approx(2 * held / (3 * 100e6) / 3600)


@pytest.mark.parametrize(
    ("have", "name"),
    [
        (1, "until all 3 drives are replaced"),
        (2, "until all 2 drives are replaced"),
        (3, "until the drive is replaced"),
    ],
)
def test_days_until_drives_are_replaced(have: int, name: str) -> None:
    """One rebuild after another: at once, one a day at most, and a day's wait before each."""
    found = there("replace", have)
    hours, days = found["replacement_hours"], found["replacement_days"]
    drives = 4 - have
    assert days.name == name
    assert days.inputs[0].value == str(drives)
    assert None not in (hours.low, hours.value, hours.high)
    assert days.low == pytest.approx(drives * (hours.low or 0) / 24)
    assert days.value == pytest.approx(drives * max(hours.value or 0, 24) / 24)
    assert days.high == pytest.approx(drives * ((hours.high or 0) + 24) / 24)


def test_power_of_a_server_without_drives_is_that_of_its_parts() -> None:
    found = power(server(PRICES, "BOX-12", []))["mean_watts"]
    assert (found.name, found.low, found.value, found.high) == ("power", 200, 200, 200)
    assert [(i.label, i.value) for i in found.inputs] == [("all parts", "200 W")]
    assert found.shown_range == ""
    with_drives = power(build(PRICES, "BOX-12 CARD DISK-8T", RAID5))["mean_watts"]
    assert with_drives.name == "mean power under your workload"


@pytest.mark.parametrize(("load", "told"), [(FILES, True), (UNTOLD, False)])
def test_power_goes_by_what_each_array_draws_more_at_work(load: Workload, told: bool) -> None:
    """Four disks of 8 TB of 7 to 11 W, and four of 4 TB made to draw 1 to 10 W.

    They work as the day has it, or all the time at what the load can do where nobody tells.
    """
    prices = price_list(change(copy(), "DISK-4T", idle_w="1", active_w="10"))
    made_of = build(prices, "BOX-12 CARD DISK-8T THROUGH DISK-4T", RAID5, Layout("none", 4))
    one, other = ahead(made_of, prices, load)
    # 20 GB a day in blocks of 16 KiB, of which three tenths are writes.
    rate = 20e9 / (16 * 1024 * 0.3 * 86_400)
    day = [rate * float(o.mixed.drives_alone_ms[0]) / 1e3 for o in (one, other)]
    loop = [float(np.minimum(o.mixed.drive_utilisation, 1.0)[0]) for o in (one, other)]
    assert max(day) < 0.2 < min(loop)
    busy = day if told else loop
    assert abs(busy[0] - busy[1]) > 0.01
    found = power(made_of, prices, load)["mean_watts"]
    idle = float(made_of.watts) - 4 * 4 - 4 * 9
    assert found.low == pytest.approx(idle)
    assert found.value == pytest.approx(idle + 16 * busy[0] + 36 * busy[1])
    shared = 100 * (16 * busy[0] + 36 * busy[1]) / 52
    assert found.inputs[2].value == f"{shared:.0f} %"


def test_the_share_of_time_is_said_even_where_work_draws_no_more() -> None:
    prices = price_list(change(copy(), "DISK-8T", idle_w="11", active_w="11"))
    alike = build(prices, "BOX-12 CARD DISK-8T", RAID5)
    (one,) = ahead(alike, prices)
    rate = 20e9 / (16 * 1024 * 0.3 * 86_400)
    day = rate * float(one.mixed.drives_alone_ms[0]) / 1e3
    loop = min(float(one.mixed.drive_utilisation[0]), 1.0)
    for load, share in ((FILES, day), (UNTOLD, loop)):
        said = power(alike, prices, load)["mean_watts"].inputs[2].value
        assert said == f"{100 * share:.0f} %"


def test_where_no_array_draws_more_each_counts_alike() -> None:
    tables = change(copy(), "DISK-8T", idle_w="11", active_w="11")
    tables = change(tables, "DISK-4T", idle_w="9", active_w="9")
    prices = price_list(tables)
    made = build(prices, "BOX-12 CARD DISK-4T CARD DISK-8T", RAID5, Layout("5", 6))
    shares = [float(one.day.utilisation[0]) for one in ahead(made, prices)]
    assert 0 < shares[0] != shares[1] > 0
    said = power(made, prices)["mean_watts"].inputs[2].value
    assert said == f"{100 * sum(shares) / 2:.0f} %"


def test_scattered_writes_wear_more_than_long_ones() -> None:
    """Behind a protected cache a long write adds a parity to two strips, a scattered to each."""
    flash = build(PRICES, "BOX-8 CARD FLASH-1T", Layout("5", 3))
    (wear,) = (e for e in array_estimates(ahead(flash)[0]) if e.key == "wear_years")
    assert wear.low and wear.value and wear.high
    assert wear.low < wear.value < wear.high
    assert wear.high / wear.low == pytest.approx(2 / 1.5)


def test_of_losing_the_array_sectors_are_not_asked() -> None:
    """Neither the rate of errors nor a sane MTTF is there: each figure says what it lacks."""
    prices = price_list(change(copy(), "DISK-8T", bit_error_rate="", mttf_hours="20"))
    (one,) = ahead(build(prices, "BOX-12 CARD DISK-8T", RAID5), prices)
    found = {e.key: e for e in losing.risk_estimates(one)}
    assert "MTTF" in found["array_loss_pct"].basis
    assert "unreadable sectors" in found["loss_pct"].basis


@pytest.mark.parametrize(("many", "said"), [(1, False), (2, True)])
def test_more_than_one_mostly_wait_where_there_is_more_than_one(many: int, said: bool) -> None:
    load = FILES.model_copy(update={"outstanding": many})
    (one,) = ahead(build(PRICES, "BOX-12 CARD DISK-8T", RAID5), load=load)
    full = replace(one, mixed=replace(one.mixed, knee_outstanding=np.array([1.0])))
    words = "One operation outstanding keeps it busy"
    assert any(words in sentence for sentence in _words(full)) is said


@pytest.mark.parametrize(("ports", "name"), [("3", SHARED_LANES), ("4", "drive links")])
def test_lanes_are_shared_where_there_are_fewer_than_members(ports: str, name: str) -> None:
    tables = change(change(copy(), "BOX-12", backplane="expander"), "CARD", ports=ports)
    prices = price_list(tables)
    (one,) = ahead(build(prices, "BOX-12 CARD DISK-8T", RAID5), prices)
    assert held_back(one, np.array([STATIONS.index("drive links")], np.int8)) == name


def test_no_stages_of_a_rebuild_that_nobody_can_time() -> None:
    def stages(layout: Layout, **cells: str) -> object:
        prices = price_list(change(copy(), "DISK-8T", **cells))
        (one,) = ahead(build(prices, "BOX-12 CARD DISK-8T", layout), prices)
        return outlook(one).rebuild_stages

    assert stages(RAID5) != ()
    assert stages(RAID5, seek_ms="") == ()
    assert stages(Layout("0", 4)) == ()


def test_a_host_that_rests_adds_no_stage_to_a_rebuild() -> None:
    """Where the links set the pace, on the inner tracks as well as on the outer ones."""
    (one,) = ahead(build(PRICES, "BOX-12 CARD DISK-8T", RAID5))
    slow = replace(one.f, path=replace(one.f.path, link_mb_s=np.array([50.0])))
    rest = np.array([0.0])
    resting = replace(one.day, told=True, utilisation=rest, drive_ops_per_s=rest)
    stages = outlook(replace(one, f=slow, day=resting)).rebuild_stages
    assert {stage.stage for stage in stages} == {"waiting", "rebuild, idle host"}


def test_a_drive_that_does_not_outlive_its_rebuild_has_no_chance_of_loss() -> None:
    """To the hour, the swap included: nothing is known then, and a minute sooner all is."""
    (one,) = ahead(build(PRICES, "BOX-12 CARD DISK-8T", RAID5))
    worst = mttf_range(one.f.mttf_hours, workings.media(one.f)).worst
    just = replace(one.window, busy_hours=worst - ATTENDED_SWAP_HOURS)
    assert just.busy_hours + ATTENDED_SWAP_HOURS == worst
    assert np.isnan(workings.protection(one.f, just).rebuild_hours)
    sooner = replace(just, busy_hours=just.busy_hours - 1 / 60)
    found = workings.protection(one.f, sooner).rebuild_hours
    assert found == pytest.approx(float(one.window.loaded_hours[0]))


@pytest.mark.parametrize("load", [FILES, UNTOLD])
def test_hot_spares_wait(load: Workload) -> None:
    """Each adds its 7 W, whatever the others do; all drives at work are 4 W more each."""
    none, two = (
        power(build(PRICES, "BOX-12 CARD DISK-8T", Layout("5", 4, 1, n)), load=load)["mean_watts"]
        for n in (0, 2)
    )
    assert none.low and none.value and none.high and two.low and two.value and two.high
    assert (two.low - none.low, two.value - none.value) == pytest.approx((14, 14))
    assert two.high - none.high == pytest.approx(22)


def test_two_digits_are_shown_where_more_would_mislead() -> None:
    found = power(build(PRICES, "BOX-12 CARD DISK-8T", RAID5))["supply_pct"]
    assert found.value is not None
    assert found.shown == f"{figure(found.value, 2)} %" != f"{figure(found.value, 3)} %"
    flash = build(PRICES, "BOX-8 MEZZ FLASH-1T", Layout("5", 3))
    (wear,) = (e for e in array_estimates(ahead(flash)[0]) if e.key == "wear_years")
    assert wear.value is not None
    assert wear.shown == f"{figure(wear.value, 2)} years"


def test_odds_are_no_odds_where_nothing_is_lost() -> None:
    assert losing._about(Chance(value=0, low=0, high=0))[0] == "0 %"
    assert losing._about(Chance(value=0.002, low=0, high=1))[0].endswith(", 1 in 50,000")


def test_a_range_without_width_is_not_shown() -> None:
    def shown(*values: float) -> str:
        return made("speed", "k", "n", "h", values, basis="b", sources=()).shown_range  # type: ignore[arg-type]

    assert (shown(2, 2, 2), shown(1, 2, 3), shown(2, 2, 3), shown(1, 2, np.inf)) == (
        "",
        "1.00 to 3.00 h",
        "2.00 to 3.00 h",
        "from 1.00 h",
    )


def test_three_others_are_drawn_at_most() -> None:
    own = build(PRICES, "BOX-12 CARD DISK-8T", RAID5)
    alone = outlook(ahead(own)[0])
    others = [(f"other {n}", own) for n in range(5)]
    for many in (1, 3, 4, 5):
        drawn = with_others(alone, others[:many], FILES).curves
        assert [curve.proposed for curve in drawn] == [True] + [False] * min(many, 3)


def test_arrays_that_share_a_controller_say_so() -> None:
    two = build(PRICES, "BOX-12 CARD DISK-8T CARD DISK-4T", RAID5, Layout("1", 2))
    alone = build(PRICES, "BOX-12 CARD DISK-8T", RAID5)
    said = [dict(drive_inputs(o)).get("arrays on its controller") for o in ahead(two)]
    assert said == ["2, each with a fair share"] * 2
    assert "arrays on its controller" not in dict(drive_inputs(ahead(alone)[0]))


def test_where_the_time_of_an_operation_goes_adds_up() -> None:
    shown = outlook(ahead(build(PRICES, "BOX-12 CARD DISK-8T", RAID5))[0])
    assert sum(s.pct for s in shown.time_shares) == pytest.approx(100, rel=1e-4)
    for share in shown.time_shares:
        assert share.pct == pytest.approx(100 * share.ms / shown.operation_ms, rel=1e-4)


def test_levels_that_take_as_many_drives_or_one_fewer() -> None:
    shown = outlook(ahead(build(PRICES, "BOX-12 CARD DISK-8T", Layout("5", 7)))[0])
    members = {loss.level: loss.members for loss in shown.level_losses}
    assert members["5"] == members["6"] == members["0"] == 7
    assert members["10"] == members["50"] == 6
    assert members["1"] == 2  # takes no more than two
    assert "60" not in members


@pytest.mark.parametrize(
    ("names", "cached"),
    [
        ("BOX-12 CARD DISK-8T", True),  # with a module that protects it
        ("BOX-12 BARE DISK-8T", False),  # a cache that forgets
        ("BOX-12 MEZZ DISK-8T", False),  # none at all
    ],
)
def test_only_a_cache_that_remembers_counts(names: str, cached: bool) -> None:
    keys = {e.key for e in array_estimates(ahead(build(PRICES, names, RAID5))[0])}
    assert ({"burst_seconds", "destage_mb_s"} <= keys) is cached
    assert ("destage_mb_s" in keys) is cached


def test_arrays_that_differ_in_their_slot_alone_are_not_taken_for_one() -> None:
    (array,) = build(PRICES, "BOX-8 MEZZ FLASH-1T", RAID5).arrays
    wide, narrow, again = screen(
        [Behind(array, 8000.0), Behind(array, 50.0), Behind(array, 8000.0)], FILES, PRICES.terms
    )
    assert wide == again
    assert wide.host_mb_s and narrow.host_mb_s and wide.host_mb_s > 100
    assert narrow.host_mb_s == pytest.approx(50)
