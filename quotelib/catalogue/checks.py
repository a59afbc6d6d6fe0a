"""Does the price list hang together: references between files, and terms.

References are checked on the text of the rows, so that a row which is wrong in another way
has its references told in the same go.
"""

from collections.abc import Iterator, Mapping, Sequence

from quotelib.catalogue.currency import minor_digits
from quotelib.catalogue.parts import (
    Accessory,
    Chassis,
    Controller,
    Drive,
    Service,
    Slot,
)
from quotelib.catalogue.tables import Cells
from quotelib.errors import Problem, shown

TERMS_FILE = "terms.toml"

Texts = Mapping[str, Sequence[Cells]]
"""Rows by file name; a file that could not be read, or has no key column, is absent."""


def reference_problems(texts: Texts) -> list[Problem]:
    """Find skus that are used twice, point nowhere or point at the wrong kind of part.

    Parameters
    ----------
    texts : mapping of str to sequence of Cells
        What could be read. Nothing that points into an absent file is judged.

    Returns
    -------
    list of Problem
    """
    return [
        *_shared_skus(texts),
        *_board_controllers(texts),
        *_slot_owners(texts),
        *_needed_by(texts),
        *_empty_files(texts),
    ]


def _sound(texts: Texts, file: str) -> Iterator[Cells]:
    return (row for row in texts.get(file, ()) if row.problem is None)


def _named(texts: Texts, file: str) -> frozenset[str] | None:
    """Give every sku of a file; None where rows of it are lost, so that it may hold any."""
    rows = texts.get(file)
    if rows is None or not all(row.cells for row in rows):
        return None
    return frozenset(row.cells.get("sku", "") for row in rows)


def _shared_skus(texts: Texts) -> Iterator[Problem]:
    seen: dict[str, str] = {}
    for model in (Drive, Controller, Chassis, Accessory, Service):
        file = model.file_name
        for row in _sound(texts, file):
            sku = row.cells.get("sku", "")
            where = seen.setdefault(sku, file)
            if sku and where != file:
                why, right = f"is a sku of {where} too", "give every part a sku of its own"
                yield Problem(file, row.row, "sku", sku, why, right)


def _board_controllers(texts: Texts) -> Iterator[Problem]:
    named = _named(texts, Controller.file_name)
    controllers = {row.cells.get("sku"): row for row in _sound(texts, Controller.file_name)}
    for row in _sound(texts, Chassis.file_name):
        sku = row.cells.get("board_controller", "")
        controller = controllers.get(sku)
        mounting = "" if controller is None else controller.cells.get("mounting", "")
        if sku and named is not None and sku not in named:
            why, right = "is not in controllers.csv", "name a sku from there, or leave it blank"
        elif sku and mounting in {"mezzanine", "card"}:
            why = f"is mounted as {mounting}"
            right = "name a controller whose mounting is board"
        else:
            continue
        yield Problem(Chassis.file_name, row.row, "board_controller", sku, why, right)


def _slot_owners(texts: Texts) -> Iterator[Problem]:
    known = _named(texts, Chassis.file_name)
    why, right = "is not in chassis.csv", "name a sku from there"
    for row in _sound(texts, Slot.file_name):
        sku = row.cells.get("chassis_sku", "")
        if sku and known is not None and sku not in known:
            yield Problem(Slot.file_name, row.row, "chassis_sku", sku, why, right)


def _needed_by(texts: Texts) -> Iterator[Problem]:
    known: frozenset[str] = frozenset()
    for model in (Drive, Controller, Chassis):
        named = _named(texts, model.file_name)
        if named is None:
            return
        known |= named
    why = "is neither a drive, a controller nor a chassis"
    right = "name skus from those files, separated by ';'"
    for row in _sound(texts, Accessory.file_name):
        items = (item.strip() for item in row.cells.get("needed_by", "").split(";"))
        for sku in dict.fromkeys(items):
            if sku and sku not in known:
                yield Problem(Accessory.file_name, row.row, "needed_by", sku, why, right)


def _empty_files(texts: Texts) -> Iterator[Problem]:
    for model in (Drive, Controller, Chassis):
        if texts.get(model.file_name) == []:
            why, right = "lists nothing", "give it at least one row"
            yield Problem(model.file_name, None, "", "", why, right)


def terms_problems(data: Mapping[str, object]) -> list[Problem]:
    """Find currencies that are none and rates that contradict.

    Parameters
    ----------
    data : mapping
        The file as TOML gives it, whether or not the rest of it is right.

    Returns
    -------
    list of Problem
    """
    problems = []
    right = "use a current ISO 4217 code with a minor unit, such as GBP, EUR, JPY or KWD"
    currency, rates = data.get("currency"), data.get("rates")
    codes = [("currency", currency)] if isinstance(currency, str) else []
    if isinstance(rates, dict):
        codes += [(f"rates.{shown(code)}", code) for code in rates]
    for column, code in codes:
        if minor_digits(code) is None:
            why = "is not a currency"
            problems.append(Problem(TERMS_FILE, None, column, code, why, right))
    own = rates.get(currency) if isinstance(rates, dict) else None
    if own is not None and own != 1:
        why = "is the price list's own currency, yet has a rate other than 1"
        column = f"rates.{currency}"
        problems.append(Problem(TERMS_FILE, None, column, str(own), why, "remove it"))
    return problems
