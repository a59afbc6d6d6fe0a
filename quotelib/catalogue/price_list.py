"""What is in this price list: all files of the folder, read once and validated whole."""

import hashlib
import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property, lru_cache
from pathlib import Path
from types import MappingProxyType
from typing import Generic, TypeVar

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
from quotelib.catalogue.tables import parse_row, read_rows, read_text
from quotelib.errors import InputError, Problem

_R = TypeVar("_R", bound=Row)


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

    rows: list[tuple[int, _R]]
    problems: list[Problem]
    named: frozenset[str] | None
    """First key of every row, also of those that could not be read; None: nothing was read."""


def _read_file(folder: Path, model: type[_R]) -> _File[_R]:
    path = folder / model.file_name
    cells_rows, problems = read_rows(path, column_names(model), _required(model))
    if problems:
        return _File([], problems, None)
    parsed: list[tuple[int, _R]] = []
    seen: dict[tuple[str, ...], int] = {}
    for cells in cells_rows:
        if cells.problem is not None:
            problems.append(cells.problem)
            continue
        item, wrong = parse_row(model, model.file_name, cells.row, cells.cells)
        wrong += [
            Problem(model.file_name, cells.row, column, cells.cells.get(column, ""), why, right)
            for column, why, right in model.impossible(cells.cells)
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
            parsed.append((cells.row, item))
    named = frozenset(cells.cells.get(model.key[0], "") for cells in cells_rows)
    return _File(parsed, problems, named)


def _read_terms(folder: Path) -> tuple[Terms | None, list[Problem]]:
    text, problems = read_text(folder / TERMS_FILE)
    if problems:
        return None, problems
    try:
        data = tomllib.loads(text, parse_float=Decimal)
    except tomllib.TOMLDecodeError as error:
        return None, [
            Problem(
                TERMS_FILE, None, "", "", f"is not well-formed TOML ({error})", "mend that line"
            )
        ]
    terms, problems = parse_row(Terms, TERMS_FILE, None, data)
    if terms is not None:
        problems += checks.terms_problems(terms)
    return terms, problems


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
        All of them, in file order.
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
    terms, terms_problems = _read_terms(folder)
    files = (drives, controllers, chassis, slots, accessories, services, workloads)
    problems = [problem for file in files for problem in file.problems] + terms_problems
    problems += checks.reference_problems(
        checks.CatalogueRows(
            drives.rows,
            controllers.rows,
            chassis.rows,
            slots.rows,
            accessories.rows,
            services.rows,
            named={
                model.file_name: file.named
                for model, file in ((Drive, drives), (Controller, controllers), (Chassis, chassis))
                if file.named is not None
            },
        )
    )
    if problems or terms is None:
        return None, problems
    with_slots = {
        c.sku: c.model_copy(
            update={
                "slots": tuple(
                    sorted(
                        (s for _, s in slots.rows if s.chassis_sku == c.sku), key=lambda s: s.slot
                    )
                )
            }
        )
        for _, c in chassis.rows
    }
    return (
        PriceList(
            drives=_by_sku(d for _, d in drives.rows),
            controllers=_by_sku(c for _, c in controllers.rows),
            chassis=MappingProxyType(with_slots),
            accessories=_by_sku(a for _, a in accessories.rows),
            services=MappingProxyType({s.sku: s for _, s in services.rows}),
            workloads=MappingProxyType({w.name: w for _, w in workloads.rows}),
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
    models: tuple[type[Row], ...] = (
        Drive,
        Controller,
        Chassis,
        Slot,
        Accessory,
        Service,
        Workload,
    )
    for name in (*(m.file_name for m in models), TERMS_FILE):
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
