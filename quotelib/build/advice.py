"""Would we build it, and what is worth knowing: rules that stop nothing.

`loss_over_limit` takes an estimate and is found where estimates are made.
"""

from collections.abc import Iterator

from quotelib.build.build import Build
from quotelib.build.findings import Finding, finding
from quotelib.build.fit import asked
from quotelib.estimate.running import LIFTING_CONSTANT_KG
from quotelib.levels import redundant_levels
from quotelib.text import count, either, kg


def erases_data(build: Build) -> Iterator[Finding]:
    """Advise against writing over drives the customer has until somebody has said they may.

    Drives passed through count too: the bench's test load writes to them.
    """
    for array in build.arrays:
        if array.have_drives and array.action == "new":
            yield finding(
                "erases_data",
                f"must the data on the customer's {count(array.have_drives, 'drive')} "
                f"{array.drive.sku} stay? Building this erases it",
                "if it must stay, do not build this; if a tested copy exists elsewhere or nothing "
                "on them is needed, accept it",
            )


def no_redundancy(build: Build) -> Iterator[Finding]:
    """Advise against an array that survives no failure."""
    for array in build.arrays:
        level = array.layout.rule
        if not level.survives:
            what = "an array without redundancy" if level.is_array else "no array"
            yield finding(
                "no_redundancy",
                f"this is {what}: the failure of any one drive loses data",
                f"choose RAID {either(redundant_levels())}, or accept the risk",
            )


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


def is_heavy(build: Build) -> bool:
    """Tell whether the complete build is over the lifting constant."""
    return build.mass_g() > LIFTING_CONSTANT_KG * 1000


def heavy(build: Build) -> Iterator[Finding]:
    """Note a mass over the lifting constant."""
    if is_heavy(build):
        yield finding(
            "heavy",
            f"the build weighs {kg(build.mass_g())}, above the {LIFTING_CONSTANT_KG:g} kg that "
            "the NIOSH lifting equation takes as one person's limit under ideal conditions",
            "lift it with two people or a lift, as local rules say",
        )


def sata_on_sas(build: Build) -> Iterator[Finding]:
    """Note SATA drives on a SAS controller."""
    for array in build.arrays:
        controller = array.controller
        if array.drive.interface == "sata" and controller.sas_gbit_s is not None:
            yield finding(
                "sata_on_sas",
                f"the SATA drives run at the SATA rate ({controller.sata_gbit_s} Gbit/s) on "
                f"{controller.sku}, not at its SAS rate ({controller.sas_gbit_s} Gbit/s)",
            )


def not_a_backup(build: Build) -> Iterator[Finding]:
    """Note, always, what an array is not."""
    if build.arrays:
        arrays = any(array.layout.rule.is_array for array in build.arrays)
        yield finding(
            "not_a_backup",
            f"{'an array' if arrays else 'a set of drives'} is not a backup: it does not protect "
            "against deletion, malware, fire, theft or a fault of the controller",
            "keep copies elsewhere and test restoring them",
        )


def advice(build: Build) -> list[Finding]:
    """Find why we would not build it, though it can be built."""
    return asked((erases_data, no_redundancy, cache_unprotected), build)


def notes(build: Build) -> list[Finding]:
    """Find what is worth knowing about it."""
    return asked((heavy, sata_on_sas, not_a_backup), build)
