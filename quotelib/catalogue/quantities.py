"""How large and how small may a figure be: one type for each kind of quantity, with its unit.

The ends are generous for the field, and ours: nothing that is sold comes near them, and whatever
lies beyond is a slip of the keyboard. They keep every sum exact, every search finite and every
figure of a page readable. Where 0 may stand, it stands for nothing or for "included"; below the
least figure above 0 there is only what no scale or meter shows.
"""

from decimal import Decimal
from typing import Annotated

from pydantic import BeforeValidator

from quotelib.catalogue.cells import amount, blank_as, whole

MOST_BAYS = 256
"""Of one chassis; the largest that are sold as one box hold little more than a hundred drives."""
MOST_MONEY = "1e12"
_MONEY_ENDS = "at most a million million"
_FINEST_MONEY = "0.000001"


def from_0(most: str, unit: str, finest: str = "0.001") -> BeforeValidator:
    """Accept 0, or what is neither smaller than the finest nor larger than the most."""
    return amount("0", most, f"give {unit}, 0 or {finest} to {most}", finest=finest)


def between(least: str, most: str, unit: str) -> BeforeValidator:
    """Accept what is neither smaller nor larger; least is above 0."""
    right = f"give {unit} above 0, {least} to {most}"
    return amount("0", most, right, low_open=True, finest=least)


def as_float(parse: BeforeValidator) -> BeforeValidator:
    """Read as a parser does, and give a float."""
    return BeforeValidator(
        lambda cell: cell if isinstance(cell, float) else float(parse.func(cell))  # type: ignore[call-arg]
    )


def _maybe_float(least: str, most: str, unit: str) -> BeforeValidator:
    return blank_as(None, as_float(between(least, most, unit)))


def _whole_0(most: int, what: str) -> BeforeValidator:
    return whole(0, most, f"give {what}, 0 to {most}")


MONEY = amount(
    "0",
    MOST_MONEY,
    f"give an amount of 0 or more, {_MONEY_ENDS}, such as 129.50",
    finest=_FINEST_MONEY,
)
ANY_MONEY = amount(
    f"-{MOST_MONEY}",
    MOST_MONEY,
    f"give an amount, {_MONEY_ENDS} either way, such as -120.00",
    finest=_FINEST_MONEY,
)
_ERROR_RATE = amount("0", "0.1", "give errors per bit read, such as 1e-15", finest="1e-24")
PERCENT = amount("0", "100", "give a percentage from 0 to 100", finest="1e-12")

Money = Annotated[Decimal, MONEY]
Percent = Annotated[Decimal, PERCENT]
Rate = Annotated[
    Decimal, between("0.000000001", "1000000000", "units per unit of the list's currency,")
]

MassG = Annotated[Decimal, from_0("1000000", "grams")]
DriveWatts = Annotated[Decimal, from_0("1000", "watts")]
CardWatts = Annotated[Decimal, from_0("10000", "watts")]
ChassisWatts = Annotated[Decimal, from_0("100000", "watts")]
SupplyW = Annotated[int, blank_as(0, _whole_0(100_000, "whole watts"))]
WarrantyYears = Annotated[Decimal, from_0("100", "years")]
Minutes = Annotated[Decimal, from_0("100000", "minutes")]
WritesGbPerDay = Annotated[Decimal, from_0("10000000", "GB a day")]
BlockKib = Annotated[Decimal, between("0.001", "1048576", "KiB")]

MaybeRpm = Annotated[float | None, _maybe_float("100", "100000", "turns a minute")]
MaybeSeekMs = Annotated[float | None, _maybe_float("0.01", "1000", "milliseconds")]
RateMbS = Annotated[float, as_float(between("0.1", "1000000", "MB/s"))]
MaybeMbS = Annotated[float | None, _maybe_float("0.1", "10000000", "MB/s")]
MaybeIops = Annotated[float | None, _maybe_float("1", "1e10", "operations a second")]
MaybeMttfHours = Annotated[float | None, _maybe_float("1", "1e10", "hours")]
MaybeWritesPerDay = Annotated[float | None, _maybe_float("0.0001", "1000", "full writes a day")]
MaybeErrorRate = Annotated[
    float | None,
    blank_as(None, as_float(_ERROR_RATE)),
]
MaybeMinIops = Annotated[
    Decimal | None, blank_as(None, between("0.001", "1e10", "operations a second"))
]
MaybeResponseMs = Annotated[
    Decimal | None, blank_as(None, between("0.001", "1000000", "milliseconds"))
]

RackUnits = Annotated[int, whole(1, 100, "give whole rack units, 1 to 100")]
Bays = Annotated[int, whole(1, MOST_BAYS, f"give a whole number, 1 to {MOST_BAYS}")]
MaxDrives = Annotated[int, whole(1, 10_000, "give a whole number, 1 to 10000")]
MaybePorts = Annotated[int | None, blank_as(None, _whole_0(4096, "a whole number"))]
Mezzanines = Annotated[int, _whole_0(64, "a whole number")]
MaybeProcessorSockets = Annotated[int | None, blank_as(None, _whole_0(64, "a whole number"))]
MaybeMemorySlots = Annotated[int | None, blank_as(None, _whole_0(1024, "a whole number"))]
CacheMib = Annotated[int, blank_as(0, _whole_0(1_000_000, "whole MiB"))]
ReserveMib = Annotated[int, blank_as(0, _whole_0(1_000_000, "whole MiB"))]
Cores = Annotated[int, blank_as(0, _whole_0(1024, "a whole number of cores"))]
MemoryGb = Annotated[int, blank_as(0, _whole_0(100_000, "whole gigabytes"))]
