"""What a quote waits for: its items share what is in stock."""

from collections import Counter

from hypothesis import given
from hypothesis import strategies as st

from quotelib.catalogue.parts import Part
from quotelib.catalogue.price_list import PriceList
from quotelib.ready.stock import missing, of_parts

PARTS = ("DISK-4T", "DISK-8T")
NEEDS = st.lists(st.dictionaries(st.sampled_from(PARTS), st.integers(1, 9)), max_size=4)
STOCKS = st.fixed_dictionaries({sku: st.integers(0, 20) for sku in PARTS})
DAYS = st.fixed_dictionaries({sku: st.integers(0, 30) for sku in PARTS})


def stocked(small: PriceList, stock: dict[str, int], days: dict[str, int]) -> dict[str, Part]:
    return {
        sku: small.drives[sku].model_copy(update={"stock": stock[sku], "lead_days": days[sku]})
        for sku in PARTS
    }


def waits(parts: dict[str, Part], needs: list[dict[str, int]]) -> list[int]:
    items = [{parts[sku]: number for sku, number in item.items()} for item in needs]
    return [found.lead_days for found in missing(items)]


@given(needs=NEEDS, stock=STOCKS, more=STOCKS, days=DAYS)
def test_the_longest_wait_is_that_of_the_whole_and_more_stock_shortens_it(
    small: PriceList,
    needs: list[dict[str, int]],
    stock: dict[str, int],
    more: dict[str, int],
    days: dict[str, int],
) -> None:
    found = waits(stocked(small, stock, days), needs)
    whole: Counter[str] = Counter()
    for item in needs:
        whole.update(item)
    late = [days[sku] for sku, number in whole.items() if number > stock[sku]]
    assert max(found, default=0) == max(late, default=0)
    fuller = {sku: stock[sku] + more[sku] for sku in PARTS}
    after = waits(stocked(small, fuller, days), needs)
    assert all(a <= b for a, b in zip(after, found, strict=True))


def test_what_comes_first_takes_first(small: PriceList) -> None:
    parts = stocked(small, {"DISK-4T": 10, "DISK-8T": 0}, {"DISK-4T": 6, "DISK-8T": 9})
    needs = [{"DISK-4T": 8}, {"DISK-4T": 8}, {"DISK-8T": 1}, {}]
    assert waits(parts, needs) == [0, 6, 9, 0]
    one, other = missing([{parts["DISK-4T"]: 10}, {parts["DISK-4T"]: 1}])
    assert (one.parts, [part.sku for part in other.parts]) == ((), ["DISK-4T"])
    assert of_parts([parts["DISK-4T"]] * 3) == {parts["DISK-4T"]: 3}
