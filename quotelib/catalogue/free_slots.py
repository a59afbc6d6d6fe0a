"""How does a cell say which slots have to stay free: ``2``, or ``1:full:16;1``."""

from dataclasses import dataclass
from typing import Any, Literal

from pydantic import BeforeValidator

from quotelib.catalogue import cells

_RIGHT = "give how many, and where it matters height and lanes behind ':', such as 2 or 1:full:16"
_COUNT = cells.whole(0, 256, f"{_RIGHT}; at most 256")
_MOST_KINDS = 16
_KIND = (cells.one_of("low", "full"), cells.LANES)


@dataclass(frozen=True, slots=True)
class SlotsWanted:
    """Some slots that have to stay free.

    Parameters
    ----------
    count : int
    height : str
        ``low`` or ``full``; a full-height slot also serves for a low one.
    lanes : int
        Length at least.
    """

    count: int
    height: Literal["low", "full"] = "low"
    lanes: int = 0

    def __str__(self) -> str:
        """Write it as a cell does."""
        if not self.lanes and self.height == "low":
            return str(self.count)
        return f"{self.count}:{self.height}{f':{self.lanes}' if self.lanes else ''}"

    @property
    def kind(self) -> str:
        """Say of which kind: `` of full height, 16 lanes long``; blank where any will do."""
        height = " of full height" if self.height == "full" else ""
        long = f"{self.lanes} lanes long" if self.lanes else ""
        return f"{height}{', ' if height and long else ' ' if long else ''}{long}"


def slots_wanted(cell: Any) -> tuple[SlotsWanted, ...]:
    """Read a ``;``-separated list of how many slots have to stay free, of which kinds.

    Raises
    ------
    PydanticCustomError
        With why it is wrong and what would be right.
    """
    wanted = []
    items = cells.seen(cell).split(";")
    if len(items) > _MOST_KINDS:
        raise cells.wrong(f"lists {len(items)} kinds", f"list at most {_MOST_KINDS}")
    for item in items:
        count, *more = (part.strip() for part in item.split(":"))
        if len(more) > 2:
            raise cells.wrong("has more than three parts in one item", _RIGHT)
        kind = (cells.apply(read, part) for read, part in zip(_KIND, more, strict=False))
        wanted.append(SlotsWanted(cells.apply(_COUNT, count), *kind))
    return tuple(wanted)


FREE_SLOTS = BeforeValidator(slots_wanted)
