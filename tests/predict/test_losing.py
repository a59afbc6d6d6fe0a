"""Is loss told truly: the array and any data apart, each with what goes, over real builds."""

from dataclasses import replace
from decimal import Decimal
from itertools import pairwise

import numpy as np
import pytest

from quotelib.catalogue.price_list import PriceList
from quotelib.choose.search import choose
from quotelib.documents.charts import loss_chart
from quotelib.estimate.reliability.assessment import expected_tb_lost
from quotelib.estimate.reliability.field_rates import mttf_range
from quotelib.estimate.reliability.loss import loss_probability
from quotelib.predict import inputs, workings
from quotelib.predict.estimate import Estimate
from quotelib.predict.forecast import forecast
from quotelib.predict.outlook import array_estimates, outlook
from quotelib.predict.screening import array_loss_pct, screen
from quotelib.promise.answer import answer
from quotelib.text import figure
from tests.asking import ask, order
from tests.predict.outlooks import DATE, array, estimate, record, sections_text
from tests.small_list import TABLES, change, copy, price_list

MIRROR = {"chassis": "CHS-2U-8L", "drive": "DRV-HDD-10T-SATA", "members": "2", "level": "1"}


@pytest.fixture(scope="module")
def redundant(starter: PriceList) -> inputs.Inputs:
    """Every different redundant array of the starter list, without and with a hot spare."""
    found: dict[object, inputs.Behind] = {}
    for spares in ("0", "1"):
        for candidate in choose(starter, ask(starter, usable_tb="0.1", spares=spares)).feasible:
            (one,) = candidate.build.arrays
            if one.layout.rule.survives:
                limit = one.controller.max_mb_s
                found.setdefault((one.drive, limit, one.layout), inputs.Behind(one, None))
    return inputs.inputs(list(found.values()))


def test_worse_drives_never_lose_less(redundant: inputs.Inputs) -> None:
    """With the chain ended by a bad sector, what was lost fell from 1.6e-5 TB to 3.4e-7."""
    arrays = len(redundant.spares)
    assert arrays > 355
    window = workings.rebuild(redundant)
    sheet = workings.protection(redundant, window)
    mttf = mttf_range(sheet.mttf_hours, workings.media(redundant)).expected
    before: list[np.ndarray] = []
    for rate in (0.0, 1e-17, 1e-16, 1e-15, 1e-14):
        loss = loss_probability(replace(sheet, mttf_hours=mttf, bit_error_rate=rate), 5.0)
        usable = redundant.usable_bytes / 1e12
        lost = expected_tb_lost(loss, usable_tb=usable, striped=True, strip_tb=2**18 / 1e12)
        now = [loss.array, loss.any_data, loss.strips, lost.low, lost.high]
        assert all(np.isfinite(x).all() for x in now)
        if before:
            assert (now[0] == before[0]).all()
            # The chance of any data rises by less than rounding where two or three must fail first.
            assert (now[1] >= before[1] * (1 - 1e-13)).all()
            assert (now[2] > before[2]).all()
            assert (now[3] > before[3]).all()
            assert (now[4] >= before[4] * (1 - 1e-13)).all()
        before = now


def test_a_mirror_is_not_advised_against_for_a_sector(starter: PriceList) -> None:
    """At 2.3 % of losing any data it was, and a dearer array with double parity proposed."""
    made = answer(starter, order(starter, **MIRROR), DATE)
    assert made.outcome == "quoted" and made.record is not None
    assert "loss_over_limit" not in {found.code for found in made.record.servers[0].findings}
    whole, some = array(made.record).outlook.losses
    assert whole.chance is not None and some.chance is not None
    assert whole.chance.value < 0.01 < float(starter.terms.risk.advise_loss_pct) < some.chance.value
    assert whole.bytes == array(made.record).capacity.usable_bytes
    assert some.bytes == 256 * 1024
    mean = estimate(made.record, "tb_lost")
    assert mean is not None and mean.value is not None
    assert mean.value == pytest.approx(whole.bytes / 1e12 * whole.chance.value / 100, rel=1e-3)
    # What is asked of any data stays asked.
    strict = answer(starter, order(starter, **MIRROR, max_loss_pct="1"), DATE)
    assert [reason.code for reason in strict.reasons] == ["max_loss_pct"]


def test_the_page_tells_both_with_their_amounts(starter: PriceList) -> None:
    made = answer(starter, order(starter, **MIRROR), DATE).record
    assert made is not None
    whole, some = array(made).outlook.losses
    words = " ".join(array(made).outlook.words)
    text = sections_text(made)
    assert f"The chance of losing the array, {whole.amount}, to failing drives" in words
    assert whole.amount.startswith("all 10.00 TB")
    for told in (whole, some):
        assert told.shown in words and told.shown_range in words
        assert told.shown in text and told.amount[1:] in text
    assert "losing any data, as little as a strip of 256 KiB around an unreadable sector" in words
    drawing = loss_chart(array(made))
    assert drawing is not None
    assert f"array: {whole.shown.split(',')[0]}" in drawing.words
    assert f"any data: {some.shown.split(',')[0]}" in drawing.words


