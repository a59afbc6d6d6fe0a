"""What a row says of its load: a workload of the price list, perhaps with numbers of its own.

A cell names one, ``virtual_machines``, or names one and says what is otherwise with this customer:
``virtual_machines;read_pct=55;outstanding=64``. A semicolon is in no name.
"""

from collections.abc import Iterator, Mapping
from decimal import Decimal
from functools import lru_cache

from quotelib.catalogue.tables import parse_row
from quotelib.catalogue.work import Workload
from quotelib.errors import shown
from quotelib.text import both, either
from quotelib.units import plain

NUMBERS: dict[str, str] = {
    "read_pct": "{} % reads",
    "random_pct": "{} % random",
    "block_kib": "blocks of {} KiB",
    "outstanding": "{} outstanding",
    "writes_gb_per_day": "{} GB written a day",
}
"""Columns of a workload that an enquiry may state itself, each in words.

What a workload demands has columns of its own in an enquiry.
"""


def name_of(cell: str) -> str:
    """Give the name of the workload that a cell starts from; blank: none."""
    return cell.split(";", 1)[0].strip()


def numbers_of(cell: str) -> dict[str, str]:
    """Give the numbers that a cell states itself, by column; the last of several counts."""
    pairs = (part.partition("=") for part in cell.split(";")[1:])
    return {name.strip(): text.strip() for name, _, text in pairs}


def cell_of(name: str, numbers: Mapping[str, str]) -> str:
    """Write a cell: a workload's name, and the numbers that are otherwise."""
    return ";".join((name, *(f"{column}={text}" for column, text in numbers.items())))


def load_of(cell: str, workloads: Mapping[str, Workload]) -> Workload:
    """Give the workload of a cell that `misstated` finds nothing against."""
    listed, own = workloads[name_of(cell)], numbers_of(cell)
    return _with(listed, tuple(own.items())) if own else listed


@lru_cache(maxsize=64)
def _with(listed: Workload, own: tuple[tuple[str, str], ...]) -> Workload:
    made = _read(listed, dict(own))[0]
    if made is None:
        raise ValueError(f"{own} are no numbers of a workload")
    values = {name: getattr(made, name) for name, _ in own}
    if all(value == getattr(listed, name) for name, value in values.items()):
        return listed
    said = both(NUMBERS[name].format(_cell(value)) for name, value in values.items())
    return made.model_copy(update={"description": f"{listed.description}, here with {said}"})


def _read(
    listed: Workload, own: Mapping[str, str]
) -> tuple[Workload | None, dict[str, tuple[str, str]]]:
    """Read numbers into a workload; or say why each is wrong and what is right, by column."""
    there = {name: getattr(listed, name) for name in Workload.model_fields}
    cells = {name: _cell(value) for name, value in there.items()}
    made, problems = parse_row(Workload, "", None, cells | dict(own))
    return made, {p.column: (p.why, p.right) for p in problems}


def _cell(value: object) -> str:
    if value is None:
        return ""
    return plain(value) if isinstance(value, Decimal) else str(value)


def wrong_numbers(listed: Workload, own: Mapping[str, str]) -> dict[str, tuple[str, str]]:
    """Say of numbers why each is wrong and what would be right, by column."""
    return _read(listed, own)[1]


def misstated(cell: str, workloads: Mapping[str, Workload]) -> Iterator[tuple[str, str]]:
    """Find what is wrong with the numbers of a cell: why, and what would be right."""
    columns = [part.partition("=")[0].strip() for part in cell.split(";")[1:]]
    for column in dict.fromkeys(columns):
        if column not in NUMBERS:
            why = f"states {shown(column)!r}" if column else "has a semicolon too many"
            yield why, f"after the name state {either(NUMBERS)}, as in ;read_pct=70"
        elif columns.count(column) > 1:
            yield f"states {column} twice", "state it once"
    listed, own = workloads.get(name_of(cell)), numbers_of(cell)
    if listed is not None and own.keys() <= NUMBERS.keys():
        for column, (why, right) in wrong_numbers(listed, own).items():
            yield f"states {column} as {shown(own[column])!r}, which {why}", right
