"""Can these numbers be: checks and shapes shared by all estimates."""

from __future__ import annotations

import math

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


def _fits(
    value: float,
    above: float | None,
    at_least: float | None,
    at_most: float | None,
    below: float | None,
    whole: bool,
    infinite: bool,
) -> bool:
    return not (
        (above is not None and value <= above)
        or (at_least is not None and value < at_least)
        or (at_most is not None and value > at_most)
        or (below is not None and value >= below)
        or (not infinite and math.isinf(value))
        or (whole and math.isfinite(value) and value != math.floor(value))
    )


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
    # A single quote asks some two hundred times for one number: no array arithmetic for that.
    if array.size == 1 and _fits(array.item(), above, at_least, at_most, below, whole, infinite):
        return array

    def refuse_where(bad: NDArray[np.bool_], rule: str, limit: float | None = None) -> None:
        if np.count_nonzero(bad):  # for small arrays much quicker than any()
            words = rule if limit is None else f"{rule} {limit:g}"
            raise ValueError(f"{name} must be {words}, but is {_first(array, bad)}")

    if above is not None:
        refuse_where(array <= above, "above", above)
    if at_least is not None:
        refuse_where(array < at_least, "at least", at_least)
    if at_most is not None:
        refuse_where(array > at_most, "at most", at_most)
    if below is not None:
        refuse_where(array >= below, "below", below)
    if not infinite:
        refuse_where(np.isinf(array), "finite")
    if whole:
        refuse_where(np.isfinite(array) & (array != np.floor(array)), "whole")
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


def common_shape(*arrays: FloatArray) -> tuple[int, ...]:
    """Find the shape arrays broadcast to.

    Parameters
    ----------
    *arrays : ndarray
        Any shapes.

    Returns
    -------
    tuple of int
        The common shape.

    Raises
    ------
    ValueError
        There is none.
    """
    try:
        return np.broadcast_shapes(*(x.shape for x in arrays))
    except ValueError:
        shapes = ", ".join(dict.fromkeys(str(x.shape) for x in arrays if x.shape))
        raise ValueError(
            f"the arrays given have shapes {shapes}, which do not go together; right would be "
            "one shape for all, or single numbers"
        ) from None


def together(**arrays: FloatArray) -> dict[str, FloatArray]:
    """Broadcast arrays against each other, each under its name.

    Parameters
    ----------
    **arrays : ndarray
        Shapes that go together.

    Returns
    -------
    dict
        The same names; read-only views of the common shape.

    Raises
    ------
    ValueError
        The shapes do not go together.
    """
    full = common_shape(*arrays.values())
    return {name: np.broadcast_to(array, full) for name, array in arrays.items()}
