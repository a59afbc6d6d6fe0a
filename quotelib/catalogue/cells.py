"""How does one cell become one value: strict parsers that say what would be right.

Every type here is an ``Annotated`` alias for pydantic. A parser takes the cell's text and
raises ``PydanticCustomError`` whose context has ``why`` and ``right``, both in plain words.
"""

import datetime as dt
import re
from collections import Counter
from contextlib import suppress
from decimal import Decimal
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator
from pydantic_core import PydanticCustomError

from quotelib.catalogue.visible import SPACES, hidden_in, without_signs
from quotelib.errors import shown
from quotelib.levels import array_levels
from quotelib.text import either
from quotelib.units import plain

# int() and Decimal() also take underscores, other scripts' digits and NaN.
_NUMBER = re.compile(r"[+-]?(\d+(\.\d*)?|\.\d+)([eE][+-]?\d{1,3})?", re.ASCII)
_DAY = re.compile(r"20\d\d-\d\d-\d\d", re.ASCII)
_MAX_DIGITS = 15
_MAX_WRITTEN = 30


def wrong(why: str, right: str) -> PydanticCustomError:
    """Build the error every parser raises: why the value is wrong, and what would be right."""
    return PydanticCustomError("cell", "{why}|{right}", {"why": why, "right": right})


def seen(cell: Any, *, lines: bool = False) -> str:
    """Take the spaces from a cell's ends and refuse what nobody can see in it.

    With `lines`, line breaks and tabs may stand in it.
    """
    value = str(cell).strip(None if lines else SPACES)
    if found := hidden_in(value, lines=lines):
        raise wrong(f"has {found} in it", "delete the cell and type it anew on one line")
    return without_signs(value) and value


def apply(parse: BeforeValidator, cell: Any) -> Any:
    """Read a cell with the parser that an annotation carries."""
    return parse.func(cell)  # type: ignore[call-arg]


def _number(cell: Any, right: str) -> Decimal:
    """Take a number that is one already (from TOML), or read it from text, as it is written.

    It is finite, and of a size and length that exact sums can carry.
    """
    value = cell if isinstance(cell, Decimal) else _from_text(seen(cell), right)
    if not value.is_finite():
        raise wrong("is not a finite number", right)
    if len(value.as_tuple().digits) > _MAX_WRITTEN or (
        value and not -30 <= value.adjusted() < _MAX_DIGITS
    ):
        raise wrong("is out of any plausible range", right)
    return value


def _from_text(text: str, right: str) -> Decimal:
    if not text:
        raise wrong("is blank", right)
    if "," in text and _NUMBER.fullmatch(text.replace(",", "")):
        how = "write decimals with a point and leave thousands unmarked"
        raise wrong("has a comma in it", f"{how}: {right}")
    if not _NUMBER.fullmatch(text):
        raise wrong("is not a number", right)
    return Decimal(text)


def _within(value: Decimal, low: Any, high: Any, right: str) -> Decimal:
    if value < low:
        raise wrong("is negative" if value < 0 <= low else "is too small", right)
    if value > high:
        raise wrong("is too large", right)
    return value


def _text_of(cell: Any) -> str:
    """Take text; a number, a list or a date of TOML would look like it."""
    if not isinstance(cell, str):
        raise wrong("is not text", "put it between double quotes")
    return cell


def _word(cell: Any) -> str:
    value = seen(_text_of(cell))
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


def text(limit: int, *, foreign: bool = False) -> BeforeValidator:
    """Accept text that is not blank, up to so many characters.

    A `foreign` one is a customer's own, kept to the letter, also what cannot be seen in it.
    """

    def parse(cell: Any) -> str:
        value = _text_of(cell).strip() if foreign else seen(_text_of(cell), lines=True)
        if not value:
            raise wrong("is blank", "write a few words")
        if len(value) > limit:
            raise wrong(f"is {len(value)} characters long", f"use at most {limit}")
        return value

    return BeforeValidator(parse)


def one_of(*options: str) -> BeforeValidator:
    """Accept exactly one of some words."""
    right = f"use {either(options)}"

    def parse(cell: Any) -> str:
        value = seen(cell)
        if value not in options:
            raise wrong("is blank" if not value else "is not known", right)
        return value

    return BeforeValidator(parse)


def one_number_of(*options: str) -> BeforeValidator:
    """Accept exactly one of some numbers, however it is written (``6`` or ``6.0``)."""
    right = f"use {either(options)}"

    def parse(cell: Any) -> str:
        value = plain(_number(cell, right))
        if value not in options:
            raise wrong("is not one of those in use", right)
        return value

    return BeforeValidator(parse)


def list_of(*options: str, noun: str = "skus") -> BeforeValidator:
    """Accept a ``;``-separated list, of known words where any are given."""
    right = f"use {'; '.join(options)}, separated by ';'" if options else f"separate {noun} by ';'"

    def parse(cell: Any) -> tuple[str, ...]:
        if isinstance(cell, tuple):
            return cell
        items = [item.strip() for item in seen(cell).split(";") if item.strip()]
        for item in items:
            if options and item not in options:
                raise wrong(f"has {shown(item)!r} in its list, which is not known", right)
        for item, times in Counter(items).items():
            if times > 1:
                raise wrong(f"names {shown(item)!r} twice", right)
        return tuple(items)

    return BeforeValidator(parse)


