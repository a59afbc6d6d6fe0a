"""What would another option cost: a search for each, once there is an answer and a list is open."""

from collections.abc import Callable, Iterator, Sequence
from decimal import Decimal
from functools import partial

from quotelib.catalogue.price_list import PriceList
from quotelib.choose.server import choose_server
from quotelib.enquiry.enquiry import Enquiry
from quotelib.enquiry.request import ServerAsked
from quotelib.text import signed
from quotelib.workbook.background import Background, Step
from quotelib.workbook.form import Form

_AT_ONCE = 4
"""Options that are shown together: each search takes moments, and typing comes between."""
_ADVISED = "△"


class Differences:
    """Puts beside each option of an open list what the server would cost more or less with it.

    `form` gives the form with the lists, `failed` is told of a fault of ours.
    """

    def __init__(self, form: Callable[[], Form], failed: Callable[[Exception], None]) -> None:
        self._form, self._background = form, Background(failed)
        self._of: tuple[PriceList, Enquiry] | None = None
        self._priced: set[str] = set()

    def of(self, price_list: PriceList, enquiry: Enquiry) -> None:
        """Take over what was answered; lists that are open are priced."""
        self._of = price_list, enquiry
        self._priced = set()
        self._go()

    def opened(self, _: str) -> None:
        """Price a list that somebody opens."""
        self._go()

    def forget(self) -> None:
        """Take prices back: they were of another answer."""
        self._background.drop()
        self._of = None
        for pin in self._priced:
            self._form().price(pin, "", {})
        self._priced = set()

    def _go(self) -> None:
        if self._of is not None and (pins := self._form().opened - self._priced):
            self._background.start(self._steps(*self._of, sorted(pins)))

    def _steps(
        self, price_list: PriceList, enquiry: Enquiry, pins: Sequence[str]
    ) -> Iterator[Step]:
        form = self._form()
        many = f"for all {enquiry.builds}" if enquiry.builds > 1 else "for the server"
        currency = enquiry.currency or price_list.terms.currency
        scope = f"More or less {many}, {currency} without tax; {_ADVISED} we advise against"
        for pin in pins:
            self._priced.add(pin)
            values = [o["value"] for o in form.fields[pin].options if o["state"] == ""]
            found: dict[str, str] = {}
            for n, value in enumerate(values, start=1):
                # One at a time: another enquiry waits for no more than that.
                yield partial(differences, price_list, enquiry, pin, [value]), found.update
                if n % _AT_ONCE == 0 or n == len(values):
                    form.price(pin, scope, found)


def differences(
    price_list: PriceList, enquiry: Enquiry, pin: str, values: Sequence[str]
) -> dict[str, str]:
    """Say what each of some options costs more or less than the build as it is.

    An option with which nothing meets the enquiry has no price.
    """
    now, found = _best(price_list, enquiry), {}
    for value in values:
        other = enquiry.change(**{pin: value}) if value else enquiry.without(pin)
        best = _best(price_list, other)
        if now is not None and best is not None:
            difference = best[0] - now[0]
            words = signed(difference) if difference else "±0"
            found[value] = f"{_ADVISED} {words}" if best[1] else words
    return found


def _best(price_list: PriceList, enquiry: Enquiry) -> tuple[Decimal, bool] | None:
    best = choose_server(price_list, ServerAsked(enquiry, (enquiry,))).best
    if best is None or best.net is None:
        return None
    return best.net, bool(best.open_advice(enquiry.accept))
