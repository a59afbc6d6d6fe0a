"""What is a row of a price list file: one frozen model, one field a column."""

from collections.abc import Iterator, Mapping
from typing import ClassVar

from quotelib.facts import Frozen

Fault = tuple[str, str, str]
"""Column, why it is wrong, what would be right."""


class Row(Frozen):
    """One row of one file."""

    file_name: ClassVar[str] = ""
    key: ClassVar[tuple[str, ...]] = ("sku",)
    optional: ClassVar[bool] = False
    """Whether a price list may do without its file."""

    @classmethod
    def impossible(cls, cells: Mapping[str, str]) -> Iterator[Fault]:
        """Find what each cell allows but the row as a whole does not.

        The cells are the row's text, whether or not each of them could be read.
        """
        yield from ()
