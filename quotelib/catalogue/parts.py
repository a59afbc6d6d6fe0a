"""What is each thing we sell: one frozen model a kind, one field a column of its file."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Annotated, ClassVar, Literal

from quotelib.catalogue import cells
from quotelib.catalogue.tables import Fault, Row

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


@dataclass(frozen=True, slots=True)
class Card:
    """What a card asks of a slot.

    Parameters
    ----------
    brackets : tuple of str
        Heights it has brackets for.
    gen, lanes : int or None
        PCI Express generation and lanes of its own; None: not known.
    """

    brackets: tuple[str, ...]
    gen: int | None
    lanes: int | None


class Part(Row):
    """Something with a sku that we buy, stock, weigh and sell."""

    share: ClassVar[str] = ""
    """What it is called where the price is told apart."""
    draws: ClassVar[str] = "watts"
    """The column with the most it draws; of a chassis, what it draws without drives and cards."""
    place: ClassVar[Takes] = ""
    link: ClassVar[tuple[str, str, str]] = ("brackets", "gen", "connector_lanes")
    """The columns that say what it asks of a slot, where it is a card."""
    sku: cells.Sku
    description: cells.Text
    mass_g: cells.Quantity
    unit_cost: cells.Money
    unit_price: cells.Money
    lead_days: cells.Days
    stock: cells.Count

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
    share: ClassVar[str] = "Controller"
    link: ClassVar[tuple[str, str, str]] = ("brackets", "host_gen", "host_lanes")
    kind: Annotated[str, cells.one_of("chipset", "pass_through", "raid")]
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
    mounting: Annotated[str, cells.one_of(*_MOUNTED)]
    brackets: cells.Brackets = ()
    max_drives: cells.PositiveCount
    reserve_mib: cells.CountOrZero = 0
    max_mb_s: cells.MaybeRate = None
    max_iops: cells.MaybeRate = None
    watts: cells.Quantity

    @property
    def role(self) -> str:
        """Name what it is in a server."""
        return "controller"

    @property
    def takes(self) -> Takes:
        """Say what place it takes."""
        return _MOUNTED[self.mounting]

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
    share: ClassVar[str] = "Chassis"
    draws: ClassVar[str] = "base_w"
    rack_units: cells.PositiveCount
    bays: cells.PositiveCount
    bay_width_in: cells.WidthIn
    bay_interfaces: Annotated[tuple[str, ...], cells.list_of("sata", "sas", "nvme")]
    mezzanine_sockets: cells.Count
    board_controller: cells.MaybeSku = None
    supply_w: cells.Quantity
    base_w: cells.Quantity
    processor_sockets: cells.MaybeCount = None
    memory_slots: cells.MaybeCount = None
    supply_bays: cells.FewOrOne = 1
    supplies: cells.FewOrOne = 1
    # Filled from slots.csv once both files are read.
    slots: tuple["Slot", ...] = ()

    @property
    def room(self) -> dict[Takes, int | None]:
        """Count the places for options beside what comes with it; None: not stated."""
        bays = self.supply_bays - self.supplies
        return dict(zip(PLACES, (self.processor_sockets, self.memory_slots, bays), strict=True))

    @classmethod
    def impossible(cls, cells: Mapping[str, str]) -> Iterator[Fault]:
        """Find what a chassis cannot be."""
        if not cells.get("bay_interfaces"):
            yield "bay_interfaces", "are blank, though it has bays", "list sata, sas or nvme"
        bays, supplies = (cells.get(name) or "1" for name in ("supply_bays", "supplies"))
        try:
            supply_w = Decimal(cells["supply_w"]) * (Decimal(supplies) or 1)
            short = Decimal(cells["base_w"]) > supply_w
            crowded = Decimal(supplies) > Decimal(bays)
        except (KeyError, ArithmeticError):
            return  # told by the columns themselves
        if short:
            yield "base_w", "is more than supply_w gives", "check both figures"
        if crowded:
            yield "supplies", f"are more than the supply_bays ({bays})", "check both figures"


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
    share: ClassVar[str] = "Accessories"
    kind: Annotated[
        str, cells.one_of("cable", "cache_protection", "bracket", "carrier", "rail", "adapter")
    ]
    needed_by: cells.SkuList = ()
    per: Annotated[str, cells.one_of("build", "drive")]
    watts: cells.Quantity


class Option(Part):
    """A part that a server may have beside its storage."""

    file_name: ClassVar[str] = "options.csv"
    optional: ClassVar[bool] = True
    share: ClassVar[str] = "Options"
    kind: Annotated[str, cells.one_of("network", *_OF_KIND)]
    fits: cells.SkuList = ()
    cores: cells.CountOrZero = 0
    memory_gb: cells.CountOrZero = 0
    supply_w: cells.CountOrZero = 0
    card: Annotated[Literal["", "yes"], cells.blank_as("", cells.one_of("yes"))] = ""
    brackets: cells.Brackets = ()
    gen: cells.MaybeGen = None
    connector_lanes: cells.MaybeLanes = None
    watts: cells.Quantity

    @property
    def role(self) -> str:
        """Name what it is in a server."""
        return f"{self.kind} card" if self.card else _OF_KIND.get(self.kind, (self.kind,))[0]

    @property
    def takes(self) -> Takes:
        """Say what place it takes."""
        return "slot" if self.card else _OF_KIND.get(self.kind, ("", ""))[1]

    @classmethod
    def impossible(cls, cells: Mapping[str, str]) -> Iterator[Fault]:
        """Find what an option cannot be."""
        if cells.get("kind") == "supply" and not cells.get("supply_w"):
            yield "supply_w", "is blank for a supply", "give its watts, such as 800"
        if cells.get("kind") == "supply" and cells.get("card"):
            yield "card", "is given for a supply, which takes a supply bay", "leave it blank"
        if cells.get("card") and not cells.get("brackets"):
            yield "brackets", "are blank for a card", "list low, full or low;full"
        if cells.get("brackets") and not cells.get("card"):
            yield "brackets", "are listed, though it is no card", "put yes under card"
