"""What is done for a customer, what is asked of storage, and who asks: services to customers."""

from typing import Annotated, Any, ClassVar, Literal, get_args

from pydantic import BeforeValidator

from quotelib import resources
from quotelib.catalogue import cells
from quotelib.catalogue import quantities as q
from quotelib.catalogue.tables import Row

Action = Literal["new", "keep", "grow", "replace"]  # what is done with an array

_Per = Literal["build", "drive", "controller", "array", "quote"]
_When = Literal["always", "chosen"]
# Each is a step of the queueing recursion; no one server keeps more under way.
_OUTSTANDING = cells.whole(1, 10_000, "give operations under way at once, 1 to 10000")


def _language(cell: Any) -> str:
    value: str = cells.apply(cells.one_of(*resources.languages()), cell)
    return value


class Service(Row):
    """Work for every build it applies to or, where it is chosen, for those that ask for it."""

    file_name: ClassVar[str] = "services.csv"
    share: ClassVar[str] = "Services"
    sku: cells.Sku
    description: cells.Text
    per: Annotated[_Per, cells.one_of(*get_args(_Per))]
    minutes: q.Minutes
    unit_cost: q.Money
    unit_price: q.Money
    when: Annotated[_When, cells.blank_as("always", cells.one_of(*get_args(_When)))] = "always"
    actions: Annotated[tuple[Action, ...], cells.list_of(*get_args(Action))] = ()


class Workload(Row):
    """What a customer's programs ask of the storage."""

    file_name: ClassVar[str] = "workloads.csv"
    key: ClassVar[tuple[str, ...]] = ("name",)
    name: cells.Sku
    description: cells.Text
    read_pct: q.Percent
    random_pct: q.Percent
    block_kib: q.BlockKib
    outstanding: Annotated[int, _OUTSTANDING]
    writes_gb_per_day: q.WritesGbPerDay
    min_iops: q.MaybeMinIops = None
    max_response_ms: q.MaybeResponseMs = None


class Customer(Row):
    """A customer we know, what a quote says of them, and the language of their offers."""

    file_name: ClassVar[str] = "customers.csv"
    key: ClassVar[tuple[str, ...]] = ("customer",)
    optional: ClassVar[bool] = True
    customer: Annotated[str, cells.text(200)]
    address: cells.MaybeText = None
    contact: cells.MaybeText = None
    tax_id: cells.MaybeWord = None
    tax_code: cells.MaybeWord = None
    reference: cells.MaybeWord = None
    language: Annotated[str, cells.blank_as("en", BeforeValidator(_language))] = "en"