def counted(most: int, in_all: int) -> BeforeValidator:
    """Accept a ``;``-separated list in which a count may follow: ``SKU*2``.

    It gives each name as often as it is counted, up to `most`, and `in_all` of them all.
    """
    right = f"separate skus by ';' and put a count of 1 to {most} behind '*', such as SKU*2"

    def parse(cell: Any) -> tuple[str, ...]:
        found: list[str] = []
        for name, count in split_counts(seen(cell)):
            if not name or not re.fullmatch(r"\d{1,9}", count, re.ASCII) or not int(count):
                raise wrong(f"has {shown(f'{name}*{count}')!r} in its list", right)
            if int(count) > most:
                raise wrong(f"asks for {count} of {shown(name)!r}", right)
            found += [name] * int(count)
            if len(found) > in_all:
                raise wrong("asks for too many in all", f"ask for at most {in_all} in one row")
        return tuple(found)

    return BeforeValidator(parse)


def split_counts(text: str) -> list[tuple[str, str]]:
    """Take a list apart into names and counts, as they are written; no count is one."""
    items = (item.strip().rpartition("*") for item in text.split(";") if item.strip())
    return [(name.strip(), count.strip()) if star else (count, "1") for name, star, count in items]


def whole(low: int, high: int, right: str) -> BeforeValidator:
    """Accept a whole number in a range."""

    def parse(cell: Any) -> int:
        value = _number(cell, right)
        if value != int(value):
            raise wrong("is not a whole number", right)
        return int(_within(value, low, high, right))

    return BeforeValidator(parse)


def amount(
    low: str, high: str, right: str, *, low_open: bool = False, finest: str = "0"
) -> BeforeValidator:
    """Accept a decimal number in a range; `low_open` leaves the lower end out.

    Other than 0, nothing nearer to 0 than `finest` is accepted.
    """
    least, most, near = Decimal(low), Decimal(high), Decimal(finest)

    def parse(cell: Any) -> Decimal:
        value = _within(_number(cell, right), least, most, right)
        if (low_open and value == least) or (value and abs(value) < near):
            raise wrong("is too small", right)
        return value

    return BeforeValidator(parse)


def blank_as(default: Any, parse: BeforeValidator) -> BeforeValidator:
    """Let a blank cell stand for a value that the file's description names."""

    def maybe(cell: Any) -> Any:
        blank = cell is None or (isinstance(cell, str) and not cell.strip())
        return default if blank else apply(parse, cell)

    return BeforeValidator(maybe)


def _lanes(cell: Any) -> int:
    right = "use 1, 2, 4, 8 or 16 lanes"
    value: int = apply(whole(0, 1000, right), cell)
    if value not in (1, 2, 4, 8, 16):
        raise wrong("is not a lane count", right)
    return value


def _day(cell: Any) -> dt.date:
    right = "write a day of 2000 to 2099 as year, month and day, such as 2026-03-02"
    with suppress(ValueError):
        # A date of TOML writes itself like that; one with a time of day does not.
        if _DAY.fullmatch(seen(cell)):
            return dt.date.fromisoformat(seen(cell))
    raise wrong("is not a day", right)


LANES = BeforeValidator(_lanes)
_COUNT = whole(0, 10**9, "give a whole number, 0 or more, at most 1000000000")
_GEN = whole(1, 7, "give a generation from 1 to 7")
_LaneCount = Literal[1, 2, 4, 8, 16]

Sku = Annotated[str, BeforeValidator(_sku)]
Word = Annotated[str, BeforeValidator(_word)]
MaybeWord = Annotated[str | None, blank_as(None, BeforeValidator(_word))]
Text = Annotated[str, text(500)]
MaybeText = Annotated[str | None, blank_as(None, text(500))]
Day = Annotated[dt.date, BeforeValidator(_day)]
MaybeDay = Annotated[dt.date | None, blank_as(None, BeforeValidator(_day))]
Count = Annotated[int, _COUNT]
Days = Annotated[int, whole(0, 3650, "give whole days, 0 to 3650")]
MaybeSku = Annotated[str | None, blank_as(None, BeforeValidator(_sku))]
FewOrOne = Annotated[int, blank_as(1, whole(0, 99, "give a whole number, 0 to 99"))]
MaybeGen = Annotated[int | None, blank_as(None, _GEN)]
Gen = Annotated[int, _GEN]
Lanes = Annotated[_LaneCount, LANES]
MaybeLanes = Annotated[_LaneCount | None, blank_as(None, LANES)]
DriveLanes = Annotated[_LaneCount, blank_as(4, LANES)]
MaybeSata = Annotated[str | None, blank_as(None, one_number_of("1.5", "3", "6"))]
# 24 is the trade's name for 22.5 Gbit/s.
MaybeSas = Annotated[str | None, blank_as(None, one_number_of("3", "6", "12", "22.5", "24"))]
WidthIn = Annotated[Literal["2.5", "3.5"], one_number_of("2.5", "3.5")]
BlockBytes = Annotated[Literal["512", "4096"], one_number_of("512", "4096")]
# Asked anew each time: a level is whatever the level table has.
Levels = Annotated[
    tuple[str, ...], BeforeValidator(lambda cell: apply(list_of(*array_levels()), cell))
]
Interfaces = Annotated[tuple[str, ...], list_of("sata", "sas", "nvme")]
Brackets = Annotated[tuple[Literal["low", "full"], ...], list_of("low", "full")]
SkuList = Annotated[tuple[str, ...], list_of()]
