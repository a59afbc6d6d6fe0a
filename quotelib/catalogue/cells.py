"""How does one cell become one value: strict parsers that say what would be right.

Every type here is an ``Annotated`` alias for pydantic. A parser takes the cell's text and
raises ``PydanticCustomError`` whose context has ``why`` and ``right``, both in plain words.
"""

import re
from collections import Counter
from collections.abc import Callable
from decimal import Decimal
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator

from quotelib.catalogue.unseen import seen
from quotelib.catalogue.unseen import wrong as wrong
from quotelib.errors import any_of, shown
from quotelib.units import plain

# ASCII digits only: int() and Decimal() also take underscores, other scripts' digits and NaN.
_NUMBER = re.compile(r"[+-]?(\d+(\.\d*)?|\.\d+)([eE][+-]?\d{1,3})?", re.ASCII)
_MAX_DIGITS = 15
_MAX_WRITTEN = 30


def number(text: str, right: str) -> Decimal:
    """Read a plain number.

    Parameters
    ----------
    text : str
        The cell.
    right : str
        What would be right, for the error message.

    Returns
    -------
    Decimal
        Exactly what was written.
    """
    text = seen(text)
    if not text:
        raise wrong("is blank", right)
    if "," in text and _NUMBER.fullmatch(text.replace(",", "")):
        how = "write decimals with a point and leave thousands unmarked"
        raise wrong("has a comma in it", f"{how}: {right}")
    if not _NUMBER.fullmatch(text):
        raise wrong("is not a number", right)
    return plausible(Decimal(text), right)


def plausible(value: Decimal, right: str) -> Decimal:
    """Pass a finite number of a size and length that exact sums can carry."""
    if not value.is_finite():
        raise wrong("is not a finite number", right)
    if len(value.as_tuple().digits) > _MAX_WRITTEN or (
        value and not -30 <= value.adjusted() < _MAX_DIGITS
    ):
        raise wrong("is out of any plausible range", right)
    return value


def _read(cell: Any, right: str) -> Decimal:
    """Take a number that is one already (from TOML), or read it from text."""
    return plausible(cell, right) if isinstance(cell, Decimal) else number(str(cell), right)


def _decimal(
    low: Decimal | None, high: Decimal | None, low_open: bool, right: str
) -> Callable[[Any], Decimal]:
    def parse(cell: Any) -> Decimal:
        value = _read(cell, right)
        if low is not None and (value < low or (low_open and value == low)):
            raise wrong("is negative" if value < 0 else "is too small", right)
        if high is not None and value > high:
            raise wrong("is too large", right)
        return value

    return parse


def _whole(low: int, high: int, right: str) -> Callable[[Any], int]:
    def parse(cell: Any) -> int:
        value = _read(cell, right)
        if value != int(value):
            raise wrong("is not a whole number", right)
        if value < low:
            raise wrong("is negative" if value < 0 else "is too small", right)
        if value > high:
            raise wrong("is too large", right)
        return int(value)

    return parse


def _text(limit: int, right: str, foreign: bool) -> Callable[[Any], str]:
    def parse(cell: Any) -> str:
        value = str(cell).strip() if foreign else seen(cell, lines=True)
        if not value:
            raise wrong("is blank", right)
        if len(value) > limit:
            raise wrong(f"is {len(value)} characters long", f"use at most {limit}")
        return value

    return parse


def _word(cell: Any) -> str:
    value = seen(cell)
    if not 0 < len(value) <= 80:
        raise wrong("is blank or too long", "use 1 to 80 characters")
    return value


def _sku(cell: Any) -> str:
    value = seen(cell)
    if not value:
        raise wrong("is blank", "give every part a sku of its own")
    if ";" in value or not value.isprintable() or len(value) > 80:
        raise wrong(
            "is not usable as a sku",
            "use at most 80 printable characters without ';' (it separates lists)",
        )
    return value


def _list_of(options: tuple[str, ...] | None, right: str) -> Callable[[Any], tuple[str, ...]]:
    def parse(cell: Any) -> tuple[str, ...]:
        if isinstance(cell, tuple):
            return cell
        items = [item.strip() for item in seen(cell).split(";") if item.strip()]
        if options is not None:
            for item in items:
                if item not in options:
                    raise wrong(f"has {shown(item)!r} in its list, which is not known", right)
        for item, times in Counter(items).items():
            if times > 1:
                raise wrong(f"names {shown(item)!r} twice", right)
        return tuple(items)

    return parse


def text(limit: int, *, foreign: bool = False) -> BeforeValidator:
    """Accept text that is not blank, up to so many characters.

    A `foreign` one is a customer's own, kept to the letter, also what cannot be seen in it.
    """
    return BeforeValidator(_text(limit, "write a few words", foreign))


def one_of(*options: str) -> BeforeValidator:
    """Accept exactly one of some words."""
    right = f"use {any_of(options)}"

    def parse(cell: Any) -> str:
        value = seen(cell)
        if value not in options:
            raise wrong("is blank" if not value else "is not known", right)
        return value

    return BeforeValidator(parse)


def one_number_of(*options: str) -> BeforeValidator:
    """Accept exactly one of some numbers, however it is written (``6`` or ``6.0``)."""
    right = f"use {any_of(options)}"

    def parse(cell: Any) -> str:
        value = plain(number(str(cell), right))
        if value not in options:
            raise wrong("is not one of those in use", right)
        return value

    return BeforeValidator(parse)


