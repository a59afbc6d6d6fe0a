"""Which rows a quote has, as a list: each can be edited or taken out, and others added."""

from collections.abc import Callable, Mapping
from functools import partial

from quotelib.workbook.order import Order, Row
from quotelib.workbook.widgets import Lines, box, button, caption, html, show

_MOST_WORDS = 5


class Rows:
    """The list of rows, which is there as soon as there are two, and buttons to add others.

    `told` is told in words what was done.
    """

    def __init__(self, order: Order, told: Callable[[str], None]) -> None:
        self._order, self._told = order, told
        self.list = Lines(self._done)
        add: dict[str, tuple[str, Callable[[], None]]] = {
            "Another array in this server": ("Such as a mirror to boot from", order.add_array),
            "Another server": ("Of another kind, in the same quote", order.add_server),
            "Loose parts": ("Parts and services of no server", partial(order.add, "parts")),
            "A line of your own": ("Anything agreed, at a price", partial(order.add, "line")),
        }
        buttons = [button(t, tip, partial(self._add, t, done)) for t, (tip, done) in add.items()]
        self.back = button("", "As it was", partial(self._add, "Put back", order.put_back))
        self.add = box(
            [html("<h3>What else is in this quote</h3>"), box([*buttons, self.back], "ql-row")],
            "ql-stack",
        )
        self.draw({})

    def draw(self, marks: Mapping[str, str]) -> None:
        """Draw the list; `marks` says what is the matter with a row, by its key."""
        order = self._order
        self.list.rows = [
            {
                "title": order.title(row),
                "words": self._words(row),
                "mark": marks.get(row.key, ""),
                "current": row is order.at,
            }
            for row in order.rows
        ]
        show(self.list, len(order.rows) > 1)
        caption([self.back], [f"Put back: {order.title(out[1])}"] if (out := order.out) else [])

    def _words(self, row: Row) -> str:
        words = list(self._order.words(row))
        more = len(words) - _MOST_WORDS
        return "; ".join(words[:_MOST_WORDS]) + (f" and {more} more" if more > 0 else "")

    def _add(self, title: str, done: Callable[[], None]) -> None:
        done()
        self._told(f"{title}: the fields are for it now.")

    def _done(self, what: str, place: int) -> None:
        row = self._order.rows[place]
        title = self._order.title(row)
        if what == "Edit":
            self._order.at = row
            self._told(f"The fields are for this now: {title}.")
        else:
            self._order.take_out(row)
            self._told(f"Taken out: {title}.")
