"""What is an estimate: a figure with its range, its basis, its sources and what it rests on."""

import math
from functools import lru_cache
from typing import Literal, Self

import numpy as np
from pydantic import model_validator

from quotelib.facts import Fact, Frozen
from quotelib.text import figure

Group = Literal["speed", "rebuild", "risk", "wear", "power"]
Inputs = tuple[tuple[str, str], ...]

NOT_KNOWN = (math.nan, math.nan, math.nan)
"""Values of a figure that cannot be worked out."""


class Estimate(Frozen):
    """A figure nobody may mistake for a promise.

    Parameters
    ----------
    key, name : str
        Its name for programs, and for people.
    value, low, high : float or None
        ``low <= value <= high``. None: not known, or no end to the range; `basis` then says why.
    shown, shown_range : str
        Value and range as a page shows them.
    basis : str
        The formula in words, or, for an unknown value, what is missing.
    sources : tuple of str
        Where the formula and its figures come from.
    inputs : tuple of Fact
        Those that matter most, first.

    Raises
    ------
    ValueError
        A value that is not finite, a range that does not hold the value, a range without a
        value, or an empty name or basis.
    """

    key: str
    group: Group
    name: str
    value: float | None
    low: float | None
    high: float | None
    unit: str
    shown: str
    shown_range: str
    basis: str
    sources: tuple[str, ...]
    inputs: tuple[Fact, ...]

    @model_validator(mode="after")
    def _no_figure_that_misleads(self) -> Self:
        if not self.name.strip() or not self.basis.strip():
            raise ValueError(f"{self.key}: an estimate needs a name, and its basis in words")
        ends = [end for end in (self.low, self.high) if end is not None]
        if self.value is None:
            if ends:
                raise ValueError(f"{self.name}: a value that is not known cannot have a range")
            return self
        if not all(map(math.isfinite, (self.value, *ends))):
            raise ValueError(f"{self.name}: not a finite number; use None and say why")
        low = self.value if self.low is None else self.low
        high = self.value if self.high is None else self.high
        if not low <= self.value <= high:
            raise ValueError(f"{self.name}: {low} to {high} does not hold the value {self.value}")
        return self


def one(values: object) -> float:
    """Take the one element of an array for a single build."""
    return float(np.asarray(values).reshape(-1)[0])


def made(
    group: Group,
    key: str,
    name: str,
    unit: str,
    values: tuple[object, object, object],
    *,
    basis: str,
    sources: tuple[str, ...],
    inputs: Inputs = (),
    missing: str = "",
    digits: int = 3,
) -> Estimate:
    """Make an estimate of low, value and high, or say what is missing.

    Parameters
    ----------
    group, key, name, unit, basis, sources, inputs
        As in `Estimate`.
    values : tuple
        Low, value and high, each a number or an array of one; NaN: no such end, or not known.
        An infinite end is one without an end.
    missing : str
        The basis where the value is not known.
    digits : int
        Significant digits to show.
    """
    low, value, high = (one(v) for v in values)
    shown, shown_range = "not known", ""
    if math.isfinite(value):
        # The ends come from models of their own; they must hold the value whatever they give.
        ends = [v for v in (low, high) if not math.isnan(v)]
        low, high = min([value, *ends]), max([value, *ends])
        least, most = figure(low, digits), figure(high, digits)
        shown = f"{figure(value, digits)} {unit}".strip()
        if math.isinf(high):
            shown_range = f"from {least} {unit}".strip()
        else:
            shown_range = f"{least} to {most} {unit}".strip() if least != most else ""
    else:
        low = high = math.nan
        basis = missing
    return Estimate(
        key=key,
        group=group,
        name=name,
        value=_finite(value),
        low=_finite(low),
        high=_finite(high),
        unit=unit,
        shown=shown,
        shown_range=shown_range,
        basis=basis,
        sources=sources,
        inputs=_facts(inputs),
    )


@lru_cache(maxsize=256)
def _facts(inputs: Inputs) -> tuple[Fact, ...]:
    """Make facts of inputs: many estimates of a quote rest on the same."""
    return tuple(Fact(label=label, value=text) for label, text in inputs)


def six(value: float) -> float:
    """Keep six digits, so that a record is the same on every processor."""
    return float(f"{value:.6g}")


def _finite(value: float) -> float | None:
    return value if math.isfinite(value) else None
