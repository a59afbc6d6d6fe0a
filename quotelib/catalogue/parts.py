"""What is each thing we sell: one frozen model a kind, one field a column of its file."""

from dataclasses import dataclass
from decimal import Decimal
from typing import Annotated, Any, ClassVar, Literal

from pydantic import BeforeValidator, Field

from quotelib.catalogue import cells
from quotelib.catalogue import quantities as q
from quotelib.catalogue.tables import Row

Takes = Literal[
    "", "board", "socket", "slot", "bay", "processor socket", "memory slot", "supply bay",
    "paperwork",
]  # fmt: skip
"""What place a part takes; "board": it is part of the chassis' board and comes with it."""

_MOUNTED: dict[str, Takes] = {"board": "board", "mezzanine": "socket", "card": "slot"}
_OF_KIND: dict[str, tuple[str, Takes]] = {
    "processor": ("processor", "processor socket"),
    "memory": ("memory module", "memory slot"),
    "supply": ("supply unit", "supply bay"),
    "boot": ("boot module", ""),
    "software": ("software licence", "paperwork"),
    "other": ("other part", ""),
}
"""What an option that is no card is called, and which place it takes."""
PLACES: tuple[Takes, ...] = ("processor socket", "memory slot", "supply bay")
"""What a chassis has a number of."""


def _per(cell: Any) -> int | str:
    """Read for how many drives there is one: for each, for each n, or whatever their number."""
    if cell in ("build", "drive"):
        return 1 if cell == "drive" else "build"
    right = "use build, drive, or how many drives share one, such as 4"
    return int(cells.apply(cells.whole(1, 1000, right), cell))


_MaybeBlockBytes = Annotated[
    Literal["512", "4096"] | None, cells.blank_as(None, cells.one_number_of("512", "4096"))
]


@dataclass(frozen=True, slots=True)
class Card:
    """What a card asks of a slot.

    Parameters
    ----------
    brackets : tuple of str
        Heights it has brackets for.
    gen, lanes : int or None
        PCI Express generation and lanes of its own; None: not known.
    connector_lanes : int or None
        Length of its edge connector; None: not known.
    """

    brackets: tuple[str, ...]
    gen: int | None
    lanes: int | None
    connector_lanes: int | None = None


class Part(Row):
    """Something with a sku that we buy, stock, weigh and sell."""

    share: ClassVar[str] = ""
    """What it is called where the price is told apart."""
    draws: ClassVar[str] = "watts"
    """The column with the most it draws; of a chassis, what it draws without drives and cards."""
    place: ClassVar[Takes] = ""
    link: ClassVar[tuple[str, ...]] = ("brackets", "gen", "connector_lanes", "connector_lanes")
    """The columns that say what it asks of a slot, where it is a card."""
    sku: cells.Sku
    description: cells.Text
    mass_g: q.MassG
    unit_cost: q.Money
    unit_price: q.Money
    lead_days: cells.Days
    stock: cells.Count
    condition: Annotated[
        Literal["new", "refurbished"],
        cells.blank_as("new", cells.one_of("new", "refurbished")),
    ] = "new"
    last_buy: cells.MaybeDay = None
    replaced_by: cells.MaybeSku = None

    @property
    def role(self) -> str:
        """Name what it is in a server: its kind, where its file has several."""
        return str(getattr(self, "kind", type(self).__name__.lower()))

    @property
    def takes(self) -> Takes:
        """Say what place it takes."""
        return self.place

    @property
    def draws_w(self) -> Decimal:
        """Give the most it draws, in watts; nothing where it has no such column."""
        return getattr(self, self.draws, Decimal(0))

    @property
    def as_card(self) -> Card | None:
        """Say what it asks of a slot; None where it takes none."""
        return Card(*(getattr(self, name) for name in self.link)) if self.takes == "slot" else None


class Drive(Part):
    """A storage drive."""

    file_name: ClassVar[str] = "drives.csv"
    share: ClassVar[str] = "Drives"
    draws: ClassVar[str] = "active_w"
    place: ClassVar[Takes] = "bay"
    media: Annotated[str, cells.one_of("hdd", "ssd")]
    interface: Annotated[str, cells.one_of("sata", "sas", "nvme")]
    width_in: cells.WidthIn
    capacity_gb: Annotated[
        int, cells.whole(1, 10**6, "give whole gigabytes as advertised, such as 8000")
    ]
    block_bytes: cells.BlockBytes
    rpm: q.MaybeRpm = None
    seek_ms: q.MaybeSeekMs = None
    read_mb_s: q.RateMbS
    write_mb_s: q.RateMbS
    read_iops: q.MaybeIops = None
    write_iops: q.MaybeIops = None
    bit_error_rate: q.MaybeErrorRate = None
    mttf_hours: q.MaybeMttfHours = None
    writes_per_day: q.MaybeWritesPerDay = None
    warranty_years: q.WarrantyYears
    active_w: q.DriveWatts
    idle_w: q.DriveWatts
    lanes: cells.DriveLanes = 4
    link_gbit_s: cells.MaybeSas = None
    # Ours, beside the contract: tells 512e from 512n.
    physical_block_bytes: _MaybeBlockBytes = None


