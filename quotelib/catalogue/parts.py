"""What is each thing we sell: one frozen model a kind, one field a column of its file."""

from collections.abc import Iterator, Mapping
from decimal import Decimal
from typing import Annotated, Any, ClassVar, Literal

from pydantic import BaseModel, ConfigDict, Field, model_validator

from quotelib.catalogue import cells

Fault = tuple[str, str, str]


class Row(BaseModel):
    """One row of one file."""

    model_config = ConfigDict(frozen=True, extra="forbid")
    file_name: ClassVar[str] = ""
    key: ClassVar[tuple[str, ...]] = ("sku",)

    @classmethod
    def impossible(cls, cells: Mapping[str, str]) -> Iterator[Fault]:
        """Find what each cell allows but the row as a whole does not.

        Parameters
        ----------
        cells : mapping of str to str
            The row's text, whether or not each cell could be read.

        Yields
        ------
        tuple of str
            Column, why it is wrong, what would be right.
        """
        yield from ()


class Part(Row):
    """Something with a sku that we buy, stock, weigh and sell."""

    sku: cells.Sku
    description: cells.Text
    mass_g: cells.Quantity
    unit_cost: cells.Money
    unit_price: cells.Money
    lead_days: cells.Days
    stock: cells.Count


class Drive(Part):
    """A storage drive."""

    file_name: ClassVar[str] = "drives.csv"
    media: Annotated[Literal["hdd", "ssd"], cells.one_of("hdd", "ssd")]
    interface: Annotated[Literal["sata", "sas", "nvme"], cells.one_of("sata", "sas", "nvme")]
    width_in: cells.WidthIn
    capacity_gb: Annotated[
        int, cells.whole(1, 10**6, "give whole gigabytes as advertised, such as 8000")
    ]
    block_bytes: cells.BlockBytes
    rpm: cells.MaybeRate = None
    seek_ms: cells.MaybeRate = None
    read_mb_s: cells.RateMbS
    write_mb_s: cells.RateMbS
    read_iops: cells.MaybeRate = None
    write_iops: cells.MaybeRate = None
    bit_error_rate: cells.MaybeErrorRate = None
    mttf_hours: cells.MaybeRate = None
    writes_per_day: cells.MaybeRate = None
    warranty_years: cells.Quantity
    active_w: cells.Quantity
    idle_w: cells.Quantity

    @classmethod
    def impossible(cls, cells: Mapping[str, str]) -> Iterator[Fault]:
        """Find what a drive cannot be."""
        media = cells.get("media", "")
        if media == "hdd":
            if not cells.get("rpm"):
                yield "rpm", "is blank for a disk", "give its speed, such as 7200"
            if not cells.get("seek_ms"):
                yield "seek_ms", "is blank for a disk", "give its average seek time, such as 8.5"
        elif media == "ssd":
            if cells.get("rpm"):
                yield "rpm", "is given for flash, which does not turn", "leave it blank"
            for column in ("read_iops", "write_iops"):
                if not cells.get(column):
                    yield column, "is blank for flash", "give its 4 KiB random rate, such as 90000"


class Controller(Part):
    """A storage controller."""

    file_name: ClassVar[str] = "controllers.csv"
    kind: Annotated[
        Literal["chipset", "pass_through", "raid"],
        cells.one_of("chipset", "pass_through", "raid"),
    ]
    levels: cells.Levels = ()
    cache_mib: cells.CountOrZero = 0
    cache_protection: Annotated[
        Literal["none", "battery", "flash"],
        cells.blank_as("none", cells.one_of("none", "battery", "flash")),
    ] = "none"
    sata_gbit_s: cells.MaybeSata = None
    sas_gbit_s: cells.MaybeSas = None
    nvme_gen: cells.MaybeGen = None
    host_gen: cells.MaybeGen = None
    host_lanes: cells.MaybeLanes = None
    mounting: Annotated[
        Literal["board", "mezzanine", "card"], cells.one_of("board", "mezzanine", "card")
    ]
    brackets: cells.Brackets = ()
    max_drives: cells.PositiveCount
    reserve_mib: cells.CountOrZero = 0
    max_mb_s: cells.MaybeRate = None
    max_iops: cells.MaybeRate = None
    watts: cells.Quantity

    @classmethod
    def impossible(cls, cells: Mapping[str, str]) -> Iterator[Fault]:
        """Find what a controller cannot be."""
        kind, mounting = cells.get("kind", ""), cells.get("mounting", "")
        levels, brackets = cells.get("levels", ""), cells.get("brackets", "")
        if kind == "pass_through" and levels:
            right = "leave it blank, or make the kind raid"
            yield "levels", "are listed for a pass-through adapter, which makes no array", right
        if kind == "raid" and not levels:
            yield "levels", "are blank, though its kind is raid", "list them, such as 0;1;5;10"
        if mounting == "card" and not brackets:
            yield "brackets", "are blank for a card", "list low, full or low;full"
        if mounting in {"board", "mezzanine"} and brackets:
            why = f"are listed, though it is mounted as {mounting}"
            yield "brackets", why, "leave them blank; only a card has any"
        if not any(cells.get(c) for c in ("sata_gbit_s", "sas_gbit_s", "nvme_gen")):
            why = "is blank, as are sas_gbit_s and nvme_gen: nothing can be attached to it"
            yield "sata_gbit_s", why, "give the rate of at least one link"


