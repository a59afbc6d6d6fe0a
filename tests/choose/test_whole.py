"""The choice of a whole server, and what is told beside it, against trying everything.

And the choice against an integer program. Trying everything takes its time, so that a run looks at
some lists. For five hundred:

    WHOLE_LISTS=500 .venv/bin/python -m pytest -q tests/choose/test_whole.py
"""

import math
import os
import random
from collections.abc import Iterator, Sequence
from dataclasses import replace
from decimal import Decimal

import numpy as np
import pytest

from quotelib.catalogue.free_slots import SlotsWanted
from quotelib.catalogue.price_list import PriceList
from quotelib.choose import server_counts
from quotelib.choose.alternatives import find_alternatives_of_server, has_ceiling
from quotelib.choose.search import MOST_PRICE, Choice, choose
from quotelib.choose.server import best_of, choose_server, single_array
from quotelib.choose.strongest import Strongest
from quotelib.choose.wishes import without
from quotelib.enquiry.request import ServerAsked
from tests.choose.every_server import Server, demands, every_server, possible
from tests.choose.integer_program import Program
from tests.choose.orders import as_ranked, random_list, random_server
from tests.choose.rich import rich_list, rich_server

Values = tuple[float, float, float, float]
FREE_SLOTS = (SlotsWanted(4, "low", 0),)
LISTS = int(os.environ.get("WHOLE_LISTS", "36"))


def servers(start: int, count: int) -> Iterator[tuple[int, PriceList, ServerAsked]]:
    """Draw lists and servers of one to three arrays, of which something is left to choose."""
    for seed in range(start, start + count):
        rng = random.Random(seed)
        arrays = (2, 3, 2, 2, 1, 2)[seed % 6]
        if seed % 6 in (0, 4, 5):
            prices = random_list(rng)
            asked: ServerAsked | None = random_server(rng, prices, arrays=arrays)
        else:
            prices = rich_list(rng, most_bays=4 if arrays > 2 else 5)
            asked = rich_server(rng, prices, arrays)
        if asked is not None:
            yield seed, prices, asked


