"""Does the price list hang together: references, terms, and is every file there to its end.

References are checked on the text of the rows, so that a row which is wrong in another way
has its references told in the same go. Two signs tell a file that was cut off in copying, neither
of which an edit gives: the last line has no end, and there is less in the file than
``contents.csv`` beside it counts. That file is optional; more than it counts is fine.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import suppress
from itertools import chain
from pathlib import Path
from typing import ClassVar

from pydantic_core import PydanticCustomError

from quotelib.catalogue import cells
from quotelib.catalogue.parts import Accessory, Chassis, Controller, Drive, Option, Slot
from quotelib.catalogue.tables import Cells, Row, parse_row, read_rows
from quotelib.catalogue.tax_numbers import customer_problems, seller_problems
from quotelib.catalogue.terms import minor_digits
from quotelib.catalogue.work import Customer, Service
from quotelib.errors import Problem, shown
from quotelib.estimate.capacity import STRIP_KIB, drive_bytes, member_bytes
from quotelib.text import either

TERMS_FILE = "terms.toml"


class Content(Row):
    """How much there has to be in one file at least."""

    file_name: ClassVar[str] = "contents.csv"
    key: ClassVar[tuple[str, ...]] = ("file",)
    file: cells.Text
    rows: cells.Count


CONTENTS_FILE = Content.file_name
_COLUMNS = list(Content.model_fields)

Texts = Mapping[str, Sequence[Cells]]
"""Rows by file name; a file that could not be read, or has no key column, is absent."""


# fmt: off
_LISTS = {"fits", "imports", "needed_by", "with"}
_ANY_PART = (Drive, Controller, Chassis, Option)
_NO_PART = "is neither a drive, a controller, a chassis nor an option"
_NAME_PARTS = "name skus from those files, separated by ';'"
# File, column, the files whose skus (of `imports`: families) it takes; why any other is wrong,
# what would be right.
_POINTERS: tuple[tuple[type[Row], str, tuple[type[Row], ...], str, str], ...] = (
    *((part, "replaced_by", (part,), "is not a sku of this file", "name one, or leave it blank")
      for part in (*_ANY_PART, Accessory)),
    (Controller, "imports", (Controller,),
     "is the family of no controller", "name families from there, separated by ';'"),
    (Chassis, "board_controller", (Controller,),
     "is not in controllers.csv", "name a sku from there, or leave it blank"),
    (Slot, "chassis_sku", (Chassis,),
     "is not in chassis.csv", "name a sku from there"),
    (Option, "fits", (Chassis,),
     "is not in chassis.csv", "name skus from there, separated by ';', or leave it blank"),
    (Accessory, "needed_by", _ANY_PART, _NO_PART, _NAME_PARTS),
    (Accessory, "with", _ANY_PART, _NO_PART, _NAME_PARTS),
)
# fmt: on


def reference_problems(texts: Texts) -> list[Problem]:
    """Find skus that are used twice, point nowhere or at the wrong kind of part; tax numbers.

    Nothing that points into a file absent from `texts` is judged.
    """
    found = (_shared_skus, _dangling, _mounted_elsewhere, _all_reserved, _empty_files)
    wrong = chain.from_iterable(find(texts) for find in found)
    return [*wrong, *customer_problems(_sound(texts, Customer.file_name))]


def _sound(texts: Texts, file: str) -> Iterator[Cells]:
    return (row for row in texts.get(file, ()) if row.problem is None)


def _named(texts: Texts, file: str, column: str = "sku") -> frozenset[str] | None:
    """Give every name in a column; None where rows of it are lost, so that it may hold any."""
    rows = texts.get(file)
    if rows is None or not all(row.cells for row in rows):
        return None
    return frozenset(row.cells.get(column, "") for row in rows)


def _shared_skus(texts: Texts) -> Iterator[Problem]:
    seen: dict[str, str] = {}
    for model in (Drive, Controller, Chassis, Accessory, Option, Service):
        file = model.file_name
        for row in _sound(texts, file):
            sku = row.cells.get("sku", "")
            where = seen.setdefault(sku, file)
            if sku and where != file:
                why, right = f"is a sku of {where} too", "give every part a sku of its own"
                yield Problem(file, row.row, "sku", sku, why, right)


def _dangling(texts: Texts) -> Iterator[Problem]:
    for model, column, targets, why, right in _POINTERS:
        names = "family" if column == "imports" else "sku"
        named = [_named(texts, target.file_name, names) for target in targets]
        if None in named:
            continue
        known = frozenset(chain.from_iterable(skus or () for skus in named))
        for row in _sound(texts, model.file_name):
            cell = row.cells.get(column, "")
            skus = cell.split(";") if column in _LISTS else [cell]
            for sku in dict.fromkeys(sku.strip() for sku in skus):
                if sku and sku not in known:
                    yield Problem(model.file_name, row.row, column, sku, why, right)


def _mounted_elsewhere(texts: Texts) -> Iterator[Problem]:
    mounted = {
        row.cells.get("sku"): row.cells.get("mounting", "")
        for row in _sound(texts, Controller.file_name)
    }
    for row in _sound(texts, Chassis.file_name):
        sku = row.cells.get("board_controller", "")
        mounting = mounted.get(sku, "")
        if sku and mounting in {"mezzanine", "card"}:
            why, right = f"is mounted as {mounting}", "name a controller whose mounting is board"
            yield Problem(Chassis.file_name, row.row, "board_controller", sku, why, right)


def _all_reserved(texts: Texts) -> Iterator[Problem]:
    """Find controllers that would keep the whole of a drive for themselves."""
    sizes = [
        (capacity_gb, row.cells.get("sku", ""), int(row.cells["block_bytes"]))
        for row in _sound(texts, Drive.file_name)
        if (capacity_gb := _whole(row, "capacity_gb", 1))
        and row.cells.get("block_bytes") in {"512", "4096"}
    ]
    if not sizes:
        return
    capacity_gb, sku, block = min(sizes)
    for row in _sound(texts, Controller.file_name):
        reserve_mib = _whole(row, "reserve_mib", 0) or 0
        if not member_bytes(drive_bytes(capacity_gb, block), reserve_mib, STRIP_KIB):
            why = f"leaves nothing of the smallest drive, {shown(sku)} of {capacity_gb} GB"
            right = "give the MiB that it keeps on each drive, such as 512"
            cell = row.cells["reserve_mib"]
            yield Problem(Controller.file_name, row.row, "reserve_mib", cell, why, right)


def _whole(row: Cells, column: str, low: int) -> int | None:
    """Read a whole number up to a million; None where it is none, which the column itself tells."""
    with suppress(PydanticCustomError):
        number: int = cells.apply(cells.whole(low, 10**6, ""), row.cells.get(column, ""))
        return number
    return None


def _empty_files(texts: Texts) -> Iterator[Problem]:
    for model in (Drive, Controller, Chassis):
        if texts.get(model.file_name) == []:
            why, right = "lists nothing", "give it at least one row"
            yield Problem(model.file_name, None, "", "", why, right)


def terms_problems(data: Mapping[str, object]) -> list[Problem]:
    """Find currencies that are none and rates that contradict.

    They are found in the file as TOML gives it, whether or not the rest of it is right.
    """
    problems = []
    right = "use a current ISO 4217 code with a minor unit, such as GBP, EUR, JPY or KWD"
    currency, table = data.get("currency"), data.get("rates")
    rates = table if isinstance(table, dict) else {}
    codes = [("currency", currency)] if isinstance(currency, str) else []
    codes += [(f"rates.{shown(code)}", code) for code in rates]
    for column, code in codes:
        if minor_digits(code) is None:
            problems.append(Problem(TERMS_FILE, None, column, code, "is not a currency", right))
    own = rates.get(currency) if isinstance(currency, str) else None
    if own is not None and own != 1:
        why = "is the price list's own currency, yet has a rate other than 1"
        column = f"rates.{currency}"
        problems.append(Problem(TERMS_FILE, None, column, str(own), why, "remove it"))
    return [*problems, *_reasons_for_no_tax(data), *seller_problems(data, TERMS_FILE)]


def _reasons_for_no_tax(data: Mapping[str, object]) -> Iterator[Problem]:
    tax, offer = data.get("tax"), data.get("offer")
    rates = tax if isinstance(tax, dict) else {}
    reasons = offer.get("tax_reasons") if isinstance(offer, dict) else None
    for code in reasons if isinstance(reasons, dict) else {}:
        why = f"is a reason for no tax, yet the rate of {shown(code)} is {rates.get(code)} %"
        if code not in rates or rates[code]:
            why = why if code in rates else "is a tax code that [tax] has not"
            column, right = f"offer.tax_reasons.{shown(code)}", "name a code of [tax] at 0 %"
            yield Problem(TERMS_FILE, None, column, code, why, right)


def tax_code_problems(texts: Texts, codes: Iterable[str]) -> list[Problem]:
    """Find customers with a tax code that the terms have not."""
    known, problems = list(codes), []
    for row in _sound(texts, Customer.file_name):
        code = row.cells.get("tax_code", "")
        if code and code not in known:
            right = f"use {either(known)}, or leave it blank" if known else "leave it blank"
            why = "is a tax code that terms.toml has not"
            problems.append(Problem(Customer.file_name, row.row, "tax_code", code, why, right))
    return problems


def count_values(data: object) -> int:
    """Count the values of a TOML document, as ``contents.csv`` counts ``terms.toml``."""
    if isinstance(data, dict):
        data = list(data.values())
    return sum(map(count_values, data)) if isinstance(data, list) else 1


def uncounted(folder: Path) -> str:
    """Say what nobody would notice in a list without ``contents.csv``; blank with it."""
    if (folder / CONTENTS_FILE).exists():
        return ""
    return (
        f"{CONTENTS_FILE} is not there: a file cut off between two rows, or to its header, is not "
        "noticed. Compare these numbers with what the files should hold."
    )


def contents_problems(
    folder: Path, files: Sequence[str], needed: Sequence[str], found: Mapping[str, int]
) -> list[Problem]:
    """Find files with less in them than ``contents.csv`` counts; none where it is not there.

    Parameters
    ----------
    files
        Every file that may be counted.
    needed
        Those that have to be: a price list may do without the others.
    found
        Rows below the header (values, for ``terms.toml``) of each file that could be read.
    """
    path = folder / CONTENTS_FILE
    if not path.exists():
        return []
    rows, problems = read_rows(path, _COLUMNS, _COLUMNS, ended=True)
    if problems:
        return problems
    counted: set[str] = set()
    for row in rows:
        if row.problem is not None:
            problems.append(row.problem)
            continue
        content, wrong = parse_row(Content, CONTENTS_FILE, row.row, row.cells)
        problems += wrong
        name = row.cells["file"]
        if name not in files or name in counted:
            why, right = "is there already", "keep one row for each file"
            if name not in files:
                why, right = "is no file of a price list", f"name one of {', '.join(files)}"
            problems.append(Problem(CONTENTS_FILE, row.row, "file", name, why, right))
        elif content is not None and found.get(name, content.rows) < content.rows:
            problems.append(_short(name, found[name], content.rows))
        counted.add(name)
    missing = [name for name in needed if name not in counted]
    if missing:
        why = f"has no row for {', '.join(missing)}, so it looks cut off itself"
        right = "copy it again, or add a row for each file"
        problems.append(Problem(CONTENTS_FILE, None, "", "", why, right))
    return problems


def _short(name: str, count: int, least: int) -> Problem:
    what = "values" if name.endswith(".toml") else "rows"
    why = f"has {count} {what} where {CONTENTS_FILE} counts {least}, so it looks cut off"
    right = f"copy the file again; if {what} were taken out on purpose, put {count} for "
    return Problem(name, None, "", "", why, f"{right}{shown(name)} into {CONTENTS_FILE}")
