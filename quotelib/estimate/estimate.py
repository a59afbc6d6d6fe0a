"""One figure with its range, its basis and the inputs that drive it."""

from __future__ import annotations

import math
from dataclasses import dataclass


@dataclass(frozen=True)
class Estimate:
    """A figure nobody may mistake for a promise.

    Parameters
    ----------
    name : str
        Plain name of the figure, such as ``"rebuild time, idle"``.
    value : float or None
        The figure itself; None means "not known" and then `basis` says why.
    unit : str
        Unit of value, low and high; ``""`` for a pure number.
    low, high : float or None
        Ends of the range, ``low <= value <= high``; None where no end is claimed. An end
        may be infinite (a quantity without a ceiling), the value may not.
    basis : str
        The formula in words, or, for an unknown value, what is missing.
    source : str
        Where the formula comes from.
    inputs : tuple of (str, str)
        Name and value with its unit, the most important first.

    Raises
    ------
    ValueError
        A value that is not finite, a range that does not hold the value, ends that are not
        numbers, a range without a value, or an empty name or basis.
    """

    name: str
    value: float | None
    unit: str
    low: float | None
    high: float | None
    basis: str
    source: str
    inputs: tuple[tuple[str, str], ...] = ()

    def __post_init__(self) -> None:
        """Refuse a figure that would mislead."""
        if not self.name.strip():
            raise ValueError("an estimate needs a name")
        if not self.basis.strip():
            raise ValueError(
                f"{self.name}: an estimate needs its basis in words"
                + ("; for a value that is not known, say why" if self.value is None else "")
            )
        if self.value is None:
            if self.low is not None or self.high is not None:
                raise ValueError(f"{self.name}: a value that is not known cannot have a range")
            return
        if not math.isfinite(self.value):
            raise ValueError(
                f"{self.name}: the value is {self.value}, not a finite number; "
                "use None and say in the basis why it is not known"
            )
        for end, bound in (("low", self.low), ("high", self.high)):
            if bound is not None and math.isnan(bound):
                raise ValueError(f"{self.name}: the {end} end of the range is not a number")
        if self.low is not None and self.low > self.value:
            raise ValueError(f"{self.name}: low end {self.low} lies above the value {self.value}")
        if self.high is not None and self.high < self.value:
            raise ValueError(f"{self.name}: high end {self.high} lies below the value {self.value}")

    @property
    def known(self) -> bool:
        """Whether there is a value to show."""
        return self.value is not None


def not_known(
    name: str, unit: str, why: str, *, source: str = "", inputs: tuple[tuple[str, str], ...] = ()
) -> Estimate:
    """Give the estimate of a figure that cannot be worked out.

    Parameters
    ----------
    name, unit, source, inputs
        As in `Estimate`.
    why : str
        What is missing, as one sentence for the reader.

    Returns
    -------
    Estimate
        One whose `known` is False.

    Raises
    ------
    ValueError
        `name` or `why` is empty.
    """
    return Estimate(name, None, unit, None, None, why, source, inputs)
