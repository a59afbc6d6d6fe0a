"""How do we say it: facts of an enquiry and a build in a customer's words."""

from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal

from quotelib.build.build import Build
from quotelib.catalogue.parts import Chassis, Controller, Drive, Terms
from quotelib.catalogue.price_list import PriceList
from quotelib.errors import any_of
from quotelib.quote.enquiry import Enquiry
from quotelib.quote.facts import Fact
from quotelib.units import TB, TIB, plain

KIND_WORDS = {
    "chipset": "chipset controller (software RAID by the processor)",
    "pass_through": "pass-through adapter (no array of its own)",
    "raid": "array controller",
}
INTERFACE_WORDS = {"sata": "SATA", "sas": "SAS", "nvme": "NVMe"}
MOUNTING_WORDS = {"board": "on the board", "mezzanine": "mezzanine socket", "card": "card"}


def count(number: int, noun: str) -> str:
    """Write a number with its noun: ``1 drive``, ``2 drives``."""
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"


def money(amount: Decimal, currency: str) -> str:
    """Write an amount that is already at its currency's minor unit."""
    return f"{currency} {amount:,f}"


def asked(enquiry: Enquiry, price_list: PriceList, currency: str) -> Iterator[Fact]:
    """Say what the customer asked for, in the order of a conversation."""
    if enquiry.builds > 1:
        yield Fact(label="How many", value=f"{enquiry.builds} alike")
    if enquiry.usable_tb is not None:
        yield Fact(label="Usable capacity", value=f"at least {plain(enquiry.usable_tb)} TB")
    if enquiry.workload is not None:
        workload = price_list.workloads[enquiry.workload]
        yield Fact(label="Workload", value=f"{workload.name}: {workload.description}")
    if enquiry.host_iops is not None:
        yield Fact(label="Operations", value=f"at least {enquiry.host_iops:,f} a second")
    if enquiry.host_mb_s is not None:
        yield Fact(label="Throughput", value=f"at least {enquiry.host_mb_s:,f} MB/s")
    if enquiry.survive is not None:
        failures = "failure" if enquiry.survive == 1 else "failures"
        yield Fact(label="Must survive", value=f"any {enquiry.survive} drive {failures}")
    if enquiry.max_loss_pct is not None:
        years = plain(price_list.terms.risk.years)
        value = f"at most {plain(enquiry.max_loss_pct)} % over {years} years"
        yield Fact(label="Chance of data loss", value=value)
    if enquiry.media is not None:
        value = "hard disks" if enquiry.media == "hdd" else "flash"
        yield Fact(label="Kind of drive", value=value)
    if enquiry.free_slots is not None:
        yield Fact(label="Slots kept free", value=f"at least {enquiry.free_slots}")
    if enquiry.max_price is not None:
        limit = f"{currency} {enquiry.max_price:,f}"
        yield Fact(label="Budget", value=f"at most {limit} net for each")
    for role in ("chassis", "controller", "drive"):
        sku = getattr(enquiry, role)
        if sku is not None:
            owned = " (yours already)" if role in enquiry.owned else ""
            yield Fact(label=role.capitalize(), value=f"{sku}{owned}")
    yield from _asked_layout(enquiry)


def _asked_layout(enquiry: Enquiry) -> Iterator[Fact]:
    if enquiry.level is not None:
        level = "none" if enquiry.level == "none" else f"RAID {enquiry.level}"
        yield Fact(label="RAID level", value=level)
    if enquiry.members is not None:
        yield Fact(label="Member drives", value=str(enquiry.members))
    if enquiry.spans is not None:
        yield Fact(label="Spans", value=str(enquiry.spans))
    if enquiry.spares is not None:
        yield Fact(label="Hot spares", value=str(enquiry.spares))


