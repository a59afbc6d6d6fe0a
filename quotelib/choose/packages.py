"""Which processors and memory go in for the cores and gigabytes that an enquiry asks for."""

from collections.abc import Iterator
from typing import NamedTuple

from quotelib.catalogue.parts import Chassis, Option
from quotelib.catalogue.price_list import PriceList
from quotelib.enquiry.enquiry import Enquiry


class Package(NamedTuple):
    """Equal processors and equal memory modules added to a server, each with its number."""

    processors: tuple[Option, int] | None = None
    memory: tuple[Option, int] | None = None

    @property
    def pieces(self) -> tuple[tuple[Option, int], ...]:
        """Give what is added."""
        return tuple(filter(None, self))

    @property
    def key(self) -> tuple[tuple[str, int], ...]:
        """Rank it where all else is equal: by sku, then by number, processors first."""
        return tuple((piece[0].sku, piece[1]) if piece else ("", 0) for piece in self)


def packages(price_list: PriceList, base: Enquiry, chassis: Chassis) -> Iterator[Package]:
    """List what can be added to a chassis so that a server has the cores and memory asked for.

    Nothing is added of a kind that the enquiry names itself, or of which it asks for nothing, or
    where the chassis does not state its room. Of equal modules only the fewest that do are listed:
    more of them cost, draw and weigh at least as much and serve no better.
    """
    named = [price_list.options[sku] for sku in base.value("options") or ()]
    given = sum(option.takes == "processor socket" for option in named)
    for processors in _choices(price_list, base, chassis, named, "processor socket", 1):
        number = processors[1] if processors else given
        for memory in _choices(price_list, base, chassis, named, "memory slot", max(number, 1)):
            yield Package(processors, memory)


_SERVES = {"processor socket": "cores", "memory slot": "memory_gb"}


def _choices(
    price_list: PriceList,
    base: Enquiry,
    chassis: Chassis,
    named: list[Option],
    place: str,
    multiple: int,
) -> Iterator[tuple[Option, int] | None]:
    """List equal options for one kind of place; None where nothing is to be added."""
    column = _SERVES[place]
    asked = base.value(column)
    if not asked or any(option.takes == place for option in named):
        yield None
        return
    room = {str(kind): number for kind, number in chassis.room.items()}[place] or 0
    for option in price_list.options.values():
        each = int(getattr(option, column))
        if option.takes != place or not each or not base.sold(option):
            continue
        if option.fits and chassis.sku not in option.fits:
            continue
        fewest = -(-asked // each)
        fewest = -(-fewest // multiple) * multiple
        if place == "processor socket":
            # More of them may open slots, so that each number is tried.
            yield from ((option, number) for number in range(fewest, room + 1))
        elif fewest <= room:
            yield option, fewest