@pytest.mark.parametrize("start", range(0, LISTS, 18))
def test_equal_to_trying_everything(start: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """Build, net and ties; how many there are, fit and meet; what each demand took; strengths."""
    monkeypatch.setattr(server_counts, "MOST_MADE", 10**9)
    found = counted = took = stronger = near = 0
    for seed, prices, asked in servers(start, 18):
        accept = asked.base.accept
        every = list(every_server(prices, asked))
        meeting = sorted((s for s in every if not s.missed), key=lambda s: s.ranked(accept))
        choice = choose_server(prices, asked)
        if not meeting:
            assert choice.best is None and choice.refused, seed
        else:
            assert choice.best is not None, seed
            assert as_ranked(choice.best, asked) == meeting[0].ranked(accept), seed
        counts = choice.counts
        assert counts is not None
        told = counts.possible, counts.fit, counts.meet, counts.fit_at_least, counts.meet_at_least
        expected = possible(prices, asked), len(every), len(meeting), False, False
        assert told == expected, seed
        if single_array(asked) is None:
            took += removed_as_expected(prices, asked, choice, every, seed)
            near += nearest_as_expected(prices, asked, choice, every, seed)
            stronger += strengths_as_expected(prices, asked, choice, meeting, seed)
        if meeting and not single_array(asked):
            less = harder(asked, seed)
            none = choose_server(prices, less)
            near += nearest_as_expected(prices, less, none, list(every_server(prices, less)), seed)
        found += bool(meeting)
        counted += len(meeting)
    assert found >= 2, "lists that allow nothing prove nothing"
    assert counted > 20 and took > 10 and stronger >= 3 and near


def harder(asked: ServerAsked, seed: int) -> ServerAsked:
    """Ask for something that nothing on a small list gives."""
    of_array: tuple[dict[str, object], ...] = (
        {"usable_tb": Decimal(60)}, {"host_iops": Decimal(10**7)},
        {"max_loss_pct": Decimal("1e-9")}, {"max_response_ms": Decimal("0.001")},
    )  # fmt: skip
    of_server: tuple[dict[str, object], ...] = (
        {"max_watts": Decimal(60)}, {"max_price": Decimal(20)},
        {"free_slots": FREE_SLOTS}, {"max_lead_days": 0},
    )  # fmt: skip
    first, *others = asked.arrays
    if seed % 2:
        return replace(asked, arrays=(first.change(**of_array[seed % 8 // 2]), *others))
    wish = of_server[seed % 8 // 2]
    rows = tuple(row.change(**wish) for row in asked.arrays)
    return ServerAsked(asked.base.change(**wish), rows)


def removed_as_expected(
    prices: PriceList, asked: ServerAsked, choice: Choice, every: Sequence[Server], seed: int
) -> int:
    """Compare what each demand took, and what leaving it out saves."""
    accept, took = asked.base.accept, 0
    wanted = demands(prices, asked)
    assert len(choice.removed) == len(wanted)
    for one, (place, demand) in zip(choice.removed, wanted, strict=True):
        row = None if place is None else asked.arrays[place]
        assert (one.demand.column, one.array, one.at_least) == (demand.column, row, False), seed
        number = sum(s.missed == {(place, demand.column)} for s in every)
        assert one.builds == number, (seed, demand.column)
        took += number
        saves = None
        if (asked.base if row is None else row).value(demand.column) is not None:
            less = without(asked, row, demand.column)
            still = {(number, d.column) for number, d in demands(prices, less)}
            # Without cores or memory asked for nothing is added for them.
            adds = demand.column in ("cores", "memory_gb")
            pool = list(every_server(prices, less)) if adds else every
            left = [s for s in pool if not s.missed & still]
            if left and choice.best is not None:
                best = min(left, key=lambda s: s.ranked(accept))
                assert choice.best.net is not None and best.whole.net is not None
                saves = choice.best.net - best.whole.net
                saves = saves if saves > 0 else None
        assert one.saves == saves, (seed, demand.column)
    return took


def nearest_as_expected(
    prices: PriceList, asked: ServerAsked, choice: Choice, every: Sequence[Server], seed: int
) -> int:
    """Compare, of a refusal, which demands bind and what comes nearest to each."""
    if choice.best is not None:
        assert choice.nearest == () and choice.largest is None
        return 0
    accept, codes = asked.base.accept, []
    near = {(one.demand.column, one.array): one.candidate for one in choice.nearest}
    for place, demand in demands(prices, asked):
        if demand.column in ("cores", "memory_gb"):
            continue  # without it nothing is added, so that no such server is among all
        row = None if place is None else asked.arrays[place]
        own = (asked.base if row is None else row).value(demand.column)
        others = [s for s in every if s.missed == {(place, demand.column)}]
        codes += [demand.column] * bool(others and own is not None)
        sound = [s for s in others if not s.whole.open_advice(accept)]
        got = near.get((demand.column, row))
        assert (got is not None) == bool(sound and own is not None), (seed, demand.column)
        if got is None:
            continue
        least = min(s.shortfall(place, demand) for s in sound)
        (same,) = (s for s in sound if s.whole.build == got.build)
        within = 1 if demand.column == "max_watts" else abs(least) * 1e-9
        assert same.shortfall(place, demand) <= least + within, (seed, demand.column)
    told = [reason.code for reason in choice.refused if "with all else as asked" in reason.change]
    assert set(codes) <= set(told), seed
    return len(near)


def strengths_as_expected(
    prices: PriceList, asked: ServerAsked, choice: Choice, meeting: Sequence[Server], seed: int
) -> int:
    """Compare which server is fastest, safest and largest."""
    best = choice.best
    if best is None:
        return 0
    accept, sound = asked.base.accept, not best.open_advice(asked.base.accept)
    most = (best.net_of_builds or Decimal(0)) * MOST_PRICE
    pool = [
        s for s in meeting
        if (s.whole.net_of_builds or 0) <= most and not (sound and s.whole.open_advice(accept))
    ]  # fmt: skip
    gives = {
        "fastest": lambda s: s.iops,
        "least_risk": lambda s: None if s.loss_pct is None else -s.loss_pct,
        "most_capacity": lambda s: s.whole.usable_bytes,
    }
    within = [s for s in meeting if not (sound and s.whole.open_advice(accept))]
    front_as_expected(choice, within if has_ceiling(asked.base) else pool, seed)
    strongest = Strongest(prices, asked, sound=sound, most=most)
    compared = 0
    for kind, give in gives.items():
        known = [s for s in pool if give(s) is not None]
        got = strongest.strongest(kind)  # type: ignore[arg-type]
        if not known:
            assert got is None, (seed, kind)
            continue
        top = max(map(give, known))
        alike = [s for s in known if give(s) >= top - abs(top) * 1e-11]
        expected = min(alike, key=lambda s: s.ranked(accept))
        assert got is not None, (seed, kind)
        assert as_ranked(got, asked) == expected.ranked(accept), (seed, kind)
        assert got.host_iops == pytest.approx(expected.iops)
        assert got.loss_pct == pytest.approx(expected.loss_pct)
        compared += 1
    if not has_ceiling(asked.base):
        for other in find_alternatives_of_server(prices, asked, best):
            assert (other.candidate.net_of_builds or 0) <= most
            assert set(other.kinds) <= {"fastest", "least_risk"}
    return compared


def front_as_expected(choice: Choice, pool: Sequence[Server], seed: int) -> None:
    """Compare what no other server beats."""

    def values(net: Decimal | None, iops: float | None, loss: float | None, size: int) -> Values:
        iops = -math.inf if iops is None else iops
        return -float(net or 0), iops, -math.inf if loss is None else -loss, float(size)

    points = [values(s.whole.net, s.iops, s.loss_pct, s.whole.usable_bytes) for s in pool]
    made = np.array(points)
    # The last digit of a sum may hang on its order.
    hair = np.abs(np.where(np.isfinite(made), made, 0)) * 1e-11
    expected = {
        tuple(one) for one, less in zip(made, made + hair, strict=True)
        if not ((made + hair >= one).all(axis=1) & (made > less).any(axis=1)).any()
    }  # fmt: skip
    found = [values(c.net, c.host_iops, c.loss_pct, c.usable_bytes) for c in choice.front]
    assert [-one[0] for one in found] == sorted(-one[0] for one in found), seed
    for one in found:
        assert any(one == pytest.approx(other, rel=1e-9) for other in expected), seed
    for other in expected:
        assert any(one == pytest.approx(other, rel=1e-9) for one in found), seed


def test_what_takes_too_long_to_count_is_a_lower_bound(monkeypatch: pytest.MonkeyPatch) -> None:
    rng = random.Random(0)
    prices = random_list(rng)
    asked = random_server(rng, prices, arrays=2)
    exact = choose_server(prices, asked).counts
    assert exact is not None and exact.meet > 0
    monkeypatch.setattr(server_counts, "MOST_WEIGHED", 3_000)
    choose_server.cache_clear()
    less = choose_server(prices, asked).counts
    assert less is not None
    assert less.fit_at_least and less.fit < exact.fit and less.meet <= exact.meet
    assert less.possible == exact.possible
    assert f" at least {less.fit:,} fit" in less.words


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
        got = best_of(prices, asked)
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
