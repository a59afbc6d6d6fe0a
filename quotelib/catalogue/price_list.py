"""What is in this price list: all files of the folder, read once and validated whole."""

import hashlib
import re
import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property, lru_cache
from pathlib import Path
from types import MappingProxyType
from typing import Any, Generic, TypeVar

from quotelib.catalogue import checks
from quotelib.catalogue.checks import TERMS_FILE
from quotelib.catalogue.parts import (
    Accessory,
    Chassis,
    Controller,
    Drive,
    Row,
    Service,
    Slot,
    Terms,
    Workload,
)
from quotelib.catalogue.tables import Cells, open_end, parse_row, read_rows, read_text
from quotelib.catalogue.whole import CONTENTS_FILE, contents_problems, count_values
from quotelib.errors import InputError, Problem, shown

_R = TypeVar("_R", bound=Row)
_MODELS: tuple[type[Row], ...] = (
    Drive,
    Controller,
    Chassis,
    Slot,
    Accessory,
    Service,
    Workload,
)
_MAX_TERMS = 200_000
_QUOTED = r'"(?:\\.|[^"\\\n])*"'
_ENDLESS = (
    (
        re.compile(r"(?<![0-9A-Za-z_])[+-]?(?:0[xob])?[0-9A-Fa-f_]{1000}"),
        "is a number of a thousand digits or more",
        "give a number that somebody can mean",
    ),
    (
        re.compile(rf"(?<![\w-])(?>(?:[\w-]+|'[^'\n]*'|{_QUOTED})[ \t]*\.[ \t]*){{20}}", re.ASCII),
        "is a key of twenty parts or more",
        "name one of the keys in the README",
    ),
)


@dataclass(frozen=True)
class PriceList:
    """Everything we can sell, immutable.

    Parameters
    ----------
    drives, controllers, chassis, accessories, services, workloads : mapping
        By sku (by name for workloads), in file order.
    terms : Terms
        Currency, rates, tax, freight, discounts, seller, risk.
    fingerprint : str
        SHA-256 over the files, hexadecimal: the same content gives the same fingerprint.
    """

    drives: Mapping[str, Drive]
    controllers: Mapping[str, Controller]
    chassis: Mapping[str, Chassis]
    accessories: Mapping[str, Accessory]
    services: Mapping[str, Service]
    workloads: Mapping[str, Workload]
    terms: Terms
    fingerprint: str

    def __hash__(self) -> int:
        """Hash by content."""
        return hash(self.fingerprint)

    def __eq__(self, other: object) -> bool:
        """Compare by content."""
        return isinstance(other, PriceList) and other.fingerprint == self.fingerprint

    @property
    def currencies(self) -> tuple[str, ...]:
        """Every currency we can quote in, the list's own first."""
        return tuple(dict.fromkeys((self.terms.currency, *self.terms.rates)))

    @cached_property
    def adapters(self) -> tuple[Accessory, ...]:
        """Accessories that fit a smaller drive into a larger bay."""
        return tuple(a for a in self.accessories.values() if a.kind == "adapter")


def column_names(model: type[Row]) -> list[str]:
    """List the columns of a file, in the order of its model."""
    return [name for name in model.model_fields if name != "slots"]


def _required(model: type[Row]) -> list[str]:
    return [n for n, f in model.model_fields.items() if f.is_required()]


@dataclass
class _File(Generic[_R]):
    """What came of one file."""

    rows: list[_R]
    problems: list[Problem]
    texts: list[Cells] | None
    """Every row as text; None: nothing was read, or the key column is not there."""


def _read_file(folder: Path, model: type[_R]) -> _File[_R]:
    path = folder / model.file_name
    cells_rows, problems = read_rows(path, column_names(model), _required(model), ended=True)
    # A column that is not there (and so has no value) is told once, not again for every row.
    absent = {problem.column for problem in problems if not problem.value}
    lost = bool(problems) and not cells_rows
    parsed: list[_R] = []
    seen: dict[tuple[str, ...], int] = {}
    for cells in cells_rows:
        if cells.problem is not None:
            problems.append(cells.problem)
            continue
        item, wrong = parse_row(model, model.file_name, cells.row, cells.cells)
        wrong = [problem for problem in wrong if problem.column not in absent]
        wrong += [
            Problem(model.file_name, cells.row, column, cells.cells.get(column, ""), why, right)
            for column, why, right in model.impossible(cells.cells)
            if column not in absent
        ]
        key = tuple(cells.cells.get(part, "") for part in model.key)
        if all(key) and key in seen:
            column = model.key[-1]
            why = f"is there already, in row {seen[key]}"
            right = f"give each row a {column} of its own"
            wrong.append(Problem(model.file_name, cells.row, column, key[-1], why, right))
        seen.setdefault(key, cells.row)
        problems += wrong
        if item is not None and not wrong:
            parsed.append(item)
    keyless = not absent.isdisjoint(model.key)
    return _File(parsed, problems, None if lost or keyless else cells_rows)


