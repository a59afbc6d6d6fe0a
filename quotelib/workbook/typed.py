"""What do people mean who type a number: with thousands apart, a currency or a unit beside it.

Only the form is so patient: a file of enquiries stays as strict as it was. What could mean two
things is asked about.
"""

import re
from collections.abc import Collection, Mapping
from decimal import Decimal
from typing import NamedTuple

from quotelib.catalogue.price_list import PriceList
from quotelib.enquiry.column import Column
from quotelib.enquiry.columns import COLUMNS
from quotelib.units import TB, TIB, plain

_MONEY = {"max_price", "line_price", "line_cost"}
_SIGNS = {"£": "GBP", "€": "EUR"}
_APART = re.compile(r"[+-]?[0-9]{1,3}(?:[,\s'’][0-9]{3})+(?:\.[0-9]+)?")
_COMMA = re.compile(r"([+-]?[0-9]+),([0-9]{1,2}|[0-9]{4,})")
_CODE = re.compile(r"([A-Za-z]{3}|[£€$])\s*([+-]?[0-9.].*)|(.*[0-9.])\s*([A-Za-z]{3}|[£€$])")


class Read(NamedTuple):
    """A cell as a file would have it, and what to say beside what was typed."""

    cell: str
    said: str = ""


def read(column: Column, text: str, currency: str, known: Collection[str]) -> Read:
    """Read what was typed into a field of a number, for a quote in a currency."""
    if column.kind != "number" or not text.strip():
        return Read(text)
    left = text.strip()
    if column.name in _MONEY and (found := _CODE.fullmatch(left)):
        mark = (found[1] or found[4]).upper()
        code = _SIGNS.get(mark, mark)
        if code == "$":
            return Read(
                text, f"Which dollars? Write the amount in {currency}, the quote’s currency."
            )
        if code != currency and code in {*known, *_SIGNS.values()}:
            right = f"choose {code} as the currency, or write the amount in {currency}"
            return Read(text, f"The quote is in {currency}: {right}.")
        if code == currency:
            left = (found[2] or found[3]).strip()
    unit = column.label.rpartition(", ")[2] if ", " in column.label else ""
    tib = unit == "TB" and left.lower().endswith("tib")
    for ending in ("TiB",) if tib else (unit,):
        if ending and left.lower().endswith(ending.lower()):
            left = left[: -len(ending)].strip()
    if _APART.fullmatch(left):
        left = re.sub(r"[,\s'’]", "", left)
    elif found := _COMMA.fullmatch(left):
        return Read(text, f"Is {found[1]}.{found[2]} meant? Write decimals with a point.")
    if tib and re.fullmatch(r"\d+(\.\d+)?", left, re.ASCII):
        left = plain(Decimal(left) * TIB / TB)
    return Read(left, f"Read as {left}.") if left != text.strip() else Read(text)


def as_in_a_file(texts: list[dict[str, str]], price_list: PriceList) -> list[dict[str, str]]:
    """Read rows of a quote as they were typed, cell by cell."""
    currency = currency_of(texts[0], price_list)
    return [
        {name: read(COLUMNS[name], text, currency, price_list.currencies).cell
         for name, text in cells.items()}
        for cells in texts
    ]  # fmt: skip


def currency_of(cells: Mapping[str, str], price_list: PriceList) -> str:
    """Give the currency of a quote, by the cells of its first row."""
    return cells.get("currency", "").strip() or price_list.terms.currency