def list_of(*options: str) -> BeforeValidator:
    """Accept a ``;``-separated list, of known words where any are given."""
    right = f"use {'; '.join(options)}, separated by ';'" if options else "separate skus by ';'"
    return BeforeValidator(_list_of(options or None, right))


def whole(low: int, high: int, right: str) -> BeforeValidator:
    """Accept a whole number in a range."""
    return BeforeValidator(_whole(low, high, right))


def amount(
    low: str | None, high: str | None, right: str, *, low_open: bool = False
) -> BeforeValidator:
    """Accept a decimal number in a range; `low_open` leaves the lower end out."""
    return BeforeValidator(
        _decimal(
            None if low is None else Decimal(low),
            None if high is None else Decimal(high),
            low_open,
            right,
        )
    )


def _float_rate(right: str) -> Callable[[Any], float]:
    decimal = _decimal(Decimal(0), None, True, right)
    return lambda cell: cell if isinstance(cell, float) else float(decimal(cell))


def _optional(parse: BeforeValidator) -> BeforeValidator:
    def maybe(cell: Any) -> Any:
        if cell is None or (isinstance(cell, str) and not cell.strip()):
            return None
        return parse.func(cell)  # type: ignore[call-arg]

    return BeforeValidator(maybe)


def blank_as(default: Any, parse: BeforeValidator) -> BeforeValidator:
    """Let a blank cell stand for a value that the file's description names."""

    def maybe(cell: Any) -> Any:
        blank = cell is None or (isinstance(cell, str) and not cell.strip())
        return default if blank else parse.func(cell)  # type: ignore[call-arg]

    return BeforeValidator(maybe)


_FLOAT_MB_S = BeforeValidator(_float_rate("give MB/s above 0, such as 250"))
_FLOAT_POSITIVE = BeforeValidator(_float_rate("give a number above 0"))
_ERROR_RATE = BeforeValidator(
    lambda cell: (
        cell
        if isinstance(cell, float)
        else float(
            _decimal(Decimal(0), Decimal("0.1"), False, "give errors per bit read, such as 1e-15")(
                cell
            )
        )
    )
)

LEVEL_NAMES = ("0", "1", "5", "6", "10", "50", "60")
SATA_RATES = ("1.5", "3", "6")
SAS_RATES = ("3", "6", "12", "22.5", "24")  # 24 is the trade's name for 22.5 Gbit/s

Sku = Annotated[str, BeforeValidator(_sku)]
Word = Annotated[str, BeforeValidator(_word)]
Text = Annotated[str, text(500)]
Money = Annotated[Decimal, amount("0", None, "give an amount of 0 or more, such as 129.50")]
Quantity = Annotated[Decimal, amount("0", None, "give a number of 0 or more")]
Percent = Annotated[Decimal, amount("0", "100", "give a percentage from 0 to 100")]
Count = Annotated[int, whole(0, 10**9, "give a whole number, 0 or more")]
PositiveCount = Annotated[int, whole(1, 10**9, "give a whole number, 1 or more")]
Days = Annotated[int, whole(0, 3650, "give whole days, 0 to 3650")]
RateMbS = Annotated[float, _FLOAT_MB_S]
MaybeRate = Annotated[float | None, _optional(_FLOAT_POSITIVE)]
MaybeErrorRate = Annotated[float | None, _optional(_ERROR_RATE)]
MaybeSku = Annotated[str | None, _optional(BeforeValidator(_sku))]
MaybeCount = Annotated[int | None, _optional(whole(0, 10**9, "give a whole number, 0 or more"))]
CountOrZero = Annotated[int, blank_as(0, whole(0, 10**9, "give a whole number, 0 or more"))]
MaybeGen = Annotated[int | None, _optional(whole(1, 7, "give a generation from 1 to 7"))]
Gen = Annotated[int, whole(1, 7, "give a generation from 1 to 7")]
Lanes = Annotated[
    Literal[1, 2, 4, 8, 16],
    BeforeValidator(lambda cell: _lanes(cell)),
]
MaybeLanes = Annotated[
    Literal[1, 2, 4, 8, 16] | None, _optional(BeforeValidator(lambda cell: _lanes(cell)))
]
MaybeSata = Annotated[Literal["1.5", "3", "6"] | None, _optional(one_number_of(*SATA_RATES))]
MaybeSas = Annotated[
    Literal["3", "6", "12", "22.5", "24"] | None, _optional(one_number_of(*SAS_RATES))
]
WidthIn = Annotated[Literal["2.5", "3.5"], one_number_of("2.5", "3.5")]
BlockBytes = Annotated[Literal["512", "4096"], one_number_of("512", "4096")]
Levels = Annotated[tuple[str, ...], list_of(*LEVEL_NAMES)]
Brackets = Annotated[tuple[Literal["low", "full"], ...], list_of("low", "full")]
SkuList = Annotated[tuple[str, ...], list_of()]


def _lanes(cell: Any) -> int:
    right = "use 1, 2, 4, 8 or 16 lanes"
    value = int(_whole(0, 1000, right)(cell))
    if value not in (1, 2, 4, 8, 16):
        raise wrong("is not a lane count", right)
    return value
