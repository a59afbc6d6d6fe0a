"""Services that an enquiry chooses: what may be asked for, and what the choice makes of it."""

import datetime as dt
from decimal import Decimal

import pytest

from quotelib.catalogue.price_list import PriceList
from quotelib.choose.enumeration import verdicts
from quotelib.choose.options import judge_all
from quotelib.choose.search import choose
from quotelib.errors import InputError
from quotelib.promise.answer import answer
from tests.asking import ask, chosen, order
from tests.services import PINS, prices

PRICES = prices()
DATE = dt.date(2026, 3, 2)
OPEN = {"usable_tb": "7", "survive": "1"}


@pytest.mark.parametrize(
    ("cell", "words"),
    [
        (
            "VISITS",
            "'VISITS', which is not among the price list's services to choose from; use VISIT, "
            "CERT, TUNE, FLASH, LOOK or MOVE",
        ),
        ("VISIT;PAPER*2", "has 'PAPER', which is always done; leave it out"),
        ("ASSEMBLE", "has 'ASSEMBLE', which is always done; leave it out"),
        ("VISIT*0", "'VISIT*0' in its list; separate skus by ';'"),
        ("VISIT*100", "asks for 100 of 'VISIT'; separate skus by ';' and put a count of 1 to 99"),
    ],
)
def test_what_cannot_be_asked_for(cell: str, words: str) -> None:
    with pytest.raises(InputError) as caught:
        ask(PRICES, **OPEN, services=cell)
    (problem,) = caught.value.problems
    assert problem.column == "services"
    assert words in str(problem)


def test_a_list_without_services_to_choose_says_so(small: PriceList) -> None:
    with pytest.raises(InputError) as caught:
        ask(small, **OPEN, services="VISIT")
    assert "leave it blank: the price list has none" in str(caught.value)


def test_a_cell_comes_back_as_it_was_meant() -> None:
    enquiry = ask(PRICES, **OPEN, services="VISIT*2; MOVE")
    assert ask(PRICES, **enquiry.cells()) == enquiry
    assert enquiry.deal.services == ("VISIT", "VISIT", "MOVE")


@pytest.mark.parametrize(
    ("service", "change"),
    [("TUNE", {"controller": "THROUGH"}), ("FLASH", {"chassis": "BOX-4"}), ("LOOK", {})],
)
def test_a_service_that_would_never_be_done_refuses(service: str, change: dict[str, str]) -> None:
    pins = {**PINS, "chassis": "BOX-12", "level": "", "controller": "", **change}
    if service == "FLASH":
        pins |= {"controller": "BOARD"}
    cells = {"usable_tb": "1", **pins}
    assert choose(PRICES, ask(PRICES, **cells)).best is not None
    (reason,) = choose(PRICES, ask(PRICES, **cells, services=f"VISIT;{service}")).refused
    assert reason.code == "service_elsewhere"
    assert f"the service {service} takes" in reason.words
    assert reason.words.endswith("or leave the service out")


def test_what_it_would_never_be_done_on_is_not_chosen() -> None:
    cells = {"usable_tb": "3", "accept": "no_redundancy"}
    assert chosen(PRICES, **cells).arrays[0].layout.level == "none"
    served = [v.build for v in verdicts(PRICES, ask(PRICES, **cells, services="TUNE"))]
    sound = [
        v.build for v in verdicts(PRICES, ask(PRICES, **cells, services="TUNE")) if not v.stops
    ]
    assert sound and len(sound) < len(served)
    assert all(array.layout.rule.is_array for build in sound for array in build.arrays)
    assert chosen(PRICES, **cells, services="TUNE").arrays[0].layout.level == "0"
    fitted = chosen(PRICES, **cells, services="FLASH")
    assert fitted.arrays[0].controller.takes != "board"


def test_a_form_tells_which_options_it_leaves() -> None:
    judged = judge_all(PRICES, ask(PRICES, usable_tb="3", services="TUNE"), ["level", "controller"])
    state, why = judged["level"]["none"]
    assert state == "impossible"
    assert "the service TUNE takes a RAID level" in why
    assert judged["level"]["1"] == ("", "")
    assert judged["controller"]["THROUGH"][0] == "impossible"


def test_a_budget_is_held_against_one_build_alone() -> None:
    # 500 + 100 x 2 + 12 x 2 + 55 + 5 x 2 + 41 + 80, and freight of 29.84; MOVE and PAPER apart.
    cells = {**PINS, "services": "VISIT;MOVE*3"}
    best = choose(PRICES, ask(PRICES, **cells, max_price="939.84")).best
    assert best is not None
    assert (best.net, best.once_total) == (Decimal("1843.09"), Decimal("903.25"))
    (reason,) = choose(PRICES, ask(PRICES, **cells, max_price="939.83")).refused
    assert reason.code == "max_price"
    assert "nearest with all else as asked is GBP 939.84 a build" in reason.words


def test_the_choice_is_the_same_and_every_net_holds_what_is_charged_once() -> None:
    plain, moved = (
        answer(PRICES, order(PRICES, **OPEN, services=services), DATE).record
        for services in ("", "MOVE*2")
    )
    assert plain is not None and moved is not None
    (one,), (other,) = plain.servers, moved.servers
    assert one.pins() == other.pins()
    more = moved.totals.net - plain.totals.net
    assert more == moved.totals.once_total - plain.totals.once_total == Decimal("600.50")
    assert one.alternatives and one.controllers is not None and other.controllers is not None
    assert [a.kinds for a in one.alternatives] == [a.kinds for a in other.alternatives]
    for before, after in zip(one.alternatives, other.alternatives, strict=True):
        assert (after.pins, after.net) == (before.pins, before.net + more)
        assert after.net_difference == before.net_difference
        assert after.net == moved.totals.net + after.net_difference
    rows = zip(one.controllers.rows, other.controllers.rows, strict=True)
    priced = [(was, now) for was, now in rows if was.net is not None]
    assert priced
    assert all(now.net == (was.net or 0) + more for was, now in priced)
    assert one.room == other.room  # and with it what keeping a slot free costs
