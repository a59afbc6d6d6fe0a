"""What is each part, in words: its facts, and what such a controller does and does not do.

Common practice, no source; only what the price list says of a part is said of it.
"""

from collections.abc import Iterator
from decimal import Decimal
from typing import Literal

from quotelib.build.build import Build
from quotelib.build.seats import Seat
from quotelib.build.speed import pcie_mb_s
from quotelib.catalogue.parts import Chassis, Controller, Drive, Option, Part
from quotelib.catalogue.price_list import PriceList
from quotelib.facts import Fact
from quotelib.levels import LEVELS
from quotelib.text import count, either, gb_s
from quotelib.units import plain

Protection = Literal["none", "battery", "flash", "module"]

KIND_WORDS = {
    "chipset": "chipset controller (software RAID by the processor)",
    "pass_through": "pass-through adapter (no array of its own)",
    "raid": "array controller",
}
_KEPT: dict[Protection, tuple[str, str]] = {
    "none": ("without protection", ""),
    "battery": ("kept by a battery", "as long as its battery lasts"),
    "flash": ("copied to flash memory", "by copying them to flash memory"),
    "module": ("with a protection module", "with its protection module"),
}
_INTERFACES = {"sata": "SATA", "sas": "SAS", "nvme": "NVMe"}
MOUNTING_WORDS = {"board": "on the board", "mezzanine": "mezzanine socket", "card": "card"}


def part_facts(part: Part) -> Iterator[Fact]:
    """Say what matters of a part; nothing where its description says all."""
    for label, value in _pairs(part):
        yield Fact(label=label, value=value)
    if part.condition != "new":
        yield Fact(label="Condition", value=part.condition)


def warranty_years(part: Part) -> Decimal | None:
    """Give the warranty that the price list names for a part, where it names one."""
    return part.warranty_years if isinstance(part, Drive) else None


def _pairs(part: Part) -> Iterator[tuple[str, str]]:
    if isinstance(part, Chassis):
        interfaces = either(_INTERFACES[name] for name in part.bay_interfaces)
        yield "Bays", f"{part.bays} of {part.bay_width_in} inches for {interfaces}"
        slots = count(len(part.slots), "slot") if part.slots else "no slots"
        sockets = count(part.mezzanine_sockets, "mezzanine socket")
        sockets = sockets if part.mezzanine_sockets else "no mezzanine socket"
        yield "Room", f"{part.rack_units} U high, {slots}, {sockets}"
    elif isinstance(part, Controller):
        yield "Kind", KIND_WORDS[part.kind]
        yield "Mounting", MOUNTING_WORDS[part.mounting]
        yield "Links", links_words(part)
        yield "Cache", f"{part.cache_mib} MiB" if part.cache_mib else "none"
    elif isinstance(part, Drive):
        media = "hard disk" if part.media == "hdd" else "flash"
        speed = f", {part.rpm:.0f} rpm" if part.rpm else ""
        yield "Kind", f"{part.width_in}-inch {_INTERFACES[part.interface]} {media}{speed}"
        inside = part.physical_block_bytes or part.block_bytes
        emulated = f" (physical ones of {inside})" if inside != part.block_bytes else ""
        yield "Label", f"{part.capacity_gb} GB, {part.block_bytes}-byte blocks{emulated}"
        years = plain(part.warranty_years)
        yield "Warranty", f"{years} {'year' if years == '1' else 'years'}"
    elif isinstance(part, Option):
        of = (
            ("Cores", part.cores, ""),
            ("Size", part.memory_gb, " GB"),
            ("Gives", part.supply_w, " W"),
        )
        yield from ((label, f"{number}{unit}") for label, number, unit in of if number)


def links_words(controller: Controller) -> str:
    """Say which drives it takes, at which rate."""
    rates = {"SATA": controller.sata_gbit_s, "SAS": controller.sas_gbit_s}
    said = [f"{name} {rate}" for name, rate in rates.items() if rate]
    if said:
        said[-1] += " Gbit/s"
    if controller.nvme_gen:
        said.append(f"NVMe generation {controller.nvme_gen}")
    return ", ".join(said)


def host_words(controller: Controller, seat: Seat | None = None) -> str:
    """Describe a controller's link to the system, and what is left of it in its place."""
    gen, lanes = controller.host_gen, controller.host_lanes
    own = _link(gen, lanes)
    if seat is None or seat.gb_s is None or (seat.gen, seat.lanes) == (gen, lanes):
        return own
    return f"{own}; in its place {_link(seat.gen, seat.lanes)}"


def _link(gen: int | None, lanes: int | None) -> str:
    rate = pcie_mb_s(gen, lanes)
    if rate is None:
        return "not known"
    return f"generation {gen}, {count(lanes or 0, 'lane')}, {gb_s(rate)}"


def protected_by(controller: Controller, price_list: PriceList, build: Build | None) -> Protection:
    """Say what keeps cached writes through a loss of power; none for a controller without cache.

    Where there is no build, it is what the price list's accessories may bring.
    """
    if not controller.cache_mib:
        return "none"
    if controller.cache_protection != "none":
        return controller.cache_protection
    if build is not None:
        return "module" if build.is_protected(controller) else "none"
    modules = (a for a in price_list.accessories.values() if a.kind == "cache_protection")
    return "module" if any(controller.sku in a.needed_by for a in modules) else "none"


def cache_words(controller: Controller, protection: Protection) -> str:
    """Write the cache and its protection."""
    if not controller.cache_mib:
        return "no cache"
    return f"{controller.cache_mib} MiB, {_KEPT[protection][0]}"


def explanation(controller: Controller, protection: Protection) -> str:
    """Say what such a controller does and does not do, to someone who does not know the kinds."""
    if controller.kind == "pass_through":
        return (
            "Hands each drive to the system by itself and makes no array of its own: redundancy is "
            "up to the customer's own software."
        )
    cache = _cache_sentence(controller, protection)
    if controller.kind == "chipset":
        sata_only = controller.sas_gbit_s is None and controller.nvme_gen is None
        only = "SATA drives only: " if sata_only else ""
        work = "parity" if _most_parity(controller) else "mirroring"
        return (
            f"{only}{'t' if only else 'T'}he array is made by the chipset's driver, and the "
            f"server's processor does the {work}. {cache}"
        )
    text = "Makes the array itself, so that the system sees one disk. "
    if _most_parity(controller) < 2:
        text += "It makes no double parity (RAID 6 or 60). "
    return text + cache


def _most_parity(controller: Controller) -> int:
    return max((LEVELS[name].parity_per_span for name in controller.levels), default=0)


def _cache_sentence(controller: Controller, protection: Protection) -> str:
    if not controller.cache_mib:
        waits = "It has no cache: every write waits for the drives, parity writes longest."
        return "It has no protected cache." if controller.kind == "chipset" else waits
    if protection == "none":
        loses = "a loss of power loses writes it had confirmed"
        return f"Its write-back cache is not protected: {loses}."
    how = _KEPT[protection][1]
    return f"Its write-back cache keeps confirmed writes through a loss of power, {how}."


def occupies_when_it_fits(controller: Controller) -> str:
    """Say what it would take up in a chassis that takes it."""
    if controller.mounting == "board":
        return "nothing: it is part of a board"
    if controller.mounting == "mezzanine":
        return "a mezzanine socket, no slot"
    return f"a slot with a {either(controller.brackets)}-height bracket"