def proposal(build: Build, builds: int) -> str:
    """Say what we propose in a few sentences."""
    chassis, controller, drive = build.chassis, build.controller, build.drive
    owned, layout = build.parts.owned, build.layout
    many = "One server" if builds == 1 else f"{builds} servers, all alike, each"
    whose = "your" if "chassis" in owned else "the"
    ours = "your " if "drive" in owned else ""
    drives = f"{layout.drives} {ours}{'drive' if layout.drives == 1 else 'drives'}"
    text = f"{many} on {whose} chassis {chassis.sku} ({chassis.description}), "
    text += f"with {drives} {drive.sku} ({drive.description})"
    if layout.spares:
        role = "is a hot spare" if layout.spares == 1 else "are hot spares"
        text += f", of which {layout.spares} {role}"
    mine = "Your" if "controller" in owned else "The"
    where = {
        "board": "is part of the chassis' board",
        "mezzanine": "sits in the mezzanine socket, so that no slot is taken",
        "card": "is a card in a slot",
    }[controller.mounting]
    if not layout.rule.is_array:
        does = "hands each drive to your system by itself, without an array"
    elif layout.spares:
        does = f"makes {replace(layout, spares=0).words} of the others"
    else:
        does = f"makes {layout.words} of them".replace(f" over {layout.members} drives", "")
    text += f". {mine} controller {controller.sku} ({controller.description}) {where}, and {does}."
    return text


def protection(build: Build) -> Iterator[str]:
    """Say how the data is protected, and how it is not."""
    layout, level, controller = build.layout, build.layout.rule, build.controller
    yield level.words
    if level.survives == 0:
        yield "If any one drive fails, data is lost."
    else:
        number = {1: "one", 2: "two"}[level.survives]
        drives = "drive" if level.survives == 1 else "drives"
        more = {
            "10": " It may survive more, as long as no pair loses both of its drives.",
            "50": " It may survive more, as long as no span loses two drives.",
            "60": " It may survive more, as long as no span loses three drives.",
        }.get(level.name, "")
        yield f"It survives the failure of any {number} {drives}.{more}"
    if layout.spares:
        spare = (
            "the hot spare takes its place"
            if layout.spares == 1
            else (f"one of {layout.spares} hot spares takes its place")
        )
        yield f"When a member fails, {spare} at once and the rebuild starts by itself."
    elif level.survives:
        yield "There is no hot spare: the rebuild starts when somebody has replaced the drive."
    if not controller.cache_mib:
        yield "The controller has no write cache: what it has confirmed is on the drives."
    elif build.parts.cache_is_protected:
        source = {"battery": "a battery", "flash": "flash memory and a capacitor or battery"}.get(
            controller.cache_protection, "its protection module"
        )
        yield (
            f"The write-back cache of {controller.cache_mib} MiB is protected against loss of "
            f"power by {source}."
        )
    else:
        yield (
            f"The cache of {controller.cache_mib} MiB is not protected: a loss of power loses "
            "writes that it had confirmed, unless it runs write-through."
        )


def capacity_words(build: Build) -> str:
    """Say why the usable capacity differs from the sum on the labels."""
    layout, drive = build.layout, build.drive
    label_tb = plain(Decimal(layout.drives * drive.capacity_gb) / 1000)
    usable = build.usable_bytes
    level = layout.rule
    text = (
        f"The labels of the {count(layout.drives, 'drive')} add up to {label_tb} TB. "
        f"Your system will show {usable / TB:.2f} TB, which is {usable / TIB:.2f} TiB: the same "
        "bytes, counted in units of 10¹² or of 2⁴⁰. Many systems count in TiB and yet write TB. "
    )
    if level.copies == 2:
        text += "Every byte is held twice, so half of the members' capacity is usable. "
    elif level.parity_per_span:
        parity = layout.spans * level.parity_per_span
        text += f"Parity takes the room of {count(parity, 'drive')}. "
    if layout.spares:
        text += f"{count(layout.spares, 'hot spare')} hold no data until a drive fails. ".replace(
            "1 hot spare hold ", "1 hot spare holds "
        )
    if build.controller.reserve_mib:
        text += (
            f"The controller keeps {build.controller.reserve_mib} MiB of each member for itself. "
        )
    return text.strip()


