"""How do we say it: sizes, counts, lists, figures and money, each put into words in one place."""

import datetime as dt
import math
from collections.abc import Iterable
from decimal import ROUND_FLOOR, ROUND_UP, Decimal

from quotelib.units import TB, TIB, plain

_RAISED = str.maketrans("-0123456789", "⁻⁰¹²³⁴⁵⁶⁷⁸⁹")
_NUMBERS = ("no", "one", "two", "three", "four", "five", "six")


def plural(number: int, noun: str) -> str:
    """Give a noun in the number it takes: ``drive`` for 1, ``drives`` for any other."""
    return noun if number == 1 else f"{noun}s"


def count(number: int, noun: str) -> str:
    """Write a number with its noun: ``1 drive``, ``2 drives``."""
    return f"{number} {plural(number, noun)}"


def mark(fingerprint: str) -> str:
    """Shorten a fingerprint to what people compare: its first eight digits."""
    return fingerprint[:8]


def spelled(number: int) -> str:
    """Write a small number as a word."""
    return _NUMBERS[number] if 0 <= number < len(_NUMBERS) else str(number)


def either(names: Iterable[str]) -> str:
    """List alternatives: ``a, b or c``."""
    return _listed(names, "or")


def both(names: Iterable[str]) -> str:
    """List things together: ``a, b and c``."""
    return _listed(names, "and")


def _listed(names: Iterable[str], word: str) -> str:
    *first, last = list(names) or [""]
    return f"{', '.join(first)} {word} {last}" if first else last


def runs(values: Iterable[int]) -> str:
    """Write rising numbers as ranges: ``1 to 4, 7``."""
    found: list[list[int]] = []
    for value in values:
        if found and value == found[-1][-1] + 1:
            found[-1].append(value)
        else:
            found.append([value])
    return ", ".join(f"{r[0]} to {r[-1]}" if len(r) > 1 else str(r[0]) for r in found)


def bays(numbers: Iterable[int]) -> str:
    """Name bays: ``bay 3``, ``bays 1 to 4``."""
    held = list(numbers)
    return f"{plural(len(held), 'bay')} {runs(held)}"


def sentence(text: str) -> str:
    """Start a text with a capital letter."""
    return f"{text[:1].upper()}{text[1:]}"


def tb(size_bytes: int) -> str:
    """Write a size in TB (10^12 bytes), rounded down so that "at least" holds."""
    return _down(size_bytes, TB)


def tib(size_bytes: int) -> str:
    """Write a size in TiB (2^40 bytes), rounded down so that "at least" holds."""
    return _down(size_bytes, TIB)


def rounded_down(size_bytes: int, unit: int) -> Decimal:
    """Give a size in a unit with two decimals, rounded down."""
    return (Decimal(size_bytes) / unit).quantize(Decimal("0.01"), rounding=ROUND_FLOOR)


def _down(size_bytes: int, unit: int) -> str:
    return f"{rounded_down(size_bytes, unit):,f}"


def size(size_bytes: int) -> str:
    """Write a size in both units: ``60.00 TB (54.57 TiB)``, each rounded down."""
    return f"{tb(size_bytes)} TB ({tib(size_bytes)} TiB)"


def kg(mass_g: Decimal) -> str:
    """Write a mass to a tenth of a kilogram, rounded up: 23.04 kg is above 23 kg."""
    return f"{plain((mass_g / 1000).quantize(Decimal('0.1'), rounding=ROUND_UP))} kg"


def gb_s(rate_mb_s: float) -> str:
    """Write a rate given in MB/s in GB/s (10^9 bytes a second)."""
    return f"{rate_mb_s / 1000:.2f} GB/s"


def amount(value: Decimal) -> str:
    """Write an amount that is at its currency's minor unit: ``1,234.50``, ``−120.00``."""
    return f"{value:,f}".replace("-", "−")


def money(value: Decimal, currency: str) -> str:
    """Write an amount with its currency: ``GBP 1,234.50``."""
    return f"{currency} {amount(value)}"


def signed(value: Decimal) -> str:
    """Write a difference with its sign, also where it is nothing: ``+1.00``, ``−1.00``, ``±0``."""
    sign = "+" if value > 0 else "−" if value < 0 else "±"
    return f"{sign}{amount(abs(value))}"


def date(day: dt.date) -> str:
    """Write a date: ``5 March 2026``."""
    return f"{day.day} {day:%B %Y}"


def raised(power: int) -> str:
    """Write a power as it stands above the line."""
    return str(power).translate(_RAISED)


def figure(value: float, digits: int = 3) -> str:
    """Write a figure with so many significant digits and thousands apart.

    Infinite is "without end"; very small ones are written with a power of ten.
    """
    if value == 0:
        return "0"
    if not math.isfinite(value):
        return "without end"
    rounded = float(f"{value:.{digits}g}")
    if abs(rounded) >= 1000:
        return f"{rounded:,.0f}"
    if abs(rounded) < 1e-4:
        figures, power = f"{rounded:.{digits - 1}e}".split("e")
        return f"{figures} × 10{raised(int(power))}"
    places = max(0, digits - 1 - math.floor(math.log10(abs(rounded))))
    return f"{rounded:.{places}f}"


def percent(value: float, digits: int = 2) -> str:
    """Write a percentage with so many significant digits."""
    return f"{figure(value, digits)} %"


def share(pct: float) -> str:
    """Write a share of a whole in whole per cents: ``25 %``, ``under 1 %``."""
    return f"{pct:.0f} %" if pct >= 0.5 else "under 1 %"


def spoken(code: str) -> str:
    """Write a code as words: ``no redundancy``."""
    return code.replace("_", " ")


def whole(number: int) -> str:
    """Write a whole number with thousands apart: ``1,234``."""
    return f"{number:,}"


def digits(value: float, number: int) -> str:
    """Write a figure for programs: so many significant digits, no power of ten."""
    return plain(Decimal(f"{value:.{number}g}"))
