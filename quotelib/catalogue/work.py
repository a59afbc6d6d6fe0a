"""What is done for a customer, and what is asked of storage: services and workloads."""

from decimal import Decimal
from typing import Annotated, ClassVar, Literal, get_args

from quotelib.catalogue import cells
from quotelib.catalogue.tables import Row

_Per = Literal["build", "drive", "controller", "array"]
_BLOCK = cells.amount("0", None, "give KiB above 0, such as 8", low_open=True)
# Each is a step of the queueing recursion; no one server keeps more under way.
_OUTSTANDING = cells.whole(1, 10_000, "give operations under way at once, 1 to 10000")


class Service(Row):
    """Work that goes into every build it applies to."""

    file_name: ClassVar[str] = "services.csv"
    share: ClassVar[str] = "Services"
    sku: cells.Sku
    description: cells.Text
    per: Annotated[_Per, cells.one_of(*get_args(_Per))]
    minutes: cells.Quantity
    unit_cost: cells.Money
    unit_price: cells.Money


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