def _endless(text: str) -> list[Problem]:
    """Find what the TOML reader takes minutes for, or writes out as a number nobody can read."""
    problems = []
    for pattern, why, right in _ENDLESS:
        for found in pattern.finditer(text):
            row = text.count("\n", 0, found.start()) + 1
            problems.append(Problem(TERMS_FILE, row, "", shown(found[0], 24), why, right))
            break
    return problems


def _read_terms(folder: Path) -> tuple[Terms | None, int | None, list[Problem]]:
    """Give the terms, how many values there are (None: they could not be read), and problems."""
    text, problems = read_text(folder / TERMS_FILE, _MAX_TERMS)
    problems += open_end(TERMS_FILE, text) + _endless(text)
    if problems:
        return None, None, problems
    try:
        data = tomllib.loads(text, parse_float=Decimal)
    except (ValueError, ArithmeticError, RecursionError) as error:
        why = f"is not well-formed TOML ({shown(str(error), 200)})"
        return None, None, [Problem(TERMS_FILE, None, "", "", why, "mend that line")]
    terms, problems = parse_row(Terms, TERMS_FILE, None, data)
    return terms, count_values(data), [*problems, *checks.terms_problems(data)]


def read_folder(folder: Path) -> tuple[PriceList | None, list[Problem]]:
    """Read a price list and find everything wrong with it in one go.

    Parameters
    ----------
    folder : Path
        Holds the CSV files and ``terms.toml``.

    Returns
    -------
    price_list : PriceList or None
        None where there is any problem.
    problems : list of Problem
        All of them, by file and row.
    """
    if not folder.is_dir():
        why = "is not a folder" if folder.exists() else "does not exist"
        right = "name a folder that holds a price list"
        return None, [Problem(str(folder), None, "", "", why, right)]
    drives = _read_file(folder, Drive)
    controllers = _read_file(folder, Controller)
    chassis = _read_file(folder, Chassis)
    slots = _read_file(folder, Slot)
    accessories = _read_file(folder, Accessory)
    services = _read_file(folder, Service)
    workloads = _read_file(folder, Workload)
    terms, values, terms_problems = _read_terms(folder)
    files: tuple[_File[Any], ...] = (
        drives,
        controllers,
        chassis,
        slots,
        accessories,
        services,
        workloads,
    )
    problems = [problem for file in files for problem in file.problems] + terms_problems
    texts = {
        model.file_name: file.texts
        for model, file in zip(_MODELS, files, strict=True)
        if file.texts is not None
    }
    problems += checks.reference_problems(texts)
    found = {name: len(rows) for name, rows in texts.items()}
    if values is not None:
        found[TERMS_FILE] = values
    order = [*(model.file_name for model in _MODELS), TERMS_FILE]
    problems += contents_problems(folder, order, found)
    if problems or terms is None:
        order.append(CONTENTS_FILE)
        return None, sorted(problems, key=lambda p: (order.index(p.file), p.row or 0))
    of: dict[str, list[Slot]] = {}
    for slot in sorted(slots.rows, key=lambda s: s.slot):
        of.setdefault(slot.chassis_sku, []).append(slot)
    with_slots = {
        c.sku: c.model_copy(update={"slots": tuple(of.get(c.sku, ()))}) for c in chassis.rows
    }
    return (
        PriceList(
            drives=_by_sku(drives.rows),
            controllers=_by_sku(controllers.rows),
            chassis=MappingProxyType(with_slots),
            accessories=_by_sku(accessories.rows),
            services=MappingProxyType({s.sku: s for s in services.rows}),
            workloads=MappingProxyType({w.name: w for w in workloads.rows}),
            terms=terms,
            fingerprint=_fingerprint(folder),
        ),
        [],
    )


_P = TypeVar("_P", Drive, Controller, Accessory)


def _by_sku(parts: Iterable[_P]) -> Mapping[str, _P]:
    return MappingProxyType({p.sku: p for p in parts})


def _fingerprint(folder: Path) -> str:
    digest = hashlib.sha256()
    for name in (*(model.file_name for model in _MODELS), TERMS_FILE):
        data = (folder / name).read_bytes()
        digest.update(f"{name}:{len(data)}:".encode())
        digest.update(data)
    return digest.hexdigest()


def load_price_list(folder: str | Path | None = None) -> PriceList:
    """Load a price list that must be free of problems.

    Parameters
    ----------
    folder : path, optional
        The starter price list by default.

    Returns
    -------
    PriceList

    Raises
    ------
    InputError
        With every problem, where there is any.
    """
    from quotelib.resources import starter_prices

    path = starter_prices() if not folder else Path(folder)
    stamp: tuple[tuple[str, int, int], ...] = ()
    if path.is_dir():
        files = sorted(p for p in path.iterdir() if p.is_file())
        stamp = tuple((p.name, p.stat().st_mtime_ns, p.stat().st_size) for p in files)
    return _load(path.resolve(), stamp)


@lru_cache(maxsize=8)
def _load(path: Path, stamp: object) -> PriceList:
    # The stamp makes a changed file a new cache entry.
    price_list, problems = read_folder(path)
    if price_list is None:
        raise InputError(problems)
    return price_list
