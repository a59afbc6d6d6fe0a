"""What is not in stock, over the whole of a quote: its items share what there is."""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import NamedTuple

from quotelib.build.build import Build
from quotelib.catalogue.parts import Part


class Missing(NamedTuple):
    """How many days an item waits for parts, and for which; 0 and none: all is in stock."""

    lead_days: int
    parts: tuple[Part, ...]


def of_build(build: Build, builds: int) -> dict[Part, int]:
    """Count what has to be delivered for some equal servers."""
    return {piece.part: piece.count * builds for piece in build.lead_pieces}


def of_parts(parts: Iterable[Part]) -> dict[Part, int]:
    """Count loose parts, each as often as it is sold."""
    return dict(Counter(parts))


def missing(items: Sequence[Mapping[Part, int]]) -> Iterator[Missing]:
    """Say of each item what it waits for, where those before it take from the stock first.

    The last that takes a part waits for it wherever the stock does not cover them all, so that
    the longest wait is that of the whole quote.
    """
    taken: Counter[str] = Counter()
    for item in items:
        late = []
        for part, number in item.items():
            taken[part.sku] += number
            if taken[part.sku] > part.stock:
                late.append(part)
        yield Missing(max((part.lead_days for part in late), default=0), tuple(late))
