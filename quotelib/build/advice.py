"""Would we build it, and what is worth knowing: rules that stop nothing.

`loss_over_limit` takes an estimate and is found where estimates are made.
"""

import datetime as dt
from collections.abc import Iterator
from decimal import Decimal

from quotelib.build import actions, cabling, members, start, unknown
from quotelib.build.build import Build
from quotelib.build.findings import Finding, finding
from quotelib.build.fit import Rule, asked
from quotelib.catalogue.terms import AdviceTerms
from quotelib.estimate.running import LIFTING_CONSTANT_KG
from quotelib.levels import redundant_levels
from quotelib.text import count, date, either, kg
from quotelib.units import plain


def erases_data(build: Build) -> Iterator[Finding]:
    """Advise against writing over drives the customer has until somebody has said they may.

    Drives passed through count too: the bench's test load writes to them.
    """
    for array in build.arrays:
        if array.have_drives and array.action == "new":
            drives = f"{count(array.have_drives, 'drive')} {array.drive.sku}"
            what = f"must the data on the customer's {drives} stay? Building this erases it"
            change = (
                "if it must stay, do not build this; if a tested copy exists elsewhere or nothing "
                "on them is needed, accept it"
            )
            yield finding("erases_data", what, change)


def no_redundancy(build: Build) -> Iterator[Finding]:
    """Advise against an array that survives no failure."""
    for array in build.arrays:
        level = array.layout.rule
        if not level.survives:
            what = "an array without redundancy" if level.is_array else "no array"
            what = f"this is {what}: the failure of any one drive loses data"
            change = f"choose RAID {either(redundant_levels())}, or accept the risk"
            yield finding("no_redundancy", what, change)


def cache_unprotected(build: Build) -> Iterator[Finding]:
    """Advise against a write-back cache that forgets on loss of power."""
    for _, controller in build.controllers():
        if controller.cache_mib and not build.is_protected(controller):
            yield finding(
                "cache_unprotected",
                f"the write-back cache of {controller.sku} has no protection: a loss of power "
                "loses writes it had confirmed",
                "choose a controller with battery or flash protection, or accept the risk and "
                "run it write-through",
            )


def wide_group(build: Build, most: int | None, from_tb: Decimal | None) -> Iterator[Finding]:
    """Advise against many large disks in one parity group; silent without both figures.

    Common practice, no source.
    """
    for array in build.arrays:
        layout, drive = array.layout, array.drive
        disks = layout.members // layout.spans
        if most is None or from_tb is None or disks <= most or not layout.rule.parity_per_span:
            continue
        if drive.media == "hdd" and drive.capacity_gb >= 1000 * from_tb:
            what = f"{disks} disks {drive.sku} stand in one parity group, more than {most} of "
            what += f"{plain(from_tb)} TB or more: a rebuild reads all of each"
            change = "choose a level with spans, more of them or smaller groups, or accept it"
            yield finding("wide_group", what, change)


def chipset_parity(build: Build) -> Iterator[Finding]:
    """Advise against parity left to a chipset's driver; common practice, no source."""
    for array in build.arrays:
        controller, level = array.controller, array.layout.rule
        if level.parity_per_span and controller.kind == "chipset":
            what = f"{controller.sku} is a chipset controller: {level.label} on it is worked out "
            what += "by driver and processor, without a cache that outlasts a loss of power"
            change = "choose a level without parity or an array controller, or accept it"
            yield finding("chipset_parity", what, change)


def memory_uneven(build: Build) -> Iterator[Finding]:
    """Advise against memory that processors have unequal shares of; silent without processors."""
    modules, processors = build.number("memory slot"), build.number("processor socket")
    if processors and modules % processors:
        what = f"{count(modules, 'memory module')} cannot be spread evenly over {processors} "
        what += "processors, one of which reaches less memory than the others"
        yield finding("memory_uneven", what, f"choose a multiple of {processors}, or accept it")


