"""Where can one start from: the proposal and what else would meet the enquiry, as buttons."""

from collections.abc import Callable, Iterator, Mapping
from functools import partial

from quotelib.promise import pins
from quotelib.promise.record import QuoteRecord
from quotelib.text import both, money, signed
from quotelib.workbook.widgets import REST, box, button, caption, html, show

_MOST = 12


class Starts:
    """Buttons that pin a build, to change it from there; `use` is told its pins."""

    def __init__(self, use: Callable[[Mapping[str, str]], None]) -> None:
        self._use = use
        self._pins: list[Mapping[str, str]] = []
        tip = "Pin this build, to change it from there"
        self._buttons = [button("", tip, partial(self.start_from, n)) for n in range(_MOST)]
        heading = html("<h3>Start from one of these</h3>")
        self.block = box([heading, box(self._buttons, "ql-starts")], "ql-stack", REST)
        self.offer(None)

    def offer(self, record: QuoteRecord | None) -> None:
        """Offer the builds of a record; without one nothing is offered."""
        offered = [] if record is None else list(_offered(record))[:_MOST]
        self._pins = [pins for pins, _ in offered]
        caption(self._buttons, [words for _, words in offered])
        show(self.block, bool(offered))

    def start_from(self, place: int) -> None:
        """Take a build on offer as the pins."""
        self._use(self._pins[place])


def pins_of(record: QuoteRecord) -> dict[str, str]:
    """Give the pins that lead to the build of a record."""
    return {pin: cell for server in record.servers for pin, cell in pins.pins_of(server).items()}


def usable_bytes(record: QuoteRecord) -> int:
    """Add up what all arrays hold."""
    return sum(a.capacity.usable_bytes for server in record.servers for a in server.arrays)


def _offered(record: QuoteRecord) -> Iterator[tuple[Mapping[str, str], str]]:
    words = both(array.words for server in record.servers for array in server.arrays)
    net = money(record.totals.net, record.currency)
    yield pins_of(record), f"The proposal: {words}, {net}"
    for other in (other for server in record.servers for other in server.alternatives):
        net = money(other.net, record.currency)
        yield other.pins, f"{other.title}: {other.words}, {net} ({signed(other.net_difference)})"
