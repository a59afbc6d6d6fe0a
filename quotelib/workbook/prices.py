"""From which price list does a page quote: one value, and a word where its folder has changed."""

from collections.abc import Callable
from pathlib import Path

from markupsafe import escape

from quotelib import resources
from quotelib.catalogue.price_list import fingerprint, load_price_list, stamp
from quotelib.workbook.widgets import box, button, html, show, warning

_CHANGED = (
    "The price list on disk has changed since this page was opened. This page still quotes from "
    "the one it was opened with ({})."
)


class Prices:
    """The price list a page was opened with, and the folder it came from; the starter's if blank.

    `again` is called when somebody asks to read it again. Raises InputError with every problem.
    """

    def __init__(self, folder: str, again: Callable[[], object]) -> None:
        self.folder = Path(folder).resolve() if folder else resources.starter_prices()
        self.starter = not folder
        self._told = html()
        tip = "Quote from the price list as it is on disk now; what is typed stays"
        read = button("Read the price list again", tip, again)
        self.notice = box([self._told, read], "ql-edited")
        self.read()

    def read(self) -> None:
        """Read the folder; where that raises InputError, all stays as it was."""
        now = stamp(self.folder)
        self.list = load_price_list(self.folder)
        self._stamp = now
        self.words = ""
        self.say("")

    def look(self) -> str:
        """See whether the folder still holds what the page quotes from; give words if not."""
        now = stamp(self.folder)
        if now != self._stamp:
            self._stamp = now
            same = fingerprint(self.folder) == self.list.fingerprint
            self.words = "" if same else _CHANGED.format(self.list.fingerprint[:8])
            self.say("")
        return self.words

    def say(self, more: str) -> None:
        """Show the words, and what came of reading the folder again."""
        said = f"<p>{escape(self.words)}</p>{warning(more)}"
        self._told.value = f'<div role="status">{said}</div>'
        show(self.notice, bool(self.words))
