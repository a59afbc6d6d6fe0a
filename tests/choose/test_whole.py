"""The choice of a whole server against trying everything, and against an integer program.

Trying everything takes its time, so that a run looks at fifty lists. For two hundred:

    WHOLE_LISTS=200 .venv/bin/python -m pytest -q tests/choose/test_whole.py
"""

import os
import random
from dataclasses import replace
from decimal import Decimal

import pytest

from quotelib.choose.search import choose
from quotelib.choose.server import choose_server, single_array
from quotelib.choose.whole import Search
from quotelib.enquiry.request import ServerAsked
from tests.choose.integer_program import Program
from tests.choose.orders import as_ranked, best_of_all, random_list, random_server

LISTS = int(os.environ.get("WHOLE_LISTS", "50"))


@pytest.mark.parametrize("start", range(0, LISTS, 25))
def test_equal_to_trying_everything(start: int) -> None:
    found = 0
    for seed in range(start, start + 25):
        rng = random.Random(seed)
        prices = random_list(rng)
        asked = random_server(rng, prices, arrays=2)
        choice = choose_server(prices, asked)
        everything = best_of_all(prices, asked)
        if everything is None:
            assert choice.best is None, seed
            assert choice.refused, seed
        else:
            found += 1
            assert choice.best is not None, seed
            assert as_ranked(choice.best, asked) == everything, seed
    assert found >= 8, "lists that allow nothing prove nothing"


def easier(asked: ServerAsked) -> ServerAsked:
    """Ask for little, so that three arrays find room in five bays."""
    small, *others = asked.arrays
    wishes = ("survive", "media", "spares", "level", "controller", "host_iops", "max_response_ms")
    less = (row.change(usable_tb=Decimal("0.5")).without(*wishes) for row in others)
    base = asked.base.without("free_slots", "max_price", "options")
    return replace(asked, base=base, arrays=(small, *less))


def test_three_arrays() -> None:
    found = 0
    for seed in range(3000, 3000 + max(LISTS // 3, 16)):
        rng = random.Random(seed)
        prices = random_list(rng)
        asked = easier(random_server(rng, prices, arrays=3))
        best, everything = choose_server(prices, asked).best, best_of_all(prices, asked)
        found += everything is not None
        assert (best and as_ranked(best, asked)) == everything, seed
    assert found >= 2


@pytest.mark.parametrize("start", range(1000, 1040, 10))
def test_one_array_is_chosen_the_same_way(start: int) -> None:
    """The search of whole servers, asked for one array, gives what its table gives."""
    found = 0
    for seed in range(start, start + 10):
        rng = random.Random(seed)
        prices = random_list(rng)
        asked = random_server(rng, prices, arrays=1)
        if single_array(asked) is None:
            continue
        expected = choose(prices, asked.arrays[0]).best
        sound = Search(prices, asked, sound=True).run()
        got = sound or Search(prices, asked, sound=False).run()
        if expected is None:
            assert got is None, seed
            continue
        found += 1
        assert got is not None, seed
        assert as_ranked(got, asked) == as_ranked(expected, asked), seed
    assert found >= 2


@pytest.mark.parametrize("arrays", [1, 2, 3])
def test_equal_to_an_integer_program(arrays: int) -> None:
    """The least net by scipy.optimize.milp (HiGHS), where net is a sum over parts."""
    found = 0
    for seed in range(2000, 2040):
        rng = random.Random(seed)
        prices = random_list(rng, linear=True)
        asked = random_server(rng, prices, arrays=arrays, linear=True)
        best = choose_server(prices, asked).best
        least = Program(prices, asked).least()
        if least is None:
            assert best is None, seed
            continue
        found += 1
        assert best is not None, seed
        freight = prices.terms.freight.base
        assert best.net is not None
        assert 100 * (best.net - freight) == least, seed
    assert found >= (15 if arrays < 3 else 5)
