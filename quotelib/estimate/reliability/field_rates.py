"""How often drives fail, as data sheets say and as field studies found."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from quotelib.estimate.checks import FloatArray, number
from quotelib.units import HOURS_PER_YEAR

# Annual replacement rates in per cent of drives.
HDD_FIELD_MEAN_PCT = 3.01  # Schroeder and Gibson, FAST 2007: mean over 100,000 drives
HDD_FIELD_HIGH_PCT = 8.6  # Pinheiro, Weber, Barroso, FAST 2007: drives in their third year
SSD_FIELD_MEAN_PCT = 0.22  # Maneas et al., FAST 2020: mean over 1.4 million drives
SSD_FIELD_HIGH_PCT = 1.2  # the same: worst model
FIELD_SOURCES = {
    "hdd": ("Schroeder and Gibson, FAST 2007", "Pinheiro, Weber and Barroso, FAST 2007"),
    "ssd": ("Maneas, Mahdaviani, Emami and Schroeder, FAST 2020",),
}

# After a first failure the others are likelier to fail.
AFTER_FAILURE_1994 = 10.0  # Chen et al. 1994, Table 4: MTTF 200,000 h, then 20,000 h


@dataclass(frozen=True)
class MttfRange:
    """Mean time to failure of one drive, in hours, as the evidence spreads it."""

    best: FloatArray  # the longer of the data sheet's and the field's mean
    expected: FloatArray  # the shorter of the two: never more hopeful than either
    worst: FloatArray  # at the highest published field rate, or `expected` where shorter still


def mttf_from_annual_pct(annual_pct: ArrayLike) -> FloatArray:
    """Mean time to failure, in hours, that makes a share of drives be replaced a year.

    `annual_pct`, above zero, counts replacements in a year per 100 drives in service. It is a rate,
    not a probability: replaced drives count again.
    """
    return np.asarray(
        100.0 * HOURS_PER_YEAR / number("annual rate in per cent", annual_pct, above=0)
    )


def mttf_range(mttf_hours: ArrayLike, media: ArrayLike) -> MttfRange:
    """Spread a data sheet's mean time to failure over what field studies found.

    Parameters
    ----------
    mttf_hours : array_like
        As the data sheet states it, above zero; NaN for not known gives the field's figures.
    media : array_like of str
        ``"hdd"`` or ``"ssd"``; ValueError for another.
    """
    kinds = np.asarray(media)
    disk = kinds == "hdd"
    known = disk | (kinds == "ssd")
    if not known.all():
        raise ValueError(f'media must be "hdd" or "ssd", but is {kinds[~known].flat[0]!r}')
    sheet, disk = np.broadcast_arrays(number("mttf_hours", mttf_hours, above=0), disk)
    mean = mttf_from_annual_pct(np.where(disk, HDD_FIELD_MEAN_PCT, SSD_FIELD_MEAN_PCT))
    high = mttf_from_annual_pct(np.where(disk, HDD_FIELD_HIGH_PCT, SSD_FIELD_HIGH_PCT))
    expected = np.fmin(sheet, mean)
    return MttfRange(np.fmax(sheet, mean), expected, np.fmin(expected, high))
