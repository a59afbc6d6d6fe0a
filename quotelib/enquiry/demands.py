"""What is a demand: something a build must do, judged on what is known of the build."""

from collections.abc import Callable
from dataclasses import dataclass
from decimal import ROUND_CEILING, Decimal
from typing import Any, Literal, Protocol

from quotelib.build.build import Build
from quotelib.pricing.money import digits, exact

Needs = Literal["build", "price", "estimates"]


class Considered(Protocol):
    """What is known of a build under consideration; None: not known, or not yet."""

    build: Build
    usable_bytes: int
    net: Decimal | None
    host_iops: float | None
    host_mb_s: float | None
    loss_pct: float | None


@dataclass(frozen=True, slots=True)
class Setting:
    """What a demand is asked in; `years` says how far the terms look ahead."""

    currency: str
    builds: int
    workload: str | None
    years: str

    @property
    def load(self) -> str:
        """Say which load estimates are for."""
        if self.workload:
            return f"under the workload {self.workload}"
        return "under small random operations, as no workload is named,"


@dataclass(frozen=True, slots=True)
class Demand:
    """How one column of an enquiry is judged.

    Parameters
    ----------
    needs : str
        What it takes to judge it: the ``build`` alone, its ``price`` or the ``estimates``.
    sense : str
        Whether a build must give at least, at most or exactly what was asked.
    got : callable
        What a build under consideration gives, in the unit of the column; None: not known.
    asked : callable
        The demand in words, of its value and the setting.
    shown : callable
        What a build gives in words, likewise.
    scale : callable, optional
        Turns the value of the column into what `got` gives, of value and setting.
    """

    needs: Needs
    sense: Literal["at least", "at most", "is"]
    got: Callable[[Considered], Any]
    asked: Callable[[Any, Setting], str]
    shown: Callable[[Considered, Setting], str]
    scale: Callable[[Any, Setting], Any] = lambda value, _: value


@dataclass(frozen=True, slots=True)
class Asked:
    """One demand of one enquiry: its column, how it is judged, and the value that was asked."""

    column: str
    demand: Demand
    value: Any
    setting: Setting

    @property
    def limit(self) -> Any:
        """Give the value in the unit of what a build gives."""
        return self.demand.scale(self.value, self.setting)

    @property
    def needs(self) -> Needs:
        """Say what it takes to judge it."""
        return self.demand.needs

    def met(self, candidate: Considered) -> bool:
        """Tell whether a build meets it; what is not known does not."""
        got, sense = self.demand.got(candidate), self.demand.sense
        if got is None:
            return False
        if sense == "is":
            return bool(got == self.limit)
        return bool(got >= self.limit if sense == "at least" else got <= self.limit)

    def shortfall(self, candidate: Considered) -> float:
        """Tell how far a build is from meeting it; only the order counts, lower is nearer."""
        got, sense = self.demand.got(candidate), self.demand.sense
        if got is None:
            return float("inf")
        if sense == "is":
            return float(got != self.limit)
        return float(self.limit - got if sense == "at least" else got - self.limit)

    @property
    def words(self) -> str:
        """Say what is asked."""
        return self.demand.asked(self.value, self.setting)

    def shown(self, candidate: Considered) -> str:
        """Say what a build gives."""
        return self.demand.shown(candidate, self.setting)


def price_words(net: Decimal, setting: Setting) -> str:
    """Write the price of one build, rounded up to the minor unit: the least limit it meets."""
    with exact() as context:
        context.rounding = ROUND_CEILING
        one = (net / setting.builds).quantize(Decimal(1).scaleb(-digits(setting.currency)))
    return f"{setting.currency} {one:f} a build"


def rate_demand(unit: str, got: Callable[[Considered], float | None]) -> Demand:
    """Describe a rate that estimates must reach under the workload."""

    def shown(candidate: Considered, _: Setting) -> str:
        value = got(candidate)
        return "not known" if value is None else f"about {value:,.0f} {unit}"

    def asked(value: Any, setting: Setting) -> str:
        return f"at least {float(value):,.0f} {unit} {setting.load}"

    return Demand("estimates", "at least", got, asked, shown, lambda value, _: float(value))
