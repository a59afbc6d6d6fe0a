"""How heavy is it, against what one person may be asked to lift at best."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from quotelib.estimate.checks import FloatArray, number

LIFTING_CONSTANT_KG = 23.0  # NIOSH revised lifting equation, load constant

LIFTING_CAUTION = (
    "The constant is the most for one person in an ideal posture: less when the load is held away "
    "from the body, low, high or to the side, or is lifted often. Lifting limits differ by "
    "country: local rules come first. Fit drives after the chassis is in the rack, and lift "
    "with two people or a lift."
)


def mass_kg(*parts_g: ArrayLike) -> FloatArray:
    """Add up the mass of parts.

    Parameters
    ----------
    *parts_g : array_like
        Grams, each zero or more, quantity already counted in.

    Returns
    -------
    ndarray
        Kilograms. NaN in, NaN out; no parts weigh nothing.

    Raises
    ------
    ValueError
        A negative mass.
    """
    total = np.zeros(())
    for grams in parts_g:
        total = total + number("mass in grams", grams, at_least=0)
    return np.asarray(total / 1000.0)


def lifting_share(total_kg: ArrayLike) -> FloatArray:
    """Mass as a share of the lifting constant of 23 kg.

    Parameters
    ----------
    total_kg : array_like
        Kilograms, zero or more.

    Returns
    -------
    ndarray
        Above 1, nobody should lift it alone however well placed. NaN in, NaN out.

    Raises
    ------
    ValueError
        A negative mass.

    Notes
    -----
    Waters, Putz-Anderson, Garg, Applications Manual for the Revised NIOSH Lifting Equation,
    DHHS (NIOSH) 94-110, 1994: load constant 23 kg (51 lb).
    """
    return np.asarray(number("total_kg", total_kg, at_least=0) / LIFTING_CONSTANT_KG)


def too_heavy_for_one(total_kg: ArrayLike) -> NDArray[np.bool_]:
    """Whether a mass lies over the lifting constant.

    Parameters
    ----------
    total_kg : array_like
        Kilograms, zero or more.

    Returns
    -------
    ndarray of bool
        True above 23 kg. A mass that is not known (NaN) is not said to be heavy: check first.

    Raises
    ------
    ValueError
        A negative mass.
    """
    return np.asarray(number("total_kg", total_kg, at_least=0) > LIFTING_CONSTANT_KG)
