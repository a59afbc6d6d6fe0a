"""What did a run of a batch give, and what should somebody know of it."""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from quotelib.catalogue.price_list import PriceList
from quotelib.text import count, mark

Row = dict[str, str]


@dataclass(frozen=True, slots=True)
class BatchResult:
    """What a batch gave: the rows of ``summary.csv`` in input order, and where it was written.

    Parameters
    ----------
    price_list
        What every price is from.
    prices_changed : bool
        Whether its folder holds another one by now.
    moved_to, moved
        Where files of the batch before were moved to, and which.
    beside
        Documents in the folder that no batch wrote.
    debris : int
        Files of a run that was ended, and that are gone now.
    open_end
        What is said of enquiries whose last line has no end; blank: it has one.
    given
        What was given into a register; blank: there is none.
    """

    folder: Path
    rows: tuple[Row, ...]
    price_list: PriceList
    prices_changed: bool
    moved_to: str
    moved: tuple[str, ...]
    beside: tuple[str, ...]
    debris: int
    open_end: str
    given: str = ""

    def count(self, outcome: str) -> int:
        """Count the quotes of an outcome, of however many rows."""
        return self.counts[outcome]

    @property
    def counts(self) -> Counter[str]:
        """Count the quotes by outcome."""
        return counts_of(self.rows)

    @property
    def told(self) -> list[Row]:
        """Give the first row of each quote, and each that was refused or could not be read."""
        firsts = {id(row) for row in _firsts(self.rows)}
        fine = {"quoted", "held"}
        return [r for r in self.rows if id(r) in firsts or r["outcome"] not in fine]

    @property
    def all_answered(self) -> bool:
        """Tell whether every enquiry was quoted or held."""
        return all(row["outcome"] in {"quoted", "held"} for row in self.rows)

    @property
    def notices(self) -> list[str]:
        """Say what somebody should know of the folder, and of that of the price list."""
        said = list(filter(None, (self.open_end, self.given)))
        if self.prices_changed:
            said.append(
                "The price list on disk has changed since this run began. All prices are those of"
                f" the list as it was read then ({mark(self.price_list.fingerprint)})."
            )
        if self.debris:
            gone = count(self.debris, "unfinished file")
            said.append(f"A run before this one was ended: {gone} of it removed.")
        if self.moved:
            there = count(len(self.moved), "file")
            said.append(
                f"Of the batch before, not of this one: {there}, moved to {self.moved_to}"
                f" ({self.moved[0]}{', ...' if len(self.moved) > 1 else ''})."
            )
        if self.beside:
            there = count(len(self.beside), "document")
            more = ", ..." if len(self.beside) > 1 else ""
            said.append(f"Also there, and of no batch: {there}, {self.beside[0]}{more}")
        return said


def _firsts(rows: Sequence[Row]) -> Iterator[Row]:
    before = ""
    for row in rows:
        if not before or row["enquiry_id"] != before:
            yield row
        before = row["enquiry_id"]


def counts_of(rows: Sequence[Row]) -> Counter[str]:
    """Count quotes by outcome, of however many rows each."""
    return Counter(row["outcome"] for row in _firsts(rows))
