"""How is the page of a quote written as a PDF: printed by a browser, with the quote's own date."""

import atexit
import datetime as dt
import re
import tempfile
import threading
from pathlib import Path

from quotelib.documents.exports.browser import Browser, removed
from quotelib.errors import NotExported

_WHEN = re.compile(rb"/(CreationDate|ModDate) \(D:\d{14}[+-]\d\d'\d\d'\)")


class _Press:
    """The one browser of this process, begun when it is first needed, and anew when it is gone."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._browser: Browser | None = None
        self._own: Path | None = None

    def printed(self, page: str, scratch: Path | None) -> bytes:
        with self._lock:
            if self._browser is not None:
                try:
                    return self._browser.pdf(page)
                except NotExported:  # it may have been gone before it had this page
                    self._end()
            try:
                if scratch is None:
                    scratch = self._own = Path(tempfile.mkdtemp(prefix="quotelib-"))
                self._browser = Browser(scratch)
                return self._browser.pdf(page)
            except BaseException:
                self._end()
                raise

    def end(self) -> None:
        with self._lock:
            self._end()

    def _end(self) -> None:
        if self._browser is not None:
            self._browser.close()
        if self._own is not None:
            removed(self._own)
        self._browser = self._own = None


_press = _Press()
atexit.register(_press.end)


def printed(page: str, date: dt.date, scratch: Path | None = None) -> bytes:
    """Print a page on A4, or as its own style has it; the same page gives the same bytes.

    They are the same with the same browser and the same fonts. The browser goes on until the
    process ends, or `end`.

    Parameters
    ----------
    page : str
        Self-contained HTML. Its title and its language become the document's.
    date : date
        What the document says of its own making, in place of the clock.
    scratch : Path, optional
        Folder for what a browser writes while it runs; one of its own by default.

    Raises
    ------
    InputError
        Where there is no browser.
    NotExported
        Where it does not start, or fails twice.
    """
    when = date.strftime("D:%Y%m%d000000+00'00'").encode()
    return _WHEN.sub(rb"/\1 (" + when + rb")", _press.printed(page, scratch))


end = _press.end