class Chassis(Part):
    """A server without controller and drives."""

    file_name: ClassVar[str] = "chassis.csv"
    rack_units: cells.PositiveCount
    bays: cells.PositiveCount
    bay_width_in: cells.WidthIn
    bay_interfaces: Annotated[
        tuple[Literal["sata", "sas", "nvme"], ...], cells.list_of("sata", "sas", "nvme")
    ]
    mezzanine_sockets: cells.Count
    board_controller: cells.MaybeSku = None
    supply_w: cells.Quantity
    base_w: cells.Quantity
    # Filled from slots.csv once both files are read.
    slots: tuple["Slot", ...] = ()

    @classmethod
    def impossible(cls, cells: Mapping[str, str]) -> Iterator[Fault]:
        """Find what a chassis cannot be."""
        if not cells.get("bay_interfaces"):
            yield "bay_interfaces", "are blank, though it has bays", "list sata, sas or nvme"
        try:
            short = Decimal(cells["base_w"]) > Decimal(cells["supply_w"])
        except (KeyError, ArithmeticError):
            return  # told by the columns themselves
        if short:
            yield "base_w", "is more than supply_w gives", "check both figures"


class Slot(Row):
    """A PCI Express slot of a chassis."""

    file_name: ClassVar[str] = "slots.csv"
    key: ClassVar[tuple[str, ...]] = ("chassis_sku", "slot")
    chassis_sku: cells.Sku
    slot: cells.Count
    gen: cells.Gen
    lanes: cells.Lanes
    height: Annotated[Literal["low", "full"], cells.one_of("low", "full")]


class Accessory(Part):
    """A part that a build needs because of another part in it."""

    file_name: ClassVar[str] = "accessories.csv"
    kind: Annotated[
        Literal["cable", "cache_protection", "bracket", "carrier", "rail", "adapter"],
        cells.one_of("cable", "cache_protection", "bracket", "carrier", "rail", "adapter"),
    ]
    needed_by: cells.SkuList = ()
    per: Annotated[Literal["build", "drive"], cells.one_of("build", "drive")]
    watts: cells.Quantity


class Service(Row):
    """Work that goes into every build it applies to."""

    file_name: ClassVar[str] = "services.csv"
    sku: cells.Sku
    description: cells.Text
    per: Annotated[
        Literal["build", "drive", "controller", "array"],
        cells.one_of("build", "drive", "controller", "array"),
    ]
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
    block_kib: Annotated[
        Decimal, cells.amount("0", None, "give KiB above 0, such as 8", low_open=True)
    ]
    # Each is a step of the queueing recursion; no one server keeps more under way.
    outstanding: Annotated[
        int, cells.whole(1, 10_000, "give operations under way at once, 1 to 10000")
    ]
    writes_gb_per_day: cells.Quantity


class Seller(BaseModel):
    """Who signs the quote."""

    model_config = ConfigDict(frozen=True, extra="forbid")
    name: cells.Text
    address: cells.Text
    contact: cells.Text


class Freight(BaseModel):
    """What sending one build costs, in the price list's currency."""

    model_config = ConfigDict(frozen=True, extra="forbid")
    base: cells.Money
    per_kg: cells.Money


class VolumeDiscount(BaseModel):
    """A discount from some number of equal builds on."""

    model_config = ConfigDict(frozen=True, extra="forbid")
    min_builds: cells.PositiveCount
    pct: cells.Percent


class RiskTerms(BaseModel):
    """How long we look ahead, and from what chance of loss we advise against."""

    model_config = ConfigDict(frozen=True, extra="forbid")
    years: Annotated[
        Decimal, cells.amount("0", "100", "give years above 0, such as 5", low_open=True)
    ]
    advise_loss_pct: cells.Percent


class Electricity(BaseModel):
    """What electricity costs where the server will run, in the price list's currency."""

    model_config = ConfigDict(frozen=True, extra="forbid")
    price_per_kwh: cells.Money


class Terms(BaseModel):
    """What holds for every quote from this price list."""

    model_config = ConfigDict(frozen=True, extra="forbid")
    currency: str
    quote_valid_days: Annotated[int, cells.whole(1, 3650, "give whole days, 1 to 3650")]
    margin_floor_pct: Annotated[
        Decimal, cells.amount("-100", "100", "give a percentage from -100 to 100")
    ]
    rates: dict[
        str,
        Annotated[
            Decimal,
            cells.amount("0", None, "give units per unit of the list's currency", low_open=True),
        ],
    ] = Field(default_factory=dict)
    tax: dict[cells.Word, cells.Percent] = Field(default_factory=dict)
    freight: Freight
    volume_discount: tuple[VolumeDiscount, ...] = ()
    seller: Seller
    risk: RiskTerms
    electricity: Electricity | None = None

    @model_validator(mode="before")
    @classmethod
    def _tuples(cls, data: Any) -> Any:
        if isinstance(data, dict) and isinstance(data.get("volume_discount"), list):
            data = {**data, "volume_discount": tuple(data["volume_discount"])}
        return data

    def rate(self, currency: str) -> Decimal:
        """Give units of `currency` per unit of the price list's currency."""
        return Decimal(1) if currency == self.currency else self.rates[currency]

    def volume_discount_pct(self, builds: int) -> Decimal:
        """Give the largest volume discount that this many equal builds earn."""
        earned = (tier.pct for tier in self.volume_discount if builds >= tier.min_builds)
        return max(earned, default=Decimal(0))
