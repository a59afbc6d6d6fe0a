"""Is a tax number written right: its check digits, where its form is known; nobody is asked.

What begins with a country and is then nothing but its number is checked. Anything else is left
alone: it may be a number of another office, or of a country whose rule is not known.
"""

import re
from collections.abc import Iterator, Mapping

from stdnum import get_cc_module
from stdnum.eu import vat
from stdnum.exceptions import InvalidChecksum, InvalidFormat, InvalidLength, ValidationError

from quotelib.catalogue.tables import Cells
from quotelib.catalogue.work import Customer
from quotelib.errors import Problem

_EU = {*vat.MEMBER_STATES, "el", "xi"} - {"gr"}
_SPELT = re.compile(r"[\s.\-/]")
# Digits alone, so that a word which begins like a country is none.
_LOOKS = re.compile(r"([A-Z]{2})(?=(?:.*\d){5})[A-Z]?\d[\dA-Z]*")
_DIGITS = re.compile(r"[A-Z]{2}\d{7,}")
_RIGHT = "copy it from a letter of theirs; put a word before what is another kind of number"


def tax_number_wrong(text: str) -> str:
    """Say what is wrong with a tax number; blank: nothing, or its form is not known."""
    number = _SPELT.sub("", text).upper()
    found = _LOOKS.fullmatch(number)
    if found is None:
        return ""
    prefix = found[1]
    country = prefix.lower()
    within = country in _EU or country == "gb"
    try:
        _validate(country, number)
    except InvalidChecksum:
        return f"looks like a tax number of {prefix}, but its check digits do not agree"
    except (InvalidLength, InvalidFormat):
        # A digit left out or doubled, where these countries write nothing but digits.
        if within and _DIGITS.fullmatch(number):
            digits = len(number) - 2
            return f"looks like a tax number of {prefix}, which never has {digits} digits like this"
    except ValidationError:
        pass
    return ""


def _validate(country: str, number: str) -> None:
    if country in _EU:
        vat.validate(number)
    elif country == "ch":
        # Without the word for the tax it is the number of the enterprise, with the same digits.
        kind = "vat" if re.search(r"(MWST|TVA|IVA|TPV)$", number) else "uid"
        _of("ch", kind, number)
    elif country in {"gb", "gr", "no"}:
        _of(country, "vat", number)
    else:
        _of(country, "vat", number[2:])


def _of(country: str, kind: str, number: str) -> None:
    module = get_cc_module(country, kind)
    if module is not None:
        module.validate(number)


def customer_problems(rows: Iterator[Cells]) -> Iterator[Problem]:
    """Find tax numbers of customers whose check digits do not agree."""
    for row in rows:
        number = row.cells.get("tax_id", "")
        if why := number and tax_number_wrong(number):
            yield Problem(Customer.file_name, row.row, "tax_id", number, why, _RIGHT)


def seller_problems(data: Mapping[str, object], file: str) -> Iterator[Problem]:
    """Find that in the seller's own tax number."""
    seller = data.get("seller")
    number = seller.get("tax_id") if isinstance(seller, dict) else None
    if isinstance(number, str) and (why := tax_number_wrong(number)):
        right = "copy it from a letter of the tax office"
        yield Problem(file, None, "seller.tax_id", number, why, right)
