"""How does an offer say it in the customer's language: fixed texts by key, figures by Babel.

A language is a file ``templates/texts/NAME.toml``; English is the one that the others are held
against. Descriptions of parts and free text come as they are.
"""

import datetime as dt
import math
import tomllib
from collections.abc import Iterable, Mapping
from decimal import Decimal
from functools import cache

from babel import Locale
from babel.dates import format_date
from babel.lists import format_list
from babel.numbers import format_decimal, get_currency_name

from quotelib import resources
from quotelib.text import figure, rounded_down
from quotelib.units import TB, TIB

_FORMS = {"one", "other"}
"""What a text has whose words go by a number: CLDR's names of the forms."""
Forms = Mapping[str, str]


class Texts:
    """The texts of one language, and how it writes figures, dates and lists.

    Parameters
    ----------
    language : str
        Of a file of texts.
    data : mapping
        What is in it: tables of texts by key, of which ``language`` has the name of the locale.
    """

    def __init__(self, language: str, data: Mapping[str, Mapping[str, str | Forms]]) -> None:
        self.language = language
        self.locale = Locale.parse(str(data["language"]["locale"]))
        self.by_key: dict[str, str | Forms] = {
            f"{table}.{key}": words
            for table, texts in data.items()
            if table != "language"
            for key, words in texts.items()
        }

    def __call__(self, key: str, number: int | None = None, /, **values: object) -> str:
        """Give a text with its blanks filled in.

        Parameters
        ----------
        key : str
            ``table.key``.
        number : int or None
            By which its words go; it fills in the blank ``{n}``.
        **values
            By name of the blank.
        """
        words = self.by_key[key]
        if not isinstance(words, str):
            assert number is not None, key
            words = words[self.locale.plural_form(number)]
        if number is not None:
            values = {"n": self.whole(number), **values}
        return words.format(**values)

    def whole(self, number: int) -> str:
        """Write a whole number with thousands apart."""
        return str(format_decimal(number, locale=self.locale))

    def plain(self, value: Decimal) -> str:
        """Write a measure with the decimals it has, but for zeros at the end."""
        places = max(0, -int(value.normalize().as_tuple().exponent))
        return self._places(value, places)

    def amount(self, value: Decimal) -> str:
        """Write an amount that is at its currency's minor unit."""
        return self._places(value, max(0, -int(value.as_tuple().exponent)))

    def money(self, value: Decimal, currency: str) -> str:
        """Write an amount with the code of its currency, which nobody takes for another one."""
        return self("figure.money", currency=currency, amount=self.amount(value))

    def currency(self, code: str) -> str:
        """Name a currency, as amounts are "in" it."""
        return str(get_currency_name(code, count=2, locale=self.locale))

    def date(self, day: dt.date) -> str:
        """Write a date in full."""
        return str(format_date(day, "long", locale=self.locale))

    def listed(self, things: Iterable[str]) -> str:
        """List things together: ``a, b and c``."""
        return format_list(list(things), locale=self.locale)

    def tb(self, size_bytes: int) -> str:
        """Write a size in TB, rounded down so that "at least" holds."""
        return self.amount(rounded_down(size_bytes, TB))

    def tib(self, size_bytes: int) -> str:
        """Write a size in TiB, rounded down so that "at least" holds."""
        return self.amount(rounded_down(size_bytes, TIB))

    def figure(self, value: float, digits: int = 3) -> str:
        """Write an estimate's figure, as `text.figure` rounds it; under a thousandth it says so."""
        if not math.isfinite(value):
            return self("figure.endless")
        if 0 < abs(value) < 0.001:
            return self("figure.under", value=self._places(Decimal("0.001"), 3))
        written = figure(value, digits).replace(",", "")
        return self.amount(Decimal(written))

    def _places(self, value: Decimal, places: int) -> str:
        pattern = "#,##0" + ("." + "0" * places if places else "")
        written = str(format_decimal(value, pattern, self.locale, decimal_quantization=False))
        return written.replace("-", "−")


def languages() -> tuple[str, ...]:
    """List the languages there are."""
    return resources.languages()


@cache
def texts(language: str) -> Texts:
    """Read the texts of a language; those of English where there is none such any more."""
    name = language if language in languages() else "en"
    path = resources.templates() / "texts" / f"{name}.toml"
    return Texts(name, tomllib.loads(path.read_text("utf-8")))
