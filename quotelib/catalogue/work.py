"""What is done for a customer, and what is asked of storage: services and workloads."""

from decimal import Decimal
from typing import Annotated, ClassVar, Literal, get_args

from quotelib.catalogue import cells
from quotelib.catalogue.tables import Row

Action = Literal["new", "keep", "grow", "replace"]  # what is done with an array

_Per = Literal["build", "drive", "controller", "array", "quote"]
_When = Literal["always", "chosen"]
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
