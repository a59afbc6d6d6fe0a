"""Does the price list hang together: references between files, and terms."""

from collections.abc import Mapping
from dataclasses import dataclass

from quotelib.catalogue.currency import minor_digits
from quotelib.catalogue.parts import (
    Accessory,
    Chassis,
    Controller,
    Drive,
    Service,
    Slot,
    Terms,
)
from quotelib.errors import Problem

TERMS_FILE = "terms.toml"


@dataclass(frozen=True)
class CatalogueRows:
    """The rows that could be read, each with its row number.

    ``named`` gives, per file that could be opened, every sku in it, also those of rows that
    could not be read: a reference to one of them is not dangling. A file that is not there
    has no entry, and nothing that points into it is judged.
    """

    drives: list[tuple[int, Drive]]
    controllers: list[tuple[int, Controller]]
    chassis: list[tuple[int, Chassis]]
    slots: list[tuple[int, Slot]]
    accessories: list[tuple[int, Accessory]]
    services: list[tuple[int, Service]]
    named: Mapping[str, frozenset[str]]


def reference_problems(rows: CatalogueRows) -> list[Problem]:
    """Find skus that are used twice, point nowhere or point at the wrong kind of part.

    Parameters
    ----------
    rows : CatalogueRows
        What could be read.

    Returns
    -------
    list of Problem
    """
    return [
        *_shared_skus(rows),
        *_board_controllers(rows),
        *_slot_owners(rows),
        *_needed_by(rows),
        *_empty_files(rows),
    ]


def _shared_skus(rows: CatalogueRows) -> list[Problem]:
    problems = []
    seen: dict[str, str] = {}
    groups = (rows.drives, rows.controllers, rows.chassis, rows.accessories, rows.services)
    for group in groups:
        for row, item in group:
            file = item.file_name
            where = seen.setdefault(item.sku, file)
            if where != file:
                why, right = f"is a sku of {where} too", "give every part a sku of its own"
                problems.append(Problem(file, row, "sku", item.sku, why, right))
    return problems


def _board_controllers(rows: CatalogueRows) -> list[Problem]:
    controllers = {c.sku: c for _, c in rows.controllers}
    named = rows.named.get(Controller.file_name)
    problems = []
    for row, chassis in rows.chassis:
        sku = chassis.board_controller
        if sku is None:
            continue
        controller = controllers.get(sku)
        if controller is None and named is not None and sku not in named:
            why, right = "is not in controllers.csv", "name a sku from there, or leave it blank"
        elif controller is not None and controller.mounting != "board":
            why = f"is mounted as {controller.mounting}"
            right = "name a controller whose mounting is board"
        else:
            continue
        problems.append(Problem(Chassis.file_name, row, "board_controller", sku, why, right))
    return problems


def _slot_owners(rows: CatalogueRows) -> list[Problem]:
    known = rows.named.get(Chassis.file_name)
    if known is None:
        return []
    why, right = "is not in chassis.csv", "name a sku from there"
    return [
        Problem(Slot.file_name, row, "chassis_sku", slot.chassis_sku, why, right)
        for row, slot in rows.slots
        if slot.chassis_sku not in known
    ]


def _needed_by(rows: CatalogueRows) -> list[Problem]:
    files = (Drive.file_name, Controller.file_name, Chassis.file_name)
    if any(file not in rows.named for file in files):
        return []
    known = frozenset[str]().union(*(rows.named[file] for file in files))
    why = "is neither a drive, a controller nor a chassis"
    right = "name skus from those files, separated by ';'"
    return [
        Problem(Accessory.file_name, row, "needed_by", sku, why, right)
        for row, accessory in rows.accessories
        for sku in accessory.needed_by
        if sku not in known
    ]


def _empty_files(rows: CatalogueRows) -> list[Problem]:
    return [
        Problem(file, None, "", "", "lists nothing", "give it at least one row")
        for file, named in rows.named.items()
        if not named
    ]


def terms_problems(terms: Terms) -> list[Problem]:
    """Find currencies that are none and rates that contradict."""
    problems = []
    right = "use a current ISO 4217 code with a minor unit, such as GBP, EUR, JPY or KWD"
    for column, code in [("currency", terms.currency), *((f"rates.{c}", c) for c in terms.rates)]:
        if minor_digits(code) is None:
            problems.append(Problem(TERMS_FILE, None, column, code, "is not a currency", right))
    own = terms.rates.get(terms.currency)
    if own is not None and own != 1:
        why = "is the price list's own currency, yet has a rate other than 1"
        column = f"rates.{terms.currency}"
        problems.append(Problem(TERMS_FILE, None, column, str(own), why, "remove it"))
    return problems
