"""How many sectors of a drive cannot be read: what the data sheet allows, and what the field found.

A sector goes bad at some time and is noticed when it is read. Where an array is scrubbed, that is
half an interval later on average; where nobody scrubs, only a rebuild may find it.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from quotelib.estimate.checks import FloatArray, number
from quotelib.units import HOURS_PER_YEAR

# Between two scrubs where nobody states it: once a month. Common practice, no source.
SCRUB_DAYS = 30.0

# Drives that develop an error in a year, in per cent. Shares of drives, not counts of errors: a
# drive's errors lie close together.
HDD_LATENT_LOW_PCT = 1.4  # Bairavasundaram et al. 2007 and 2008: disks of the enterprise class
HDD_LATENT_HIGH_PCT = 10.0  # Bairavasundaram et al. 2007: worst model, 20 % within 24 months
SSD_LATENT_LOW_PCT = 5.0  # Schroeder et al. 2016: best model, 20 % within four years
SSD_LATENT_HIGH_PCT = 15.75  # the same: worst model, 63 % within four years
LATENT_SOURCES = {
    "hdd": (
        "unreadable sectors: Bairavasundaram, Goodson, Pasupathy and Schindler, SIGMETRICS 2007",
        "scrubbing: Schroeder, Damouras and Gill, FAST 2010",
    ),
    "ssd": ("unreadable sectors: Schroeder, Lagisetty and Merchant, FAST 2016",),
}

_MOST_RATE = 0.5  # an error rate must stay below one


@dataclass(frozen=True)
class ErrorRates:
    """Unrecoverable errors per bit that a rebuild reads."""

    low: FloatArray  # field's low rate, scrubbed; never above the data sheet's ceiling
    expected: FloatArray  # the data sheet's ceiling
    high: FloatArray  # field's high rate; never below the ceiling


def unnoticed_per_drive(annual_pct: ArrayLike, unnoticed_hours: ArrayLike) -> FloatArray:
    """Mean number of errors on a drive that nobody has noticed yet: rate times mean time unnoticed.

    Little's law. Errors that a scrub finds every T hours wait T / 2 of them on average: Schroeder,
    Damouras and Gill, FAST 2010, for scrubs of one whole pass after the other.

    Parameters
    ----------
    annual_pct : array_like of float
        Errors that arise in a year on 100 drives, at least zero.
    unnoticed_hours : array_like of float
        Mean time until one is noticed and put right, at least zero.
    """
    rate = number("errors a year in per cent of drives", annual_pct, at_least=0)
    wait = number("hours unnoticed", unnoticed_hours, at_least=0)
    return np.asarray(rate / 100.0 / HOURS_PER_YEAR * wait)


def error_rates(
    bit_error_rate: ArrayLike,
    drive_bytes: ArrayLike,
    media: ArrayLike,
    *,
    scrub_hours: ArrayLike = SCRUB_DAYS * 24,
    unscrubbed_hours: ArrayLike = SCRUB_DAYS * 24,
) -> ErrorRates:
    """Spread a data sheet's ceiling of unreadable sectors over what the field found.

    Parameters
    ----------
    bit_error_rate : array_like
        The ceiling, errors per bit read, at least zero and below one; NaN: not known, and then
        none of the three is.
    drive_bytes : array_like
        Bytes on a drive, at least zero: the field's errors are counted by the drive.
    media : array_like of str
        ``"hdd"``; anything else counts as flash (`field_rates.mttf_range` refuses what is neither).
    scrub_hours, unscrubbed_hours : array_like of float
        Between two scrubs, for the low and for the high end. Of an array that is never scrubbed:
        its years in service.
    """
    ceiling = number("bit_error_rate", bit_error_rate, at_least=0, below=1)
    bits = 8.0 * number("drive_bytes", drive_bytes, at_least=0)
    disk = np.asarray(media) == "hdd"

    def field(disk_pct: float, flash_pct: float, interval_hours: ArrayLike) -> FloatArray:
        interval = number("hours between two scrubs", interval_hours, at_least=0)
        per_drive = unnoticed_per_drive(np.where(disk, disk_pct, flash_pct), interval / 2)
        return np.minimum(per_drive / np.where(bits > 0, bits, np.inf), _MOST_RATE)

    low = field(HDD_LATENT_LOW_PCT, SSD_LATENT_LOW_PCT, scrub_hours)
    high = field(HDD_LATENT_HIGH_PCT, SSD_LATENT_HIGH_PCT, unscrubbed_hours)
    return ErrorRates(np.minimum(ceiling, low), ceiling, np.maximum(ceiling, high))
