"""How is an estimate shown: significant digits, ranges, and what is not known."""

import math

import numpy as np

from quotelib.estimate.estimate import Estimate, not_known
from quotelib.quote.facts import Fact
from quotelib.quote.outlook_record import EstimateFacts, Group

_RAISED = str.maketrans("-0123456789", "⁻⁰¹²³⁴⁵⁶⁷⁸⁹")


def raised(power: int) -> str:
    """Write a power as it stands above the line."""
    return str(power).translate(_RAISED)


def number(value: float, digits: int = 3) -> str:
    """Write a figure with so many significant digits and thousands apart."""
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


def facts(key: str, group: Group, found: Estimate, digits: int = 3) -> EstimateFacts:
    """Put an estimate into words."""
    shown, spread = "not known", ""
    if found.value is not None:
        shown = f"{number(found.value, digits)} {found.unit}".strip()
        if found.low is not None and found.high is not None:
            low, high = number(found.low, digits), number(found.high, digits)
            spread = f"{low} to {high} {found.unit}".strip() if low != high else ""
    end = {
        name: None if value is None or not math.isfinite(value) else value
        for name, value in (("low", found.low), ("high", found.high))
    }
    return EstimateFacts(
        key=key,
        group=group,
        name=found.name,
        value=found.value,
        low=end["low"],
        high=end["high"],
        unit=found.unit,
        shown=shown,
        shown_range=spread,
        basis=found.basis,
        source=found.source,
        inputs=tuple(Fact(label=label, value=value) for label, value in found.inputs),
    )


def one(values: object) -> float:
    """Take the one element of an array for a single build."""
    return float(np.asarray(values).reshape(-1)[0])


def made(
    name: str,
    unit: str,
    values: tuple[object, object, object],
    basis: str,
    source: str,
    inputs: tuple[tuple[str, str], ...],
    missing: str,
) -> Estimate:
    """Make an estimate of low, value and high, or say what is missing."""
    low, value, high = (one(v) for v in values)
    if not math.isfinite(value):
        return not_known(name, unit, missing, source=source, inputs=inputs)
    # The ends come from models of their own; they must hold the value whatever they give.
    ends = [v for v in (low, high) if not math.isnan(v)]
    return Estimate(
        name, value, unit, min([value, *ends]), max([value, *ends]), basis, source, inputs
    )