class Controller(Part):
    """A storage controller."""

    file_name: ClassVar[str] = "controllers.csv"
    share: ClassVar[str] = "Controller"
    link: ClassVar[tuple[str, ...]] = ("brackets", "host_gen", "host_lanes", "connector_lanes")
    kind: Annotated[str, cells.one_of("chipset", "pass_through", "raid")]
    levels: cells.Levels = ()
    cache_mib: q.CacheMib = 0
    cache_protection: Annotated[
        Literal["none", "battery", "flash"],
        cells.blank_as("none", cells.one_of("none", "battery", "flash")),
    ] = "none"
    sata_gbit_s: cells.MaybeSata = None
    sas_gbit_s: cells.MaybeSas = None
    nvme_gen: cells.MaybeGen = None
    host_gen: cells.MaybeGen = None
    host_lanes: cells.MaybeLanes = None
    mounting: Annotated[str, cells.one_of(*_MOUNTED)]
    brackets: cells.Brackets = ()
    max_drives: q.MaxDrives
    reserve_mib: q.ReserveMib = 0
    max_mb_s: q.MaybeMbS = None
    max_iops: q.MaybeIops = None
    watts: q.CardWatts
    connector_lanes: cells.MaybeLanes = None
    ports: q.MaybePorts = None
    family: cells.MaybeWord = None
    imports: Annotated[tuple[str, ...], cells.list_of(noun="names")] = ()
    grows: cells.Levels = ()

    @property
    def role(self) -> str:
        """Name what it is in a server."""
        return "controller"

    @property
    def takes(self) -> Takes:
        """Say what place it takes."""
        return _MOUNTED[self.mounting]


class Chassis(Part):
    """A server without controller and drives."""

    file_name: ClassVar[str] = "chassis.csv"
    share: ClassVar[str] = "Chassis"
    draws: ClassVar[str] = "base_w"
    rack_units: q.RackUnits
    bays: q.Bays
    bay_width_in: cells.WidthIn
    bay_interfaces: cells.Interfaces
    mezzanine_sockets: q.Mezzanines
    board_controller: cells.MaybeSku = None
    supply_w: q.ChassisWatts
    base_w: q.ChassisWatts
    backplane: Annotated[
        Literal["", "direct", "expander"],
        cells.blank_as("", cells.one_of("direct", "expander")),
    ] = ""
    processor_sockets: q.MaybeProcessorSockets = None
    memory_slots: q.MaybeMemorySlots = None
    supply_bays: cells.FewOrOne = 1
    supplies: cells.FewOrOne = 1
    # Filled from slots.csv once both files are read.
    slots: tuple["Slot", ...] = ()

    @property
    def room(self) -> dict[Takes, int | None]:
        """Count the places for options beside what comes with it; None: not stated."""
        bays = self.supply_bays - self.supplies
        return dict(zip(PLACES, (self.processor_sockets, self.memory_slots, bays), strict=True))


class Slot(Row):
    """A PCI Express slot of a chassis."""

    file_name: ClassVar[str] = "slots.csv"
    key: ClassVar[tuple[str, ...]] = ("chassis_sku", "slot")
    chassis_sku: cells.Sku
    slot: Annotated[int, cells.whole(0, 255, "give a whole number, 0 to 255")]
    gen: cells.Gen
    lanes: cells.Lanes
    height: Annotated[Literal["low", "full"], cells.one_of("low", "full")]
    connector_lanes: cells.MaybeLanes = None
    needs_processors: cells.FewOrOne = 1


class Accessory(Part):
    """A part that a build needs because of another part in it."""

    file_name: ClassVar[str] = "accessories.csv"
    share: ClassVar[str] = "Accessories"
    kind: Annotated[
        str, cells.one_of("cable", "cache_protection", "bracket", "carrier", "rail", "adapter")
    ]
    needed_by: cells.SkuList = ()
    per: Annotated[int | Literal["build"], BeforeValidator(_per)]
    watts: q.CardWatts
    together_with: Annotated[tuple[str, ...], cells.list_of(), Field(alias="with")] = ()
    interfaces: cells.Interfaces = ()


class Option(Part):
    """A part that a server may have beside its storage."""

    file_name: ClassVar[str] = "options.csv"
    optional: ClassVar[bool] = True
    share: ClassVar[str] = "Options"
    kind: Annotated[str, cells.one_of("network", *_OF_KIND)]
    fits: cells.SkuList = ()
    cores: q.Cores = 0
    memory_gb: q.MemoryGb = 0
    supply_w: q.SupplyW = 0
    card: Annotated[Literal["", "yes"], cells.blank_as("", cells.one_of("yes"))] = ""
    brackets: cells.Brackets = ()
    gen: cells.MaybeGen = None
    connector_lanes: cells.MaybeLanes = None
    watts: q.CardWatts

    @property
    def role(self) -> str:
        """Name what it is in a server."""
        return f"{self.kind} card" if self.card else _OF_KIND.get(self.kind, (self.kind,))[0]

    @property
    def takes(self) -> Takes:
        """Say what place it takes."""
        return "slot" if self.card else _OF_KIND.get(self.kind, ("", ""))[1]
