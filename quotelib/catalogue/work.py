"""What is done for a customer, what is asked of storage, and who asks: services to customers."""

from decimal import Decimal
from typing import Annotated, ClassVar, Literal, get_args

from quotelib.catalogue import cells
from quotelib.catalogue.tables import Row

Action = Literal["new", "keep", "grow", "replace"]  # what is done with an array

_Per = Literal["build", "drive", "controller", "array", "quote"]
_When = Literal["always", "chosen"]
_ABOVE_0 = cells.amount("0", None, "give a number above 0, or leave it blank", low_open=True)
_MaybeAbove0 = Annotated[Decimal | None, cells.blank_as(None, _ABOVE_0)]
_BLOCK = cells.amount("0", None, "give KiB above 0, such as 8", low_open=True)
# Each is a step of the queueing recursion; no one server keeps more under way.
_OUTSTANDING = cells.whole(1, 10_000, "give operations under way at once, 1 to 10000")


class Service(Row):
    """Work for every build it applies to or, where it is chosen, for those that ask for it."""

    file_name: ClassVar[str] = "services.csv"
    share: ClassVar[str] = "Services"
    sku: cells.Sku
    description: cells.Text
    per: Annotated[_Per, cells.one_of(*get_args(_Per))]
    minutes: cells.Quantity
    unit_cost: cells.Money
    unit_price: cells.Money
    when: Annotated[_When, cells.blank_as("always", cells.one_of(*get_args(_When)))] = "always"
    actions: Annotated[tuple[Action, ...], cells.list_of(*get_args(Action))] = ()


class Workload(Row):
    """What a customer's programs ask of the storage."""

    file_name: ClassVar[str] = "workloads.csv"
    key: ClassVar[tuple[str, ...]] = ("name",)
    name: cells.Sku
    description: cells.Text
    read_pct: cells.Percent
    random_pct: cells.Percent
    block_kib: Annotated[Decimal, _BLOCK]
    outstanding: Annotated[int, _OUTSTANDING]
    writes_gb_per_day: cells.Quantity
    min_iops: _MaybeAbove0 = None
    max_response_ms: _MaybeAbove0 = None


class Customer(Row):
    """A customer we know, and what a quote says of them."""

    file_name: ClassVar[str] = "customers.csv"
    key: ClassVar[tuple[str, ...]] = ("customer",)
    optional: ClassVar[bool] = True
    customer: Annotated[str, cells.text(200)]
    address: cells.MaybeText = None
    contact: cells.MaybeText = None
    tax_id: cells.MaybeWord = None
    tax_code: cells.MaybeWord = None
    reference: cells.MaybeWord = None
