"""What has changed between two price lists."""

from dataclasses import dataclass
from decimal import Decimal

from quotelib.catalogue.parts import Part
from quotelib.catalogue.price_list import PriceList
from quotelib.catalogue.work import Service
from quotelib.review.items import sold
from quotelib.text import signed
from quotelib.units import round_half_away


@dataclass(frozen=True, slots=True)
class Change:
    """What became of one price or cost; None stands for a list that has it not."""

    file: str
    sku: str
    old: Part | Service | None
    new: Part | Service | None

    @property
    def words(self) -> str:
        """Say what happened."""
        if self.old is None:
            return "new"
        if self.new is None:
            return "gone"
        before, now = self.old.unit_price, self.new.unit_price
        if before == now:
            return "only the cost has moved: is the price stale?"
        if not before:
            return "had no price"
        return f"{signed(round_half_away(100 * (now - before) / before, 1))} %"


def _by_place(price_list: PriceList) -> dict[tuple[str, str], Part | Service]:
    return {(thing.file_name, thing.sku): thing for thing in sold(price_list)}


def changes(old: PriceList, new: PriceList) -> list[Change]:
    """Find what has another price or cost, or stands on one of two price lists only."""
    before, after = _by_place(old), _by_place(new)
    both = (Change(*key, before.get(key), after.get(key)) for key in {**before, **after})
    return [change for change in both if _money(change.old) != _money(change.new)]


def _money(thing: Part | Service | None) -> tuple[Decimal, Decimal] | None:
    return None if thing is None else (thing.unit_price, thing.unit_cost)


def sums(old: PriceList, new: PriceList) -> dict[str, tuple[Decimal, Decimal]]:
    """Add up, by file, the list prices before and now of the parts on both lists, one of each."""
    before = _by_place(old)
    found: dict[str, tuple[Decimal, Decimal]] = {}
    for key, now in _by_place(new).items():
        was = before.get(key)
        if was is not None and isinstance(now, Part):
            so_far = found.get(now.file_name, (Decimal(0), Decimal(0)))
            found[now.file_name] = (so_far[0] + was.unit_price, so_far[1] + now.unit_price)
    return found
