"""Checks and shapes shared by the performance estimates."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int8]
StrArray = NDArray[np.str_]


def _first(values: FloatArray, bad: NDArray[np.bool_]) -> str:
    where = np.argwhere(bad)
    text = f"{float(values[tuple(where[0])]):g}"
    if values.ndim == 0:
        return text
    place = ", ".join(str(int(i)) for i in where[0])
    return f"{text} at position {place}" + (f" and {len(where) - 1} more" if len(where) > 1 else "")


def number(
    name: str,
    value: ArrayLike,
    *,
    above: float | None = None,
    at_least: float | None = None,
    at_most: float | None = None,
    below: float | None = None,
    whole: bool = False,
    infinite: bool = False,
) -> FloatArray:
    """Read a quantity as floats; NaN ("not known") passes, anything impossible does not.

    Parameters
    ----------
    name : str
        Name of the quantity with its unit, for the message.
    value : array_like of float
        Any shape.
    above, at_least, at_most, below : float, optional
        Limits the finite values must keep.
    whole : bool
        Only whole numbers.
    infinite : bool
        Positive infinity is allowed ("no limit").

    Returns
    -------
    ndarray of float
        The values, same shape.

    Raises
    ------
    ValueError
        A value outside its limits, with its position and what would be right.
    """
    array = np.asarray(value, dtype=np.float64)
    checks: list[tuple[NDArray[np.bool_], str]] = []
    if above is not None:
        checks.append((array <= above, f"must be above {above:g}"))
    if at_least is not None:
        checks.append((array < at_least, f"must be at least {at_least:g}"))
    if at_most is not None:
        checks.append((array > at_most, f"must be at most {at_most:g}"))
    if below is not None:
        checks.append((array >= below, f"must be below {below:g}"))
    if not infinite:
        checks.append((np.isinf(array), "must be finite"))
    if whole:
        checks.append((np.isfinite(array) & (array != np.floor(array)), "must be whole"))
    for bad, rule in checks:
        if bad.any():
            raise ValueError(f"{name} {rule}, but is {_first(array, bad)}")
    return array


def require(holds: ArrayLike, message: str) -> None:
    """Refuse combinations that cannot exist.

    Parameters
    ----------
    holds : array_like of bool
        True where the combination is possible.
    message : str
        Why it is wrong and what would be right.

    Raises
    ------
    ValueError
        Somewhere `holds` is False; the message gives the first position.
    """
    good = np.asarray(holds, dtype=bool)
    if good.all():
        return
    if good.ndim == 0:
        raise ValueError(message)
    place = ", ".join(str(int(i)) for i in np.argwhere(~good)[0])
    raise ValueError(f"{message} (first at position {place})")