@pytest.mark.parametrize(("level", "kind"), [("0", "array"), ("none", "drive")])
def test_without_redundancy_there_is_one_loss(small: PriceList, level: str, kind: str) -> None:
    pins = {"drive": "DISK-4T", "members": "3", "level": level, "accept": "no_redundancy"}
    made = record(small, **pins)
    (only,) = array(made).outlook.losses
    assert only.kind == kind
    held = array(made).capacity
    assert only.bytes == (held.usable_bytes if level == "0" else held.member_bytes)
    whole, some = estimate(made, "array_loss_pct"), estimate(made, "loss_pct")
    assert whole is not None and some is not None and whole.value == some.value


def test_an_unknown_error_rate_leaves_the_array_known() -> None:
    tables = change(copy(TABLES), "DISK-8T", bit_error_rate="")
    made = record(price_list(tables), drive="DISK-8T", members="6", level="6")
    whole, some = array(made).outlook.losses
    assert whole.chance is not None and some.chance is None and some.shown == "not known"
    (words,) = [w for w in array(made).outlook.words if "chance" in w]
    assert "That of losing any data is not known: no rate of unreadable sectors is stated" in words
    assert [found.any_data for found in array(made).outlook.level_losses if found.proposed] == [
        None
    ]


def test_alternatives_tell_both(starter: PriceList) -> None:
    made = answer(starter, order(starter, usable_tb="8", media="hdd"), DATE).record
    assert made is not None
    others = made.servers[0].alternatives
    assert len(others) > 1
    for other in others:
        assert other.loss_pct is not None and other.array_loss_pct is not None
        assert other.array_loss_pct <= other.loss_pct
        if not other.survives:
            assert other.array_loss_pct == pytest.approx(other.loss_pct)


def test_faster_parts_never_lengthen_a_rebuild(redundant: inputs.Inputs) -> None:
    """A faster controller lengthened 128 of them: it made the workload's closed loop busier."""
    before = workings.rebuild(redundant)
    path, arrays = redundant.path, len(redundant.spares)
    better = [
        replace(
            redundant, path=replace(path, controller_mb_s=np.asarray(path.controller_mb_s) * 2)
        ),
        replace(
            redundant, path=replace(path, controller_iops=np.asarray(path.controller_iops) * 2)
        ),
        replace(redundant, path=replace(path, host_link_mb_s=np.full(arrays, np.inf))),
        replace(redundant, path=replace(path, link_mb_s=np.asarray(path.link_mb_s) * 2)),
        replace(redundant, write_mb_s=redundant.write_mb_s * 1.3),
        replace(redundant, read_mb_s=redundant.read_mb_s * 1.3),
        replace(redundant, seek_ms=redundant.seek_ms * 0.5),
        replace(redundant, rpm=redundant.rpm * 1.5),
        replace(redundant, read_iops=redundant.read_iops * 2, write_iops=redundant.write_iops * 2),
    ]
    shortened = 0
    for f in better:
        after = workings.rebuild(f)
        for name in ("idle_hours", "loaded_hours", "busy_hours"):
            assert (getattr(after, name) <= getattr(before, name) * (1 + 1e-14)).all(), name
            shortened += np.count_nonzero(getattr(after, name) < getattr(before, name) * 0.99)
    assert shortened > arrays


def test_longer_rebuilds_and_slower_replacements_never_lower_the_loss(
    redundant: inputs.Inputs,
) -> None:
    window = workings.rebuild(redundant)
    assert (window.idle_hours < window.loaded_hours).all()
    assert (window.loaded_hours < window.busy_hours).all()
    sheet = workings.protection(redundant, window)
    mttf = mttf_range(sheet.mttf_hours, workings.media(redundant)).expected
    chances = [
        loss_probability(replace(sheet, mttf_hours=mttf, rebuild_hours=hours), 5.0)
        for hours in (window.idle_hours, window.loaded_hours, window.busy_hours)
    ]
    for before, after in pairwise(chances):
        assert (after.array > before.array).all()
        assert (after.any_data >= before.any_data * (1 - 1e-13)).all()


PAGES = [
    {"drive": "DRV-HDD-10T-SATA", "members": "6", "level": "6"},
    {"media": "ssd", "members": "4", "level": "5"},
    {"media": "hdd", "members": "4", "level": "5", "workload": "backup_target"},
    {"media": "ssd", "members": "4", "level": "10", "spares": "1"},
    {"media": "hdd", "level": "none", "accept": "no_redundancy"},
]


