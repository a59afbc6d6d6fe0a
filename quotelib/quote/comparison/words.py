"""What is such a controller: chipset arrays, pass-through adapters and array controllers in words.

Common practice, no source; only what the price list says of a controller is said of it.
"""

from typing import Literal

from quotelib.build.build import Build
from quotelib.catalogue.parts import Controller
from quotelib.catalogue.price_list import PriceList
from quotelib.errors import any_of

Protection = Literal["none", "battery", "flash", "module"]

_PARITY = {"5", "6", "50", "60"}
_DOUBLE_PARITY = {"6", "60"}


def protected_by(controller: Controller, price_list: PriceList, build: Build | None) -> Protection:
    """Say what keeps cached writes through a loss of power.

    Parameters
    ----------
    controller : Controller
    price_list : PriceList
        Whose accessories may bring the protection.
    build : Build or None
        Where there is one, it is what counts.

    Returns
    -------
    str
        ``none`` for a controller without cache.
    """
    if not controller.cache_mib:
        return "none"
    if controller.cache_protection != "none":
        return controller.cache_protection
    if build is not None:
        return "module" if build.parts.cache_is_protected else "none"
    sold = any(
        a.kind == "cache_protection" and controller.sku in a.needed_by
        for a in price_list.accessories.values()
    )
    return "module" if sold else "none"


def cache_words(controller: Controller, protection: Protection) -> str:
    """Write the cache and its protection."""
    if not controller.cache_mib:
        return "no cache"
    how = {
        "none": "without protection",
        "battery": "kept by a battery",
        "flash": "copied to flash memory",
        "module": "with a protection module",
    }[protection]
    return f"{controller.cache_mib} MiB, {how}"


def explanation(controller: Controller, protection: Protection) -> str:
    """Say what such a controller does and does not do, to someone who does not know the kinds."""
    if controller.kind == "pass_through":
        return (
            "Hands each drive to the system by itself and makes no array of its own: redundancy is "
            "up to the customer's own software."
        )
    cache = _cache_sentence(controller, protection)
    if controller.kind == "chipset":
        only = "SATA drives only: " if _sata_only(controller) else ""
        work = "parity" if _PARITY & set(controller.levels) else "mirroring"
        return (
            f"{only}{'t' if only else 'T'}he array is made by the chipset's driver, and the "
            f"server's processor does the {work}. {cache}"
        )
    text = "Makes the array itself, so that the system sees one disk. "
    if not _DOUBLE_PARITY & set(controller.levels):
        text += "It makes no double parity (RAID 6 or 60). "
    return text + cache


def _sata_only(controller: Controller) -> bool:
    return controller.sas_gbit_s is None and controller.nvme_gen is None


def _cache_sentence(controller: Controller, protection: Protection) -> str:
    if not controller.cache_mib:
        if controller.kind == "chipset":
            return "It has no protected cache."
        return "It has no cache: every write waits for the drives, parity writes longest."
    if protection == "none":
        return (
            "Its write-back cache is not protected: a loss of power loses writes it had confirmed."
        )
    how = {
        "battery": "as long as its battery lasts",
        "flash": "by copying them to flash memory",
        "module": "with its protection module",
    }[protection]
    return f"Its write-back cache keeps confirmed writes through a loss of power, {how}."


def occupies_when_it_fits(controller: Controller) -> str:
    """Say what it would take up in a chassis that takes it."""
    if controller.mounting == "board":
        return "nothing: it is part of a board"
    if controller.mounting == "mezzanine":
        return "a mezzanine socket, no slot"
    return f"a slot with a {any_of(controller.brackets)}-height bracket"
