"""What the estimates of rebuild and loss say they rest on: disks or flash, with or without a spare,
with redundancy or none; and growing an array by hand.
"""

from dataclasses import replace

import pytest

from quotelib.build.layout import Layout
from quotelib.catalogue.price_list import PriceList
from quotelib.predict import losing
from quotelib.predict.changing import change_estimates
from quotelib.predict.estimate import Estimate
from quotelib.predict.forecast import Forecast, forecast
from quotelib.predict.outlook import array_estimates
from quotelib.predict.shown import Chance
from quotelib.text import figure
from tests.small_list import build, change, copy, price_list

PRICES = price_list()
DISKS, FLASH = "BOX-12 CARD DISK-8T", "BOX-8 MEZZ FLASH-1T"

BATCH = {
    "factor after a first failure: Chen et al. 1994, Table 4",
    "that drives fail together: Maneas et al., FAST 2020",
}
SECTORS = {
    DISKS: {
        "unreadable sectors: Bairavasundaram, Goodson, Pasupathy and Schindler, SIGMETRICS 2007",
        "scrubbing: Schroeder, Damouras and Gill, FAST 2010",
    },
    FLASH: {"unreadable sectors: Schroeder, Lagisetty and Merchant, FAST 2016"},
}
FIELD = {
    DISKS: {
        "field rates: Schroeder and Gibson, FAST 2007",
        "Pinheiro, Weber and Barroso, FAST 2007",
    },
    FLASH: {"field rates: Maneas, Mahdaviani, Emami and Schroeder, FAST 2020"},
}


def ahead(names: str, layout: Layout, prices: PriceList = PRICES) -> Forecast:
    made = build(prices, names, layout)
    return forecast(made, made.arrays[0], prices.workloads["files"], prices.terms)


def found(names: str, layout: Layout, prices: PriceList = PRICES) -> dict[str, Estimate]:
    return {e.key: e for e in array_estimates(ahead(names, layout, prices))}


def inputs(one: Estimate) -> dict[str, str]:
    return {i.label: i.value for i in one.inputs}


@pytest.mark.parametrize("names", [DISKS, FLASH])
@pytest.mark.parametrize("layout", [Layout("5", 3), Layout("0", 3)], ids=["parity", "none"])
def test_sources_of_loss_are_those_of_the_drives_and_the_redundancy(
    names: str, layout: Layout
) -> None:
    said, survives = found(names, layout), layout.level == "5"
    rates = {losing.CHAIN, *FIELD[names], *(BATCH if survives else ())}
    sectors = SECTORS[names] if survives else set()
    assert set(said["array_loss_pct"].sources) == rates
    assert set(said["loss_pct"].sources) == rates | sectors
    assert said["mttdl_years"].sources == (losing.CHAIN,)
    assert ("unreadable_pct" in said) == ("strips_lost" in said) == survives
    for basis in (said["array_loss_pct"].basis, said["loss_pct"].basis):
        assert ("a bad batch" in basis) == survives
        assert "worst published field rate" in basis
    assert ("Unreadable sectors: " in said["loss_pct"].basis) == survives
    assert ("without redundancy they are one" in said["loss_pct"].basis) == (not survives)
    if survives:
        assert set(said["unreadable_pct"].sources) == {"binomial", "data sheet", *sectors}
        howard = "rewards of a chain: Howard, Dynamic Probabilistic Systems, 1971"
        assert set(said["strips_lost"].sources) == {losing.CHAIN, howard, *sectors}


@pytest.mark.parametrize("names", [DISKS, FLASH])
def test_a_rebuild_says_of_disks_what_is_none_of_flash(names: str) -> None:
    one, disks = found(names, Layout("5", 3))["rebuild_hours"], names == DISKS
    assert ("at the mean of a disk's tracks" in one.basis) == disks
    assert ("position anew at every MiB" in one.basis) == disks
    assert ("Holland and Gibson, ASPLOS 1992" in " ".join(one.sources)) == disks
    rate = "240 MB/s on outer tracks, 180 MB/s on all" if disks else "500 MB/s"
    assert inputs(one)["rate with an idle host"] == rate
    window = ahead(names, Layout("5", 3)).window
    left, least = 100 * float(window.loaded_share[0]), 100 * float(window.busy_share[0])
    shares = f"{left:.0f} %, with busy drives {least:.0f} %"
    assert inputs(one)["share of that rate left"] == shares


