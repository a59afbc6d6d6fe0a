"""Which discount comes to a price or a margin that somebody has in mind: for the seller only."""

from collections.abc import Callable, Mapping
from decimal import Decimal
from functools import partial

from quotelib.enquiry.columns import COLUMNS
from quotelib.errors import InputError
from quotelib.promise.record import QuoteRecord
from quotelib.text import money
from quotelib.units import plain
from quotelib.workbook.background import Background
from quotelib.workbook.typed import read
from quotelib.workbook.widgets import Field, box, html, show

_MOST = 9_999
"""Hundredths of a percent; nothing is given away whole."""
At = Callable[[str], QuoteRecord | None]
_WORDS = {
    "each": ("Target price, each", "The smallest discount at which one costs no more"),
    "all": ("Target price, in all", "The smallest discount at which all of it costs no more"),
    "margin": ("Target margin, %", "The largest discount that leaves as much"),
}


class Targets:
    """Fields for a target, each of which sets the discount.

    `at` gives the builds on the page at another discount, `take` is told the cell of the discount,
    `failed` of a fault of ours.
    """

    def __init__(
        self,
        at: At,
        take: Callable[[Mapping[str, str]], None],
        failed: Callable[[Exception], None],
    ) -> None:
        self._at, self._take = at, take
        self._background = Background(failed)
        self._record: QuoteRecord | None = None
        self.fields = {
            name: Field(name=f"target_{name}", kind="number", label=label, help=tip)
            for name, (label, tip) in _WORDS.items()
        }
        for name, field in self.fields.items():
            field.observe(partial(self._given, name), "value")
        fields = box(self.fields.values(), "ql-fields", "ql-small")
        self.block = box([html("<h3>For the seller only: a target</h3>"), fields], "ql-stack")
        show(self.block, False)

    def of(self, record: QuoteRecord | None) -> None:
        """Take over the record on the page; None: there is none."""
        self._record = record
        each = record is not None and record.totals.net_per_build is not None
        show(self.fields["each"], each)
        if record is None:
            self._background.drop()
            for field in self.fields.values():
                field.value = field.error = field.notice = ""

    def _given(self, name: str, _: object) -> None:
        field = self.fields[name]
        field.error = field.notice = ""
        if self._record is None or not field.value.strip():
            return
        column = COLUMNS["discount_pct" if name == "margin" else "max_price"]
        cell = read(column, field.value, self._record.currency, ()).cell
        try:
            target = Decimal(cell)
            if not target.is_finite() or target < 0:
                raise ValueError
        except (ArithmeticError, ValueError):
            field.error = "is not a number, 0 or more."
            return
        self._background.start(
            [(partial(discount_for, name, target, self._at), partial(self._found, name))]
        )

    def _found(self, name: str, found: "tuple[str, QuoteRecord] | None") -> None:
        field = self.fields[name]
        if found is None:
            field.error = "No discount comes to that."
            return
        pct, record = found
        margin = record.internal.margin_pct
        said = f"{money(record.totals.net, record.currency)} in all"
        more = "" if margin is None else f", margin {plain(margin)} %"
        field.notice = f"At a discount of {pct or '0'} %: {said}{more}."
        self._take({"discount_pct": pct})


def discount_for(name: str, target: Decimal, at: At) -> tuple[str, QuoteRecord] | None:
    """Find the discount, in hundredths of a percent, and the quote at it; None: none comes to it.

    Both net and margin only fall as the discount rises, so that halving finds it.
    """

    def meets(hundredths: int) -> bool:
        record = quoted(hundredths)
        if record is None:
            return False
        if name == "margin":
            margin = record.internal.margin_pct
            return margin is None or margin < target
        each = record.totals.net_per_build
        net = record.totals.net if name == "all" or each is None else each
        return net <= target

    def quoted(hundredths: int) -> QuoteRecord | None:
        try:
            return at(plain(Decimal(hundredths) / 100))
        except InputError:
            return None

    low, high = 0, _MOST + 1
    while low < high:
        middle = (low + high) // 2
        low, high = (low, middle) if meets(middle) else (middle + 1, high)
    # A price is met from there on; a margin is left up to the one before.
    found = low - 1 if name == "margin" else low
    record = quoted(found) if 0 <= found <= _MOST else None
    if record is None:
        return None
    return plain(Decimal(found) / 100) if found else "", record
