"""How does a comparison become rows to read: short words, groups, any order."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

from quotelib.errors import InputError, Problem, any_of
from quotelib.quote.comparison.record import ControllerComparison, ControllerRow

_LEVELS = ("0", "1", "5", "6", "10", "50", "60")

SORTS: dict[str, tuple[str, Callable[[ControllerRow], Any]]] = {
    "net": ("net price", lambda row: row.net),
    "gb_s": ("GB/s of the tightest link", lambda row: row.tightest_gb_s),
    "cache": ("cache", lambda row: row.cache_mib),
    "levels": ("number of levels", lambda row: len(row.levels)),
    "drives": ("most drives", lambda row: row.max_drives),
    "sku": ("sku", lambda row: row.sku),
    "kind": ("kind", lambda row: row.kind_words),
}
"""What a table can be sorted by: its words, and the figure of a row."""


@dataclass(frozen=True, slots=True)
class Group:
    """Controllers of which the same is to be said."""

    skus: tuple[str, ...]
    words: str


def ordered(
    comparison: ControllerComparison, sort_by: str = "net", descending: bool = False
) -> list[ControllerRow]:
    """Sort the rows: those that fit first, within them by a figure; what has none comes last.

    Raises
    ------
    InputError
        For anything that is not among `SORTS`.
    """
    if sort_by not in SORTS:
        right = f"use {any_of(SORTS)}"
        raise InputError([Problem("table", None, "sort_by", sort_by, "is no such figure", right)])
    figure = SORTS[sort_by][1]
    rows = [row for row in comparison.rows if figure(row) is not None]
    rows.sort(key=figure, reverse=descending)
    rows += [row for row in comparison.rows if figure(row) is None]
    return sorted(rows, key=lambda row: not row.fits)


def levels(row: ControllerRow) -> str:
    """List levels in the order of the table."""
    return ", ".join(level for level in _LEVELS if level in row.levels) or "no array"


def links(row: ControllerRow) -> str:
    """Say which drives it takes, at which rate."""
    rates = (
        f"SATA {row.sata_gbit_s}" if row.sata_gbit_s else "",
        f"SAS {row.sas_gbit_s}" if row.sas_gbit_s else "",
    )
    said = ", ".join(filter(None, rates))
    nvme = f"NVMe generation {row.nvme_gen}" if row.nvme_gen else ""
    return ", ".join(filter(None, (f"{said} Gbit/s" if said else "", nvme)))


def why_not(row: ControllerRow) -> str:
    """Say in short what stands in the way: the finding, without the ways out that follow it."""
    said = (reason.words.split("; ")[0].strip() for reason in row.findings)
    return "; ".join(dict.fromkeys(s.removeprefix(f"{row.sku} ") for s in said))


def refused(comparison: ControllerComparison) -> list[Group]:
    """Group the controllers that do not serve by what stands in their way."""
    rows = ((row.sku, why_not(row)) for row in comparison.rows if not row.fits)
    return list(_groups(rows))


def explained(comparison: ControllerComparison) -> list[Group]:
    """Group pass-through adapters and chipset controllers by what they are and are not."""
    special = (row for row in comparison.rows if row.kind != "raid")
    return list(_groups((row.sku, row.explanation) for row in special))


def _groups(pairs: Any) -> Iterator[Group]:
    by_words: dict[str, list[str]] = {}
    for sku, words in pairs:
        by_words.setdefault(words, []).append(sku)
    for words, skus in by_words.items():
        yield Group(tuple(skus), words)
