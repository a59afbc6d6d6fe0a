"""What is a column of an enquiry: how it is called, read, said, and builds are judged by it."""

import operator
from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass, field
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal
from functools import cached_property
from typing import Any, Literal, Protocol

from pydantic import BeforeValidator

from quotelib.build.build import Build
from quotelib.build.slots import stay_free
from quotelib.catalogue import cells
from quotelib.catalogue.price_list import PriceList
from quotelib.catalogue.quantities import from_0
from quotelib.enquiry.load import name_of, numbers_of
from quotelib.pricing.money import digits, exact, to_minor
from quotelib.ready.workshop import Workshop

_MANY, _MOST_DRIVES = 10**6, 1000
COUNT = cells.whole(0, _MANY, f"give a whole number, 0 or more, at most {_MANY}")
POSITIVE = cells.whole(1, _MANY, f"give a whole number, 1 or more, at most {_MANY}")
MEMBERS = cells.whole(1, _MOST_DRIVES, f"give a whole number, 1 or more, at most {_MOST_DRIVES}")
SPARES = cells.whole(0, _MOST_DRIVES, f"give a whole number, 0 or more, at most {_MOST_DRIVES}")
TB_AT_LEAST = from_0("1000000", "TB", "0.000001")
IOPS_AT_LEAST = from_0("1e10", "operations a second")
MB_S_AT_LEAST = from_0("10000000", "MB/s")
WATTS_AT_MOST = from_0("1000000", "watts")
MS_AT_MOST = from_0("1000000", "milliseconds")
NAME = cells.text(200)
LISTED = "the price list's "

Kind = Literal["text", "area", "number", "select", "pick", "ticks"]
Of = Literal["quote", "server", "array", "row"]
Sense = Literal["at least", "at most", "is", "serves"]
_MEETS: dict[Sense, Callable[[Any, Any], bool]] = {
    "at least": operator.ge, "at most": operator.le, "is": operator.eq, "serves": stay_free,
}  # fmt: skip
Needs = Literal["build", "price", "estimates"]


class Considered(Protocol):
    """What is known of a build under consideration; None: not known, or not yet."""

    build: Build
    usable_bytes: int
    net: Decimal | None
    host_iops: float | None
    host_mb_s: float | None
    response_ms: float | None
    loss_pct: float | None

    @property
    def net_of_builds(self) -> Decimal | None:
        """Give the net without what is charged once a quote."""


@dataclass(frozen=True, slots=True)
class Setting:
    """What a demand is asked in.

    `years` says how far the terms look ahead, `workshop` when builds can leave (None: not known).
    """

    currency: str
    builds: int
    workload: str | None
    years: str
    workshop: Workshop | None = None

    @property
    def load(self) -> str:
        """Say which load estimates are for."""
        if self.workload:
            own = ", with its own numbers," if numbers_of(self.workload) else ""
            return f"under the workload {name_of(self.workload)}{own}"
        return "under small random operations, as no workload is named,"


@dataclass(frozen=True, slots=True)
class Demand:
    """How one column of an enquiry is judged.

    Parameters
    ----------
    needs : str
        What it takes to judge it: the ``build`` alone, its ``price`` or the ``estimates``.
    sense : str
        Whether a build must give at least, at most or exactly what was asked, or slots that serve.
    got : callable
        What a build under consideration gives, in the unit of the column, of the build and
        the setting; None: not known.
    asked : callable
        The demand in words, of its value and the setting.
    shown : callable
        What a build gives in words, of the build and the setting.
    scale : callable, optional
        Turns the value of the column into what `got` gives, of value and setting.
    """

    needs: Needs
    sense: Sense
    got: Callable[[Considered, Setting], Any]
    asked: Callable[[Any, Setting], str]
    shown: Callable[[Considered, Setting], str]
    scale: Callable[[Any, Setting], Any] = lambda value, _: value


