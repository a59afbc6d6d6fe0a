"""How is it proved: self-tests, error counts before and after the soak, alert, supplies.

Common practice, no source, but for the names of what is read: extended self-tests after the ATA
and SCSI command sets and the NVMe base specification, phy error counts after the serial-attached
SCSI protocol, correctable errors after PCI Express (all from memory).
"""

from collections.abc import Iterator
from decimal import Decimal

from quotelib.bench.hazards import Hazards, Step
from quotelib.bench.plan import array_name
from quotelib.build.build import Build
from quotelib.build.placement import Placement
from quotelib.text import bays, both, plural, sentence


def before_arrays(build: Build, places: Placement) -> Iterator[Step]:
    """Have the drives test themselves while nothing is on them yet, and the cache charged."""
    words = "All at once, each states how long; note remapped and unreadable blocks."
    if build.arrays and not build.keeps_arrays:
        yield Step("Run the extended self-test of every drive", words)
    elif tested := list(_tested(build, places)):
        only: Hazards = {"data": "On no drive whose data stays."}
        words = f"{sentence(both(tested))}. {words}"
        yield Step("Run the extended self-test of these drives", words, only)
    for _, controller in build.controllers():
        if controller.cache_mib and build.is_protected(controller):
            title = f"Wait until the cache protection of {controller.sku} is charged"
            yield Step(title, "It must report that, or write-back stays off.")


def _tested(build: Build, places: Placement) -> Iterator[str]:
    """Name the drives that test themselves where others hold data that stays."""
    # Drives that replace others find those in their bays until each one's turn comes.
    put_in = sorted(
        bay.bay
        for at, array in enumerate(build.arrays)
        for bay in places.bays
        if bay.array == at and array.action != "replace"
        if array.action == "new" or not bay.owned
    )
    if put_in:
        yield f"those in {bays(put_in)}"
    for array in build.arrays:
        if array.action == "replace" and array.bought_drives:
            noun = plural(array.bought_drives, "drive")
            yield f"in another machine the {array.bought_drives} new {noun} {array.drive.sku}"


def prove(build: Build, soak_hours: int) -> Iterator[Step]:
    """Prove the whole server; what is written over it is test data."""
    if any(array.layout.rule.is_array and array.action == "new" for array in build.arrays):
        words = "The controller reads all members through for hidden errors, at a quiet time."
        yield Step("Set the schedule of the scrub", words)
    before = "; write them down" if build.only_keeps_arrays else ", before the soak"
    yield Step("Send a test alert", "To the address that the customer named: it must arrive.")
    yield Step(
        "Read the link error counts",
        f"Errors of {counted(build)}, corrected ones too{before}.",
    )
    yield _soak(build, soak_hours)
    if one_less(build) and not build.keeps_arrays:
        words = "Under load: it stays up, logs and clears the fault."
        mains: Hazards = {"supply": "Mains: cover on; hold the plug, not the cord."}
        yield Step("Pull each supply's cord in turn", words, mains)
    words = f"Of links{' and drives' if build.arrays else ''}: none may have risen."
    yield Step("Read the error counts again", words)
    words = "Of controllers and set-up, with the log; keep the file with the paperwork."
    yield Step("Export the settings", words)


def _soak(build: Build, soak_hours: int) -> Step:
    """Load the server; of what is there already nothing is written to."""
    made = [array_name(build, at) for at, a in enumerate(build.arrays) if a.action == "new"]
    staying = len(made) < len(build.arrays)
    hot: Hazards = {"edges": f"{'Drives' if build.arrays else 'Heat sinks'} get hot."}
    title, load = "Go through the acceptance table", f"{soak_hours} hours under load"
    if staying and not made:
        keep: Hazards = {"data": "Nothing is written to these drives: no test load, no read-back."}
        return Step(title, "What is there already is only read, for its speed too.", keep | hot)
    if staying:
        only: Hazards = {"data": f"Test data on {both(made)} alone: it overwrites what is there."}
        words = f"Read-back check and {load}, on {both(made)}; then the speed by the job files."
        return Step(title, words, only | hot)
    if build.arrays:
        over: Hazards = {"data": "Test data overwrites all: read size and serial number back."}
        return Step(title, f"Read-back check, {load}, then the speed by the job file.", over | hot)
    out = ", the customer's drives out" if build.chassis_owned else ""
    return Step(title, f"{load}{out}.", hot)


def counted(build: Build) -> str:
    """Name the error counts of the links that are there."""
    links = [(a.drive.interface, a.controller.sas_gbit_s) for a in build.arrays]
    named = ["SAS phys"] if any(sas and drive != "nvme" for drive, sas in links) else []
    named += ["SATA CRC"] if any(drive == "sata" for drive, _ in links) else []
    return both([*named, "PCI Express"])


def one_less(build: Build) -> bool:
    """Tell whether the server stays up with one supply less."""
    return sum(build.supplies_w[1:], Decimal(0)) >= build.watts