@pytest.mark.parametrize("cells", PAGES)
def test_page_and_choice_take_the_rebuild_that_the_page_prints(
    starter: PriceList, cells: dict[str, str]
) -> None:
    """The page showed 0.0083 % by the idle rebuild and a choice by another gave 0.028 %."""
    build = choose(starter, ask(starter, usable_tb="1", **cells)).feasible[0].build
    (one,) = build.arrays
    load = starter.workloads[cells["workload"]] if "workload" in cells else None
    ahead = forecast(build, one, load, starter.terms)
    printed = {e.key: e for e in array_estimates(ahead)}
    behind = inputs.behind(build, one)
    (screened,) = screen([behind], load, starter.terms)
    assert screened.loss_pct == pytest.approx(printed["loss_pct"].value, rel=1e-12)
    assert array_loss_pct([behind], load, starter.terms) == [
        pytest.approx(printed["array_loss_pct"].value, rel=1e-12)
    ]
    whole, *_ = (e for e in outlook(ahead).level_losses if e.proposed)
    assert whole.array.value == pytest.approx(printed["array_loss_pct"].value, rel=1e-5)
    if not one.layout.rule.survives:
        return
    hours = printed["rebuild_hours"]
    sheet = workings.protection(ahead.f, ahead.window)
    # The chain's own hours are those of the page, value and both ends.
    assert float(np.asarray(sheet.rebuild_hours)[0]) == hours.value
    lives = mttf_range(sheet.mttf_hours, workings.media(ahead.f))
    assert hours.value is not None and hours.low is not None and hours.high is not None

    def lost(life: object, rebuild: float, factor: float = 1.0) -> float:
        case = replace(sheet, mttf_hours=life, rebuild_hours=rebuild, after_failure_factor=factor)  # type: ignore[arg-type]
        return 100 * float(loss_probability(case, ahead.years).array[0])

    worse = max(lost(lives.worst, hours.high), lost(lives.expected, hours.high, 10.0))
    for found, end in (
        (lost(lives.expected, hours.value), printed["array_loss_pct"].value),
        (lost(lives.best, hours.low), printed["array_loss_pct"].low),
        (worse, printed["array_loss_pct"].high),
    ):
        assert found == pytest.approx(end, rel=1e-12)
    # And the page says them where it says the chance.
    told = {i.label: i.value for i in printed["loss_pct"].inputs}["rebuild"]
    assert told.startswith(f"{figure(hours.value)} h (")


def stated(starter: PriceList, **terms: object) -> PriceList:
    risk = starter.terms.risk.model_copy(update=terms)
    return replace(starter, terms=starter.terms.model_copy(update={"risk": risk}))


def test_a_scrub_that_is_stated_narrows_the_range(starter: PriceList) -> None:
    cells = {"drive": "DRV-HDD-10T-SATA", "members": "4", "level": "5"}
    build = choose(starter, ask(starter, usable_tb="1", **cells)).feasible[0].build

    def found(prices: PriceList) -> dict[str, Estimate]:
        return {
            e.key: e for e in array_estimates(forecast(build, build.arrays[0], None, prices.terms))
        }

    unsaid, monthly = (found(stated(starter, scrub_days=days)) for days in (None, 30))
    weekly = found(stated(starter, scrub_days=7))
    for key in ("unreadable_pct", "loss_pct", "strips_lost"):
        plain, more, most = (each[key] for each in (unsaid, monthly, weekly))
        assert plain.value == more.value == most.value
        assert plain.high > more.high >= most.high >= most.value  # type: ignore[operator]
        assert plain.low == more.low > most.low  # type: ignore[operator]
    assert "never scrubbed" in unsaid["loss_pct"].basis
    assert "never scrubbed" not in weekly["loss_pct"].basis
    assert "scrubbed every 7 days, as stated" in weekly["unreadable_pct"].basis
    assert unsaid["array_loss_pct"].high == weekly["array_loss_pct"].high


def test_a_restore_rate_that_is_stated_counts(starter: PriceList) -> None:
    cells = {"drive": "DRV-HDD-10T-SATA", "members": "4", "level": "5"}
    build = choose(starter, ask(starter, usable_tb="1", **cells)).feasible[0].build
    prices = stated(starter, restore_mb_s=Decimal(80))
    ahead = forecast(build, build.arrays[0], None, prices.terms)
    found = {e.key: e for e in array_estimates(ahead)}["restore_hours"]
    wanted = build.arrays[0].usable_bytes / 80e6 / 3600
    assert found.low == found.value == pytest.approx(wanted)
    assert found.high == pytest.approx(2 * wanted)
    assert "the 80 MB/s that backups are read back at" in found.basis
    assert found.sources == ("bytes divided by rate",)
    unsaid = {
        e.key: e for e in array_estimates(forecast(build, build.arrays[0], None, starter.terms))
    }
    # Nobody has stated a rate: that of the network stands in, and its source with it.
    assert any("802.3" in source for source in unsaid["restore_hours"].sources)