@dataclass(frozen=True, slots=True)
class Column:
    """One column of an enquiry.

    Parameters
    ----------
    name : str
    label : str
        In a form and where a page says what was asked.
    help : str
        Beside the field of a form; ``{years}`` stands for how far the terms look ahead.
    write, blank : str
        In the README: what to write, and what a blank cell means.
    read : BeforeValidator
        Reads a cell that is not blank.
    default : object
        What a blank cell gives.
    kind : str
        Of field in a form.
    of : str
        What it belongs to: the whole ``quote`` or a ``server``, whose first row says it; an
        ``array``; or just its ``row``.
    required : bool
    page : str
        Label where a page says what was asked; blank: `label`.
    said : callable or None
        What a page says was asked, of value and setting; None: it is said elsewhere.
    known : callable or None
        Which values a price list has for it, and where; None: any.
    offers : mapping of str to (str, str)
        Values that hold with any price list, each with its words and a detail, for a form.
    demand : Demand or None
        How builds are judged by it.
    many : bool
        Whether a cell lists several things, each perhaps with a count (``SKU*2``).
    named : callable
        What a cell of one thing names.
    """

    name: str
    label: str
    help: str
    write: str
    blank: str
    read: BeforeValidator
    default: Any = None
    kind: Kind = "number"
    of: Of = "array"
    required: bool = False
    page: str = ""
    said: Callable[[Any, Setting], str] | None = None
    known: Callable[[PriceList], tuple[Collection[str], str]] | None = None
    offers: Mapping[str, tuple[str, str]] = field(default_factory=dict)
    demand: Demand | None = None
    many: bool = False
    named: Callable[[str], str] = str

    def parse(self, cell: str) -> Any:
        """Read a cell.

        Raises
        ------
        PydanticCustomError
            With why it is wrong and what would be right.
        """
        text = cell.strip()
        if not text and not self.required:
            return self.default
        return cells.apply(self.read, text)

    def names(self, cell: str) -> list[str]:
        """Give what a cell names: one thing, or each of its list."""
        if not self.many:
            return [self.named(cell)]
        return [name for name, _ in cells.split_counts(cell) if name]


@dataclass(frozen=True)
class Asked:
    """One demand of one enquiry: its column, how it is judged, and the value that was asked."""

    column: str
    of: Of
    demand: Demand
    value: Any
    setting: Setting

    @property
    def needs(self) -> Needs:
        """Say what it takes to judge it."""
        return self.demand.needs

    @cached_property
    def limit(self) -> Any:
        """Give the value asked as builds give it."""
        return self.demand.scale(self.value, self.setting)

    @cached_property
    def met(self) -> Callable[[Considered], bool]:
        """Tell whether a build meets it; what is not known does not."""
        # Put together once: a search asks it of a hundred thousand builds.
        got, setting, limit = self.demand.got, self.setting, self.limit
        meets = _MEETS[self.demand.sense]

        def judge(candidate: Considered) -> bool:
            value = got(candidate, setting)
            return value is not None and bool(meets(value, limit))

        return judge

    def shortfall(self, candidate: Considered) -> float:
        """Tell how far a build is from meeting it; only the order counts, lower is nearer."""
        got, sense = self.demand.got(candidate, self.setting), self.demand.sense
        if got is None:
            return float("inf")
        if sense == "is":
            return float(got != self.limit)
        if sense == "serves":
            missing = sum(one.count for one in self.limit) - len(got)
            return float(max(missing, not self.met(candidate)))
        return float(self.limit - got if sense == "at least" else got - self.limit)

    @property
    def words(self) -> str:
        """Say what is asked."""
        return self.demand.asked(self.value, self.setting)

    def shown(self, candidate: Considered) -> str:
        """Say what a build gives."""
        return self.demand.shown(candidate, self.setting)


def price_words(net: Decimal, setting: Setting) -> str:
    """Write the price of one build as quotes print it, which is the least limit it meets."""
    with exact():
        one = to_minor(setting.currency, net / setting.builds)
    return f"{setting.currency} {one:f} a build"


def most_net(each: Decimal, setting: Setting) -> Decimal:
    """Give the highest net of all builds with which one, as quotes print it, costs at most `each`.

    The price of one is rounded half away from zero to the minor unit: who is told 2,978.80 and
    says yes to that must get it.
    """
    places = digits(setting.currency)
    with exact():
        units = (each.scaleb(places)).to_integral_value(ROUND_FLOOR)
        below = (units + Decimal("0.5")) * setting.builds
        return (below.to_integral_value(ROUND_CEILING) - 1).scaleb(-places)


def rate_demand(
    unit: str,
    got: Callable[[Considered], float | None],
    sense: Literal["at least", "at most"] = "at least",
) -> Demand:
    """Describe what estimates must reach, or not pass, under the workload."""
    digits = 0 if sense == "at least" else 2

    def shown(candidate: Considered, _: Setting) -> str:
        value = got(candidate)
        return "not known" if value is None else f"about {value:,.{digits}f} {unit}"

    def asked(value: Any, setting: Setting) -> str:
        return f"{sense} {float(value):,.{digits}f} {unit} {setting.load}"

    return Demand(
        "estimates", sense, lambda c, _: got(c), asked, shown, lambda value, _: float(value)
    )
