"""Ask the small list for something, and name what comes of it."""

from quotelib.build.build import Build
from quotelib.catalogue.price_list import PriceList
from quotelib.choose.search import choose
from quotelib.enquiry.enquiry import Enquiry, read_enquiry
from quotelib.enquiry.reading import read_request
from quotelib.enquiry.request import Request, single
from tests.small_list import TERMS, Tables, only_array, price_list


def ask(prices: PriceList, **cells: str) -> Enquiry:
    return read_enquiry({"enquiry_id": "E-1", "customer": "Somebody", **cells}, prices)


def order(prices: PriceList, **cells: str) -> Request:
    """Ask for it as a quote of one row."""
    return single(ask(prices, **cells))


def order_rows(prices: PriceList, *rows: dict[str, str]) -> Request:
    """Ask for several things in one quote; the first row has number and customer."""
    first = {"enquiry_id": "E-1", "customer": "Somebody"}
    return read_request([first | rows[0], *({"enquiry_id": "E-1"} | r for r in rows[1:])], prices)


def chosen(prices: PriceList, **cells: str) -> Build:
    found = choose(prices, ask(prices, **cells))
    assert found.best is not None, found.refused
    return found.best.build


def named(made: Build) -> str:
    array = only_array(made)
    layout = array.layout
    return (
        f"{made.chassis.sku} {array.controller.sku} {array.drive.sku} "
        f"{layout.level}/{layout.members}/{layout.spans}/{layout.spares}"
    )


def free(tables: Tables) -> PriceList:
    """Give everything away, so that only the ties decide."""
    for rows in tables.values():
        for row in rows:
            if "unit_price" in row:
                row["unit_price"] = "0"
    terms = TERMS.replace("base = 16.50", "base = 0").replace("per_kg = 1.15", "per_kg = 0")
    return price_list(tables, terms)
