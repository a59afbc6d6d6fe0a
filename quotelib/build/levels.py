"""What does each RAID level ask and give: the level table.

Common practice, no source, but for the capacity arithmetic (data members), which is that of
the published RAID papers.
"""

from dataclasses import dataclass
from types import MappingProxyType

NO_ARRAY = "none"


@dataclass(frozen=True, slots=True)
class Level:
    """One RAID level, or no array at all.

    Parameters
    ----------
    name : str
        ``0`` to ``60``, or ``none``.
    min_per_span : int
        Fewest members a span takes.
    max_per_span : int or None
        Most, where the level sets a limit.
    multiple : int
        Members of a span come in multiples of this.
    parity_per_span : int
        Members' worth of parity in a span.
    copies : int
        How many copies of the data there are.
    spanned : bool
        Whether it takes two or more spans.
    survives : int
        Drive failures it survives, whichever drives fail.
    words : str
        How the redundancy works, for a customer.
    """

    name: str
    min_per_span: int
    max_per_span: int | None
    multiple: int
    parity_per_span: int
    copies: int
    spanned: bool
    survives: int
    words: str

    @property
    def label(self) -> str:
        """Name it in words."""
        return "no array" if self.name == NO_ARRAY else f"RAID {self.name}"

    @property
    def is_array(self) -> bool:
        """Tell an array from drives passed through."""
        return self.name != NO_ARRAY

    def data_members(self, members: int, spans: int) -> int:
        """Count the members' worth of data, given members in all and spans."""
        return members // self.copies - spans * self.parity_per_span

    def spans_for(self, members: int) -> list[int]:
        """List the numbers of spans into which this many members divide."""
        if not self.spanned:
            return [1] if self.takes(members, 1) else []
        most = members // self.min_per_span
        return [s for s in range(2, most + 1) if self.takes(members, s)]

    def takes(self, members: int, spans: int) -> bool:
        """Tell whether the level can be made of these members and spans."""
        if self.spanned != (spans > 1) or spans < 1 or members % spans:
            return False
        per_span = members // spans
        if self.max_per_span is not None and per_span > self.max_per_span:
            return False
        return per_span >= self.min_per_span and per_span % self.multiple == 0

    @property
    def takes_words(self) -> str:
        """Say which member counts it takes."""
        if self.spanned:
            each = {3: "three", 4: "four"}[self.min_per_span]
            return f"two or more equal spans of {each} or more members"
        if self.max_per_span == self.min_per_span:
            return f"exactly {self.min_per_span} members"
        even = ", an even number" if self.multiple == 2 else ""
        return f"{self.min_per_span} or more members{even}"


_TABLE = (
    Level("0", 2, None, 1, 0, 1, False, 0, "Data is spread over all drives, without redundancy."),
    Level("1", 2, 2, 1, 0, 2, False, 1, "Both drives hold the same data."),
    Level("5", 3, None, 1, 1, 1, False, 1, "One drive's worth of parity is spread over all."),
    Level("6", 4, None, 1, 2, 1, False, 2, "Two drives' worth of parity are spread over all."),
    Level("10", 4, None, 2, 0, 2, False, 1, "Pairs of drives hold the same data."),
    Level("50", 3, None, 1, 1, 1, True, 1, "Each span has one drive's worth of parity."),
    Level("60", 4, None, 1, 2, 1, True, 2, "Each span has two drives' worth of parity."),
    Level(NO_ARRAY, 1, None, 1, 0, 1, False, 0, "Each drive is handed to the system by itself."),
)

LEVELS = MappingProxyType({level.name: level for level in _TABLE})
"""Every level by name, in the order of the table, which also breaks ties in the choice."""

LEVEL_ORDER = MappingProxyType({name: place for place, name in enumerate(LEVELS)})
