"""Can these numbers be: checks and shapes shared by all estimates."""

import math
from collections.abc import Callable
from dataclasses import fields, is_dataclass, replace
from typing import Any, TypeVar

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int8]
StrArray = NDArray[np.str_]

_Given = TypeVar("_Given")


def _refuse_where(bad: Any, name: str, values: FloatArray, rule: str) -> None:
    if not np.count_nonzero(bad):  # for small arrays much quicker than any()
        return
    where = np.argwhere(np.reshape(bad, values.shape))
    text = f"{name} must be {rule}, but is {float(values[tuple(where[0])]):g}"
    if values.ndim:
        text += f" at position {', '.join(map(str, where[0]))}"
        text += f" and {len(where) - 1} more" if len(where) > 1 else ""
    raise ValueError(text)


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
        Any shape; the result has the same.
    above, at_least, at_most, below : float, optional
        Limits the finite values must keep.
    whole : bool
        Only whole numbers.
    infinite : bool
        Positive infinity is allowed ("no limit").

    Raises
    ------
    ValueError
        A value outside its limits, with its position and what would be right.
    """
    array = np.asarray(value, dtype=np.float64)
    # A single quote asks some two hundred times for one number: no array arithmetic for that.
    x: Any = array.item() if array.size == 1 else array

    if above is not None and (bad := x <= above) is not False:
        _refuse_where(bad, name, array, f"above {above:g}")
    if at_least is not None and (bad := x < at_least) is not False:
        _refuse_where(bad, name, array, f"at least {at_least:g}")
    if at_most is not None and (bad := x > at_most) is not False:
        _refuse_where(bad, name, array, f"at most {at_most:g}")
    if below is not None and (bad := x >= below) is not False:
        _refuse_where(bad, name, array, f"below {below:g}")
    if not infinite and (bad := abs(x) == math.inf) is not False:
        _refuse_where(bad, name, array, "finite")
    if whole and not (array.size == 1 and x.is_integer()):
        _refuse_where((abs(x) < math.inf) & (x != np.floor(x)), name, array, "whole")
    return array


def require(holds: ArrayLike, message: str) -> None:
    """Refuse what cannot exist, with the first position where `holds` is False.

    `message` says why and what would be right.
    """
    good = np.asarray(holds, dtype=bool)
    if good.all():
        return
    if good.ndim == 0:
        raise ValueError(message)
    place = ", ".join(map(str, np.argwhere(~good)[0]))
    raise ValueError(f"{message} (first at position {place})")


def common_shape(*arrays: FloatArray) -> tuple[int, ...]:
    """Find the shape arrays broadcast to; ValueError with their shapes where there is none."""
    try:
        return np.broadcast_shapes(*(x.shape for x in arrays))
    except ValueError:
        shapes = ", ".join(dict.fromkeys(str(x.shape) for x in arrays if x.shape))
        raise ValueError(
            f"the arrays given have shapes {shapes}, which do not go together; right would be "
            "one shape for all, or single numbers"
        ) from None


def together(**arrays: FloatArray) -> dict[str, FloatArray]:
    """Broadcast arrays against each other, each under its name; nothing may be written to them."""
    full = common_shape(*arrays.values())
    return {
        name: array if array.shape == full else np.broadcast_to(array, full)
        for name, array in arrays.items()
    }


def with_each(given: _Given, change: Callable[[ArrayLike], FloatArray]) -> _Given:
    """Change every field of a dataclass of numbers."""
    assert is_dataclass(given) and not isinstance(given, type)
    return replace(given, **{f.name: change(getattr(given, f.name)) for f in fields(given)})