def supply_high(build: Build, limit_pct: Decimal | None) -> Iterator[Finding]:
    """Note a draw above the share of the supplies that the terms name; silent without one.

    Common practice, no source.
    """
    if limit_pct is not None and 100 * build.watts > limit_pct * build.supply_w:
        several = "supplies carry with one less" if build.redundant_supply else "supplies carry"
        carries = several if len(build.supplies_w) > 1 else "supply carries"
        what = f"the build draws {plain(build.watts)} W with all drives active, more than "
        what += f"{plain(limit_pct)} % of the {plain(build.supply_w)} W its {carries}"
        yield finding("supply_high", what, "a larger supply runs cooler and leaves room for more")


def last_buy_near(build: Build, until: dt.date) -> Iterator[Finding]:
    """Note parts of ours that can be had for the last time before a quote ends."""
    for part in (piece.part for piece in build.lead_pieces):
        if part.last_buy is not None and part.last_buy <= until:
            what = f"{part.sku} can be bought for the last time on {date(part.last_buy)}"
            after = f"; {part.replaced_by} takes its place" if part.replaced_by else ""
            yield finding("last_buy_near", f"{what}{after}", "order spares of it with the server")


def is_heavy(build: Build) -> bool:
    """Tell whether the complete build is over the lifting constant."""
    return build.mass_g() > LIFTING_CONSTANT_KG * 1000


def heavy(build: Build) -> Iterator[Finding]:
    """Note a mass over the lifting constant."""
    if is_heavy(build):
        what = f"the build weighs {kg(build.mass_g())}, above the {LIFTING_CONSTANT_KG:g} kg that "
        what += "the NIOSH lifting equation takes as one person's limit under ideal conditions"
        yield finding("heavy", what, "lift it with two people or a lift, as local rules say")


def sata_on_sas(build: Build) -> Iterator[Finding]:
    """Note SATA drives on a SAS controller."""
    for array in build.arrays:
        controller = array.controller
        if array.drive.interface == "sata" and controller.sas_gbit_s is not None:
            what = f"the SATA drives run at the SATA rate ({controller.sata_gbit_s} Gbit/s) on "
            what += f"{controller.sku}, not at its SAS rate ({controller.sas_gbit_s} Gbit/s)"
            yield finding("sata_on_sas", what)


def chipset_driver(build: Build) -> Iterator[Finding]:
    """Note arrays that a driver makes; common practice, no source."""
    for piece, controller in build.controllers():
        made = any(array.layout.rule.is_array for array in build.arrays_on(piece.part))
        if made and controller.kind == "chipset":
            what = f"the array on {controller.sku} is made by a driver of the operating system, "
            what += "which hypervisors often lack"
            change = "see that there is one for what will run on it, or choose an array controller"
            yield finding("chipset_driver", what, change)


def not_a_backup(build: Build) -> Iterator[Finding]:
    """Note, always, what an array is not."""
    if build.arrays:
        arrays = any(array.layout.rule.is_array for array in build.arrays)
        what = f"{'an array' if arrays else 'a set of drives'} is not a backup: it does not "
        what += "protect against deletion, malware, fire, theft or a fault of the controller"
        yield finding("not_a_backup", what, "keep copies elsewhere and test restoring them")


def advice(build: Build, terms: AdviceTerms) -> list[Finding]:
    """Find why we would not build it, though it can be built."""
    rules = erases_data, actions.controller_unknown, no_redundancy, cache_unprotected, memory_uneven
    found = asked(rules, build)
    found += wide_group(build, terms.wide_group_members, terms.wide_group_tb)
    found += chipset_parity(build) if terms.chipset_parity else ()
    shared = cabling.expander_shared(build, advised=True) if terms.shared_expander else ()
    return [*found, *shared]


NOTES: tuple[Rule, ...] = (
    unknown.places_unknown, unknown.length_unknown, unknown.processors_unknown,
    cabling.cable_few, cabling.backplane_split, cabling.chipset_expander, cabling.sas_slower,
    start.start_4096, start.start_size, start.spin_up, members.spare_reach,
    members.sectors_mixed, actions.sectors_joined, members.spans_many, heavy, sata_on_sas,
    chipset_driver, not_a_backup,
)  # fmt: skip


def notes(build: Build, terms: AdviceTerms) -> list[Finding]:
    """Find what is worth knowing about it, apart from what is advised."""
    shared = () if terms.shared_expander else cabling.expander_shared(build, advised=False)
    return [*shared, *asked(NOTES, build)]
