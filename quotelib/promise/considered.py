"""Of how many builds was one chosen: the count, the three that stand out, what no other beats."""

from collections.abc import Iterator
from typing import Literal

from quotelib.facts import Exact, Frozen
from quotelib.promise.compared import Alternative, ComparedBuild

Standing = Literal["least_cost", "least_risk", "fastest", "most_capacity"]
THREE = ("least_cost", "least_risk", "fastest")


class Beside(ComparedBuild):
    """One of the three side by side: the choice, the least risk, the fastest.

    The choice stands for whatever nothing else is clearly better at.

    Parameters
    ----------
    gives
        What it gives for its difference, in words.
    """

    kinds: tuple[Standing, ...]
    gives: str


class Point(Frozen):
    """A build that no other one beats in price, operations, chance of loss and capacity at once.

    Parameters
    ----------
    kinds
        Which of the three it is; empty: none of them.
    level
        Of its arrays, as people call it.
    words
        The build in one line.
    net
        Of all builds alike.
    """

    kinds: tuple[Standing, ...]
    level: str
    words: str
    pins: dict[str, str]
    net: Exact
    usable_bytes: int
    host_iops: float | None
    loss_pct: float | None


class Ruled(Frozen):
    """What one demand alone takes away.

    Parameters
    ----------
    column, wish
        Of the enquiry, and the demand in words.
    alone
        Builds that meet every demand but this one.
    """

    column: str
    wish: str
    alone: int


class Considered(Frozen):
    """What a server was chosen from; of one with several arrays only the count.

    Parameters
    ----------
    builds
        How many alike, of which prices are the net.
    words
        Of how many builds it was chosen, as a sentence.
    within
        Up to which price the other two and the points were looked for, in words.
    three
        The choice, then the least risk and the fastest where they are other builds.
    three_words
        Where the choice stands for one of the others too, why; blank: it does not.
    points
        Builds that no other one beats, from the cheapest on; the three are among them.
    points_all
        How many there are; of very many only some are shown.
    points_words
        What they are, and by which rule some are shown.
    others_words
        What else was looked for beside the three.
    ruled
        What each demand alone takes away, in the order of the columns.
    """

    currency: str
    builds: int
    possible: int
    fit: int
    meet: int
    words: str
    within: str = ""
    three: tuple[Beside, ...] = ()
    three_words: str = ""
    points: tuple[Point, ...] = ()
    points_all: int = 0
    points_words: str = ""
    others_words: str = ""
    ruled: tuple[Ruled, ...] = ()

    def others(self, alternatives: tuple[Alternative, ...]) -> Iterator[Alternative]:
        """Give other builds without those that stand among the three."""
        shown = [one.pins for one in self.three]
        yield from (other for other in alternatives if other.pins not in shown)
