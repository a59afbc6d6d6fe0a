"""Where does a page give its quotes: into a register, where it has been told of one."""

import datetime as dt
from typing import TYPE_CHECKING

from quotelib.catalogue.price_list import PriceList
from quotelib.enquiry.request import Request
from quotelib.errors import InputError, Problem
from quotelib.promise.record import QuoteRecord
from quotelib.register.kept import Kept

if TYPE_CHECKING:
    from quotelib.register.book import Register

_PATIENCE_S = 8.0
"""Somebody sits and waits."""


class Book:
    """The register that a page gives its quotes into; with a blank place there is none.

    Raises
    ------
    InputError
        Where the register cannot be used.
    """

    def __init__(self, where: str, date: dt.date) -> None:
        self._where, self._date = where, date
        self._kept = Kept(())
        if where:
            self._register(make=True)
            self.look()

    def _register(self, *, make: bool = False) -> "Register":
        from quotelib.register.book import Register

        return Register(self._where, make=make, wait_s=_PATIENCE_S)

    def look(self) -> None:
        """See what other quotes keep of the stock by now."""
        if self._where:
            self._kept = self._register().kept(self._date)

    def left(self, price_list: PriceList, request: Request) -> PriceList:
        """Give a price list with the stock that other quotes leave to this one."""
        own = (request.first.enquiry_id, request.first.customer)
        return price_list.with_less_stock(self._kept.but_for(own))

    def give(self, record: QuoteRecord) -> tuple[QuoteRecord, str, str]:
        """Give a quote; the record as it was given, its text, and what there is to say of it.

        Raises
        ------
        InputError
            Where it cannot be given; nothing is, then.
        """
        if not self._where:
            return record, "", ""
        from quotelib.register.book import closed_words
        from quotelib.register.giving import Offered
        from quotelib.register.revising import following
        from quotelib.register.who import named

        register = self._register()
        asked = (record.enquiry_id, record.customer)
        before = register.last([asked]).get(asked)
        offered = Offered(record) if before is None else following(before, record)
        (given,) = register.give([offered], named(""))
        if given.news == "closed":
            raise register.problem(given.number, *closed_words(given.number, given.outcome))
        if given.news == "overtaken":
            why, right = "was revised by somebody else just now", "see what that one says first"
            raise InputError([Problem("register", None, "", given.number, why, right)])
        said = {
            "new": f"Given as {given.record.numbered}.",
            "revised": f"Given as {given.record.numbered}.",
            "as it was": f"As given before, on {given.record.date}, as {given.record.numbered}.",
        }
        return given.record, given.text, said[given.news]