def test_what_is_waited_for_goes_by_the_hot_spare() -> None:
    for spares, wait in (
        (0, "24 h until somebody has replaced the drive"),
        (1, "0.25 h until a hot spare starts"),
    ):
        one = found(DISKS, Layout("5", 4, 1, spares))["exposed_hours"]
        assert one.basis.startswith(wait)
        assert inputs(one)["hot spares"] == str(spares)


def test_inputs_of_loss_are_those_of_the_price_list() -> None:
    said = inputs(found(DISKS, Layout("5", 4, 1, 1))["loss_pct"])
    assert said["MTTF on the data sheet"] == "2,000,000 h"
    assert said["unreadable sectors on the data sheet"] == "1e-15 a bit"
    assert said["members and spares"] == "4 and 1"
    assert said["years"] == "5"
    assert said["until a drive is replaced"] == "24 h where no hot spare is left"
    assert said["scrub"] == "interval not stated"
    bare = inputs(found(DISKS, Layout("0", 4))["loss_pct"])
    assert not {"rebuild", "until a drive is replaced", "scrub"} & set(bare)
    prices = price_list(change(copy(), "DISK-8T", mttf_hours="", bit_error_rate=""))
    unstated = found(DISKS, Layout("5", 4), prices)
    said = inputs(unstated["array_loss_pct"])
    assert said["MTTF on the data sheet"] == "not stated"
    assert said["unreadable sectors on the data sheet"] == "not stated"
    assert "The data sheet states no lifetime" in unstated["array_loss_pct"].basis
    assert unstated["array_loss_pct"].value is not None
    assert unstated["loss_pct"].value is None
    # Without redundancy nobody reads for a rebuild, and the error rate is not missed.
    assert found(DISKS, Layout("0", 4), prices)["loss_pct"].value is not None


def test_odds_are_said_of_less_than_a_hundredth_of_a_per_cent() -> None:
    def about(value: float) -> str:
        return losing._about(Chance(low=0, value=value, high=1))[0]

    assert about(0.0099).endswith(", 1 in 10,000")
    assert ", 1 in" not in about(0.01)
    assert losing._about(Chance(low=0.1, value=0.5, high=1))[1] == "0.10 to 1.0 %"


def test_growing_from_three_disks_to_four() -> None:
    """Two disks' worth of data: two thirds of a disk are read of each of three, and written."""
    o = ahead(DISKS, Layout("5", 4))
    growing = replace(o, array=replace(o.array, action="grow", their_drives=3))
    (one,) = change_estimates(growing)
    member = o.array.member_bytes
    idle = (2 * member / 3 / 250e6 + 2 * member / 3 / 240e6) / 3600
    for end, share in ((one.low, 1.0), (one.value, 0.3), (one.high, 0.1)):
        assert end == pytest.approx(idle / share, rel=1e-12)
    assert inputs(one)["held before"].startswith("16.00 TB")
    # Behind a slow link both rates are the link's.
    path = replace(o.f.path, link_mb_s=o.f.path.link_mb_s * 0 + 100.0)
    (slow,) = change_estimates(replace(growing, f=replace(o.f, path=path)))
    assert slow.low == pytest.approx(4 * member / 3 / 100e6 / 3600, rel=1e-12)


@pytest.mark.parametrize(
    "key", ["array_loss_pct", "tb_lost", "mttdl_years", "hours_without_data_year"]
)
def test_two_digits_of_a_risk_are_shown(key: str) -> None:
    one = found(DISKS, Layout("5", 4))[key]
    assert one.value is not None
    assert one.shown == f"{figure(one.value, 2)} {one.unit}" != f"{figure(one.value, 3)} {one.unit}"
