"""What is a column of an enquiry: how it is called, read, said, and judged by."""

from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass, field
from typing import Any, Literal

from pydantic import BeforeValidator

from quotelib.catalogue import cells
from quotelib.catalogue.price_list import PriceList
from quotelib.enquiry.demands import Demand, Setting

_MANY = 10**6
AT_LEAST = cells.amount("0", None, "give a number, 0 or more")
COUNT = cells.whole(0, _MANY, "give a whole number, 0 or more")
POSITIVE = cells.whole(1, _MANY, "give a whole number, 1 or more")
PERCENT = cells.amount("0", "100", "give a percentage from 0 to 100")
NAME = cells.text(200)
LISTED = "the price list's "

Kind = Literal["text", "area", "number", "select", "pick", "ticks"]
Of = Literal["quote", "server", "array"]


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
        What it belongs to: the whole ``quote``, a ``server`` or an ``array``.
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
        return [name for name, _ in cells.split_counts(cell)] if self.many else [cell]
