"""What is in this price list: all files of the folder, read once and validated whole."""

import hashlib
import re
import tomllib
from collections import Counter
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass, fields, replace
from decimal import Decimal
from functools import lru_cache
from pathlib import Path
from types import MappingProxyType
from typing import Any

from quotelib.bounded import read_bytes
from quotelib.catalogue import checks
from quotelib.catalogue.checks import CONTENTS_FILE, TERMS_FILE
from quotelib.catalogue.contradictions import contradictions
from quotelib.catalogue.parts import Accessory, Chassis, Controller, Drive, Option, Slot
from quotelib.catalogue.tables import KEEPERS, Cells, Row, open_end, parse_row, read_rows, read_text
from quotelib.catalogue.terms import Terms
from quotelib.catalogue.work import Customer, Service, Workload
from quotelib.errors import InputError, Problem, shown
from quotelib.resources import starter_prices

_PARTS = (Drive, Controller, Chassis, Slot, Accessory, Option)
_MODELS: tuple[type[Row], ...] = (*_PARTS, Service, Workload, Customer)
_FILES = [*(model.file_name for model in _MODELS), TERMS_FILE]
_MAX_TERMS = 200_000
_QUOTED = r'"(?:\\.|[^"\\\n])*"'
_ENDLESS = (
    (
        re.compile(r"(?<![0-9A-Za-z_])[+-]?(?:0[xob])?[0-9A-Fa-f_]{1000}"),
        "is a number of a thousand digits or more",
        "give a number that somebody can mean",
    ),
    (
        re.compile(r"(?<![\w.+-])[+-]?[\d_]{1,999}(?:\.[\d_]{1,999})?[eE][+-]?[\d_]{18}", re.ASCII),
        "is a number with an exponent of eighteen digits or more",
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
    drives, controllers, chassis, accessories, options, services, workloads, customers : mapping
        By sku (by name for workloads and customers), in file order.
    fingerprint : str
        SHA-256 over the files, hexadecimal: the same content gives the same fingerprint.
    held : frozenset of tuple
        How many of which sku are kept for somebody, and so off the stock.
    """

    drives: Mapping[str, Drive]
    controllers: Mapping[str, Controller]
    chassis: Mapping[str, Chassis]
    accessories: Mapping[str, Accessory]
    options: Mapping[str, Option]
    services: Mapping[str, Service]
    workloads: Mapping[str, Workload]
    customers: Mapping[str, Customer]
    terms: Terms
    fingerprint: str
    held: frozenset[tuple[str, int]] = frozenset()

    def __hash__(self) -> int:
        """Hash by content."""
        return hash((self.fingerprint, self.held))

    def with_less_stock(self, held: Mapping[str, int]) -> "PriceList":
        """Give this list with so many of each sku off the stock, down to none.

        It names the fingerprint of its files still, and is not equal to them. A sku that it does
        not sell is passed over.
        """
        parts = ("drives", "controllers", "chassis", "accessories", "options")
        kept = frozenset(
            (sku, held[sku])
            for kind in parts
            for sku in getattr(self, kind)
            if held.get(sku, 0) > 0
        )
        if not kept:
            return self
        less: dict[str, Any] = {
            kind: MappingProxyType(
                {
                    sku: part.model_copy(update={"stock": max(0, part.stock - held[sku])})
                    if held.get(sku, 0) > 0
                    else part
                    for sku, part in getattr(self, kind).items()
                }
            )
            for kind in parts
        }
        # What was off the stock before stays off it.
        off = Counter(dict(self.held)) + Counter(dict(kept))
        return replace(self, **less, held=frozenset(off.items()))

    def __reduce__(self) -> tuple[Any, ...]:
        """Travel to another process as a value: plain dictionaries in place of frozen views."""
        values = (getattr(self, field.name) for field in fields(self))
        return _travelled, tuple(dict(v) if isinstance(v, Mapping) else v for v in values)

    def __eq__(self, other: object) -> bool:
        """Compare by content."""
        if not isinstance(other, PriceList):
            return False
        return (other.fingerprint, other.held) == (self.fingerprint, self.held)

    @property
    def currencies(self) -> tuple[str, ...]:
        """Every currency we can quote in, the list's own first."""
        return tuple(dict.fromkeys((self.terms.currency, *self.terms.rates)))


def _travelled(*values: Any) -> PriceList:
    frozen: list[Any] = [MappingProxyType(v) if isinstance(v, dict) else v for v in values]
    return PriceList(*frozen)


def column_names(model: type[Row]) -> list[str]:
    """List the columns of a file, in the order of its model."""
    return [field.alias or name for name, field in model.model_fields.items() if name != "slots"]


@dataclass
class _File:
    """What came of one file."""

    rows: list[Any]
    problems: list[Problem]
    texts: list[Cells] | None
    """Every row as text; None: nothing was read, or the key column is not there."""


def _read_file(folder: Path, model: type[Row]) -> _File:
    path = folder / model.file_name
    if model.optional and not path.exists():
        return _File([], [], [])
    required = [name for name, field in model.model_fields.items() if field.is_required()]
    cells_rows, problems = read_rows(path, column_names(model), required, ended=True)
    # A column that is not there (and so has no value) is told once, not again for every row.
    absent = {problem.column for problem in problems if not problem.value}
    lost = bool(problems) and not cells_rows
    parsed = []
    seen: dict[tuple[str, ...], int] = {}
    for cells in cells_rows:
        if cells.problem is not None:
            problems.append(cells.problem)
            continue
        item, wrong = parse_row(model, model.file_name, cells.row, cells.cells)
        wrong = [problem for problem in wrong if problem.column not in absent]
        wrong += [
            Problem(model.file_name, cells.row, column, cells.cells.get(column, ""), why, right)
            for column, why, right in contradictions(model, cells.cells)
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


def _without_keepers(data: Any) -> Any:
    """Leave out every key of a TOML document that is the keeper's own."""
    if isinstance(data, dict):
        own = {key: value for key, value in data.items() if not key.startswith(KEEPERS)}
        return {key: _without_keepers(value) for key, value in own.items()}
    return [_without_keepers(one) for one in data] if isinstance(data, list) else data


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
    ours = _without_keepers(data)
    terms, problems = parse_row(Terms, TERMS_FILE, None, ours)
    return terms, checks.count_values(data), [*problems, *checks.terms_problems(ours)]


def read_folder(folder: Path) -> tuple[PriceList | None, list[Problem]]:
    """Read a price list and find everything wrong with it in one go.

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
    before, mark = stamp(folder), fingerprint(folder)
    files: dict[type[Row], _File] = {model: _read_file(folder, model) for model in _MODELS}
    terms, values, terms_problems = _read_terms(folder)
    problems = [problem for file in files.values() for problem in file.problems] + terms_problems
    texts = {model.file_name: file.texts for model, file in files.items() if file.texts is not None}
    problems += checks.reference_problems(texts)
    if terms is not None:
        problems += checks.tax_code_problems(texts, terms.tax)
    found = {name: len(rows) for name, rows in texts.items()}
    if values is not None:
        found[TERMS_FILE] = values
    needed = [*(m.file_name for m in _MODELS if not m.optional), TERMS_FILE]
    problems += checks.contents_problems(folder, _FILES, needed, found)
    if problems or terms is None:
        order = [*_FILES, CONTENTS_FILE]
        return None, sorted(problems, key=lambda p: (order.index(p.file), p.row or 0))
    if (before, mark) != (stamp(folder), fingerprint(folder)):
        why, right = "was changed while it was being read", "save it and try again"
        return None, [Problem(str(folder), None, "", "", why, right)]
    slots: dict[str, list[Slot]] = {}
    for slot in sorted(files[Slot].rows, key=lambda s: s.slot):
        slots.setdefault(slot.chassis_sku, []).append(slot)
    rows = {model: file.rows for model, file in files.items() if model is not Slot}
    rows[Chassis] = [
        one.model_copy(update={"slots": tuple(slots.get(one.sku, ()))}) for one in rows[Chassis]
    ]
    # A mapping is called as its file.
    by_key: dict[str, Any] = {
        m.file_name.removesuffix(".csv"): MappingProxyType({getattr(r, m.key[0]): r for r in them})
        for m, them in rows.items()
    }
    return PriceList(**by_key, terms=terms, fingerprint=mark), []


def fingerprint(folder: Path) -> str:
    """Take the SHA-256 over the files of a folder that can be read, hexadecimal."""
    digest = hashlib.sha256()
    for name in _FILES:
        try:
            data = read_bytes(folder / name)
        except OSError:
            continue  # told where the file is read
        digest.update(f"{name}:{len(data)}:".encode())
        digest.update(data)
    return digest.hexdigest()


def load_price_list(folder: str | Path | None = None) -> PriceList:
    """Load a price list that must be free of problems; the starter price list by default.

    Raises
    ------
    InputError
        With every problem.
    """
    path = (starter_prices() if not folder else Path(folder)).resolve()
    return _load(path, stamp(path))


def stamp(folder: Path) -> tuple[tuple[str | int, ...], ...]:
    """Tell whether files have changed, without reading them: also what was changed back.

    By name, size, times and number on the disk; a file that is not there is left out.
    """
    found = []
    for name in (*_FILES, CONTENTS_FILE):
        with suppress(OSError):
            s = (folder / name).stat()
            found.append((name, s.st_size, s.st_mtime_ns, s.st_ctime_ns, s.st_ino))
    return tuple(found)


@lru_cache(maxsize=8)
def _load(path: Path, _stamp: object) -> PriceList:
    # The stamp makes a changed file a new cache entry.
    price_list, problems = read_folder(path)
    if price_list is None:
        raise InputError(problems)
    return price_list
