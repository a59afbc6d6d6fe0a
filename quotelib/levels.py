"""What does each RAID level ask and give: the level table, the one place that knows them.

A row is enough to sell a level. Common practice, no source, but for the capacity arithmetic
(data members), which is that of the published RAID papers.
"""

from dataclasses import dataclass
from functools import cache

from quotelib.text import plural, spelled

NO_ARRAY = "none"


@dataclass(frozen=True, slots=True)
class Level:
    """One RAID level, or no array at all.

    Parameters
    ----------
    name : str
        ``0`` to ``60``, or ``none``.
    min_per_span, max_per_span : int
        Fewest and most members a span takes; None: as many as one likes.
    multiple : int
        Members of a span come in multiples of this.
    parity_per_span : int
        Members' worth of parity in a span.
    copies : int
        How many copies of the data there are.
    spanned : bool
        Whether it takes two or more spans.
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
    words: str

    @property
    def label(self) -> str:
        """Name it in words."""
        return f"RAID {self.name}" if self.is_array else "no array"

    @property
    def is_array(self) -> bool:
        """Tell an array from drives passed through."""
        return self.name != NO_ARRAY

    @property
    def survives(self) -> int:
        """Count the drive failures it survives, whichever drives fail."""
        return self.parity_per_span + self.copies - 1

    @property
    def survives_words(self) -> str:
        """Say which failures it survives."""
        if not self.survives:
            return "If any one drive fails, data is lost."
        any_of = f"{spelled(self.survives)} {plural(self.survives, 'drive')}"
        text = f"It survives the failure of any {any_of}."
        if self.spanned:
            lost = spelled(self.survives + 1)
            text += f" It may survive more, as long as no span loses {lost} drives."
        elif self.copies == 2 and self.max_per_span is None:
            text += " It may survive more, as long as no pair loses both of its drives."
        return text

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
            return f"two or more equal spans of {spelled(self.min_per_span)} or more members"
        if self.max_per_span == self.min_per_span:
            return f"exactly {self.min_per_span} members"
        many = {1: "", 2: ", an even number"}.get(self.multiple, f", a multiple of {self.multiple}")
        return f"{self.min_per_span} or more members{many}"

    def nearest_members(self, members: int, spans: int) -> int:
        """Give the nearest member count it takes, upwards first; in so many spans where it can."""
        wanted = [spans] if self.spanned and spans > 1 else []

        def possible(number: int) -> bool:
            return any(self.takes(number, s) for s in wanted or self.spans_for(number))

        upwards = range(members, members + max(spans, 2) * self.min_per_span + self.multiple)
        downwards = range(members - 1, 0, -1)
        return next(filter(possible, (*upwards, *downwards)), self.min_per_span)


_TABLE = (
    Level("0", 2, None, 1, 0, 1, False, "Data is spread over all drives, without redundancy."),
    Level("1", 2, 2, 1, 0, 2, False, "Both drives hold the same data."),
    Level("5", 3, None, 1, 1, 1, False, "One drive's worth of parity is spread over all."),
    Level("6", 4, None, 1, 2, 1, False, "Two drives' worth of parity are spread over all."),
    Level("10", 4, None, 2, 0, 2, False, "Pairs of drives hold the same data."),
    Level("50", 3, None, 1, 1, 1, True, "Each span has one drive's worth of parity."),
    Level("60", 4, None, 1, 2, 1, True, "Each span has two drives' worth of parity."),
    Level(NO_ARRAY, 1, None, 1, 0, 1, False, "Each drive is handed to the system by itself."),
)

LEVELS = {level.name: level for level in _TABLE}
"""Every level by name, in the order of the table, which also breaks ties in the choice."""


def array_levels() -> tuple[str, ...]:
    """List the levels that make an array."""
    return tuple(name for name, level in LEVELS.items() if level.is_array)


@cache
def place(name: str) -> int:
    """Give a level's place in the table."""
    return list(LEVELS).index(name)


@cache
def redundant_levels() -> tuple[str, ...]:
    """List the levels without spans that survive a failure."""
    return tuple(n for n, level in LEVELS.items() if level.survives and not level.spanned)