def chassis_facts(chassis: Chassis) -> Iterator[Fact]:
    """Describe a chassis."""
    interfaces = any_of(INTERFACE_WORDS[name] for name in chassis.bay_interfaces)
    bays = f"{chassis.bays} of {chassis.bay_width_in} inches for {interfaces}"
    yield Fact(label="Bays", value=bays)
    slots = count(len(chassis.slots), "slot") if chassis.slots else "no slots"
    sockets = count(chassis.mezzanine_sockets, "mezzanine socket")
    if not chassis.mezzanine_sockets:
        sockets = "no mezzanine socket"
    yield Fact(label="Room", value=f"{chassis.rack_units} U high, {slots}, {sockets}")


def controller_facts(controller: Controller) -> Iterator[Fact]:
    """Describe a controller."""
    yield Fact(label="Kind", value=KIND_WORDS[controller.kind])
    yield Fact(label="Mounting", value=MOUNTING_WORDS[controller.mounting])
    links = [
        f"SATA {controller.sata_gbit_s} Gbit/s" if controller.sata_gbit_s else "",
        f"SAS {controller.sas_gbit_s} Gbit/s" if controller.sas_gbit_s else "",
        f"NVMe generation {controller.nvme_gen}" if controller.nvme_gen else "",
    ]
    yield Fact(label="Links", value=", ".join(filter(None, links)))
    cache = f"{controller.cache_mib} MiB" if controller.cache_mib else "none"
    yield Fact(label="Cache", value=cache)


def drive_facts(drive: Drive) -> Iterator[Fact]:
    """Describe a drive."""
    media = "hard disk" if drive.media == "hdd" else "flash"
    speed = f", {drive.rpm:.0f} rpm" if drive.rpm else ""
    kind = f"{drive.width_in}-inch {INTERFACE_WORDS[drive.interface]} {media}{speed}"
    yield Fact(label="Kind", value=kind)
    yield Fact(label="Label", value=f"{drive.capacity_gb} GB, {drive.block_bytes}-byte blocks")
    yield Fact(label="Warranty", value=f"{plain(drive.warranty_years)} years")


CAUTIONS = (
    "A new array erases everything on its member drives. Copy what you need first, and test "
    "that the copy can be read.",
    "Before anyone opens the server: shut it down, disconnect every supply cord and wait. Work "
    "on mains wiring is for those licensed to do it.",
    "Handle boards and drives with protection against static (IEC 61340-5-1, ANSI/ESD S20.20).",
    "Lift with two people or a lift where the mass calls for it, and fix the rack against "
    "tipping. Follow the makers' manuals and your local rules.",
)
LITHIUM_CAUTION = (
    "The cache protection may hold lithium cells: do not open, crush or heat it; transport "
    "rules for lithium batteries (UN 38.3) apply when it is sent."
)


def cautions(build: Build) -> Iterator[str]:
    """List the cautions a customer needs."""
    yield from CAUTIONS
    if build.controller.cache_protection != "none" or build.parts.cache_is_protected:
        yield LITHIUM_CAUTION


def terms_words(terms: Terms, enquiry: Enquiry, lead_days: int) -> Iterator[str]:
    """Say the terms of the offer."""
    yield f"This quote is valid for {count(terms.quote_valid_days, 'day')} from its date."
    if lead_days:
        yield f"Parts that are not in stock take {count(lead_days, 'day')} to reach us."
    else:
        yield "All parts are in stock today."
    currency = enquiry.currency or terms.currency
    if currency != terms.currency:
        rate = plain(terms.rate(currency))
        yield f"Prices are converted at {rate} {currency} for 1 {terms.currency}."
    if enquiry.tax_code is None:
        yield "No tax is included; taxes and duties that apply are yours to pay."
    yield "Estimates are estimates: they say what they rest on, and are no promise."
