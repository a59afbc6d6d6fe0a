"""How is nothing typed lost: the enquiry is kept in a file beside the notebook as it grows."""

import datetime as dt
import json
import secrets
from dataclasses import dataclass
from pathlib import Path

from quotelib.documents.files import write_aside
from quotelib.quote.enquiry import COLUMNS

FILE_NAME = "quotelib_typed.json"
_MOST = 8


@dataclass(frozen=True, slots=True)
class Typed:
    """What somebody had typed.

    Parameters
    ----------
    session : str
        Which opening of the page it was.
    saved : str
        When, in ISO 8601 with a zone.
    cells : dict of str to str
        The fields by column, as they stood.
    """

    session: str
    saved: str
    cells: dict[str, str]

    @property
    def words(self) -> str:
        """Say when it was and for whom."""
        try:
            when = f"{dt.datetime.fromisoformat(self.saved).astimezone():%d %B %Y, %H:%M:%S}"
        except ValueError:
            when = "an unknown time"
        who = self.cells.get("customer", "").strip() or "no customer yet"
        return f"{when}: {who}"


class Autosave:
    """Keeps what is typed on this page and finds what was typed on earlier ones.

    Parameters
    ----------
    folder : Path
        Holds the file.
    """

    def __init__(self, folder: Path) -> None:
        self.path = folder / FILE_NAME
        self.session = secrets.token_hex(6)
        self._earlier = [t for t in self._read() if any(t.cells.values())]

    @property
    def earlier(self) -> list[Typed]:
        """List what can be restored, the latest first."""
        return sorted(self._earlier, key=lambda t: t.saved, reverse=True)

    def save(self, cells: dict[str, str]) -> None:
        """Keep what stands on the page now.

        Raises
        ------
        OSError
            Where the folder cannot be written.
        """
        now = dt.datetime.now(dt.UTC).isoformat(timespec="milliseconds")
        others = [t for t in self._read() if t.session != self.session]
        kept = [*others, Typed(self.session, now, cells)][-_MOST:]
        data = [{"session": t.session, "saved": t.saved, "cells": t.cells} for t in kept]
        write_aside(self.path, json.dumps(data, indent=1, ensure_ascii=False) + "\n")

    def found_in_browser(self, text: str) -> None:
        """Take what the browser had kept of an earlier page, where it is the later one."""
        found = _typed(_loads(text))
        if found is None or found.session == self.session or not any(found.cells.values()):
            return
        mine = next((t for t in self._earlier if t.session == found.session), None)
        if mine is not None:
            if mine.saved >= found.saved:
                return
            # The browser names only the fields touched on that page.
            found = Typed(found.session, found.saved, {**mine.cells, **found.cells})
            self._earlier.remove(mine)
        self._earlier.append(found)

    def _read(self) -> list[Typed]:
        try:
            data = _loads(self.path.read_text("utf-8"))
        except (OSError, UnicodeDecodeError):
            return []
        found = [_typed(item) for item in data] if isinstance(data, list) else []
        return [t for t in found if t is not None]


def _loads(text: str) -> object:
    try:
        return json.loads(text)
    except ValueError:
        return None


def _typed(data: object) -> Typed | None:
    """Read one entry; anything that is not one is as good as none."""
    if not isinstance(data, dict) or not isinstance(data.get("cells"), dict):
        return None
    cells = {name: str(data["cells"][name]) for name in COLUMNS if name in data["cells"]}
    return Typed(str(data.get("session", "")), str(data.get("saved", "")), cells)
