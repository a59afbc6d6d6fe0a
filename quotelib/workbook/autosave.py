"""How is nothing typed lost: the enquiry is kept in a file beside the notebook as it grows."""

import datetime as dt
import json
import secrets
from dataclasses import asdict, dataclass
from pathlib import Path

from quotelib.documents.batch.files import write_aside
from quotelib.enquiry.columns import COLUMNS

FILE_NAME = "quotelib_typed.json"
_MOST = 8


@dataclass(frozen=True, slots=True)
class Typed:
    """What somebody had typed: in which opening of the page, when (ISO 8601 with a zone), what."""

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
    """Keeps in a folder what is typed on this page, and finds what was typed on earlier ones."""

    def __init__(self, folder: Path) -> None:
        self.path = folder / FILE_NAME
        self.session = secrets.token_hex(6)
        self._earlier = [t for t in self._read() if any(t.cells.values())]

    @property
    def earlier(self) -> list[Typed]:
        """List what can be restored, the latest first."""
        return sorted(self._earlier, key=lambda t: t.saved, reverse=True)

    def keep(self, cells: dict[str, str]) -> str:
        """Keep what stands on the page now; say why it cannot be kept, where it cannot."""
        if not any(cells.values()):
            return ""
        now = dt.datetime.now(dt.UTC).isoformat(timespec="milliseconds")
        others = [t for t in self._read() if t.session != self.session]
        kept = [*others, Typed(self.session, now, cells)][-_MOST:]
        data = json.dumps([asdict(typed) for typed in kept], indent=1, ensure_ascii=False)
        try:
            write_aside(self.path, f"{data}\n")
        except OSError as error:
            return f"What is typed cannot be kept in {self.path.parent}: {error.strerror or error}."
        return ""

    def found_in_browser(self, text: str) -> None:
        """Take what the browser had kept of an earlier page, where it is the later one."""
        try:
            found = _typed(json.loads(text))
        except ValueError:
            return
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
            data = json.loads(self.path.read_text("utf-8"))
        except (OSError, ValueError):
            return []
        found = map(_typed, data if isinstance(data, list) else [])
        return [typed for typed in found if typed is not None]


def _typed(data: object) -> Typed | None:
    """Read one entry; anything that is not one is as good as none."""
    if not isinstance(data, dict) or not isinstance(data.get("cells"), dict):
        return None
    cells = {name: str(data["cells"][name]) for name in COLUMNS if name in data["cells"]}
    return Typed(str(data.get("session", "")), str(data.get("saved", "")), cells)
