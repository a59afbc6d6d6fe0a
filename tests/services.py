"""The small list with services to choose from, and such as are charged once a quote."""

from quotelib.catalogue.price_list import PriceList
from tests.small_list import Rows, Tables, copy, price_list, table

SERVICES: Rows = table(
    "sku description per minutes unit_cost unit_price when actions",
    "VISIT Visits build 0 50 80 chosen -",
    "CERT Papers drive 0 2 3 chosen -",
    "TUNE Tuning array 15 9 12 chosen new;replace",
    "FLASH Firmware controller 10 5 8 chosen -",
    "LOOK Looking array 15 9 12 chosen keep;grow",
    "MOVE Moving quote 90 200 300.25 chosen -",
    "PAPER Paper quote 4 1 2.50 always -",
)
PINS = {"chassis": "BOX-4", "controller": "BOARD", "drive": "DISK-4T", "members": "2", "level": "1"}


def tables() -> Tables:
    """Give the small list's tables with more services; the older ones have no new columns."""
    more = copy()
    more["services.csv"] = [{**row, "when": "", "actions": ""} for row in more["services.csv"]]
    more["services.csv"] += [dict(row) for row in SERVICES]
    return more


def prices() -> PriceList:
    """Give the price list."""
    return price_list(tables())
