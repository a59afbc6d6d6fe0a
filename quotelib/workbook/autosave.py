"""How is nothing typed lost: the enquiry is kept in a file beside the notebook as it grows."""

import datetime as dt
import json
import os
import secrets
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass, field, replace
from pathlib import Path

from quotelib.bounded import read_text
from quotelib.documents.batch.files import write_aside
from quotelib.enquiry.columns import COLUMNS
from quotelib.enquiry.load import name_of
from quotelib.foreign import read_json

Rows = dict[str, dict[str, str]]
FILE_NAME = "quotelib_typed.json"
_MOST = 8


@dataclass(frozen=True, slots=True)
class Typed:
    """What somebody had typed: in which opening of the page, when (ISO 8601 with a zone), what.

    The rows stand by their keys. Beside them the rows of builds that were kept to compare.
    """

    session: str
    saved: str
    rows: Rows
    kept: list[list[dict[str, str]]] = field(default_factory=list)

    @property
    def words(self) -> str:
        """Say when it was and for whom."""
        try:
            when = f"{dt.datetime.fromisoformat(self.saved).astimezone():%d %B %Y, %H:%M:%S}"
        except ValueError:
            when = "an unknown time"
        customers = (cells.get("customer", "").strip() for cells in self.rows.values())
        return f"{when}: {next(filter(None, customers), 'no customer yet')}"


class Autosave:
    """Keeps in a folder what is typed on this page, and finds what was typed on earlier ones."""

    def __init__(self, folder: Path) -> None:
        self.path = folder / FILE_NAME
        self.session = secrets.token_hex(6)
        self._earlier = [t for t in self._read() if _any(t.rows)]

    @property
    def earlier(self) -> list[Typed]:
        """List what can be restored, the latest first."""
        return sorted(self._earlier, key=lambda t: t.saved, reverse=True)

    def keep(
        self,
        rows: Rows,
        kept: Sequence[Sequence[Mapping[str, str]]] = (),
    ) -> str:
        """Keep what stands on the page now; say why it cannot be kept, where it cannot."""
        if not _any(rows):
            return ""
        if self.path.exists() and not os.access(self.path, os.R_OK):
            # What somebody else has typed must not be lost either.
            return f"What is typed cannot be kept: {self.path} is another user's."
        now = dt.datetime.now(dt.UTC).isoformat(timespec="milliseconds")
        others = [t for t in self._read() if t.session != self.session]
        builds = [[dict(row) for row in build] for build in kept]
        mine = Typed(self.session, now, rows, builds)
        data = json.dumps(
            [asdict(typed) for typed in [*others, mine][-_MOST:]], indent=1, ensure_ascii=False
        )
        try:
            write_aside(self.path, f"{data}\n")
        except OSError as error:
            return f"What is typed cannot be kept in {self.path.parent}: {error.strerror or error}."
        return ""

    def found_in_browser(self, text: str) -> None:
        """Take what the browser had kept of an earlier page, where it is the later one."""
        try:
            found = _typed(read_json(text))
        except ValueError:
            return
        if found is None or found.session == self.session or not _any(found.rows):
            return
        mine = next((t for t in self._earlier if t.session == found.session), None)
        if mine is not None:
            if mine.saved >= found.saved:
                return
            # The browser names only the fields touched on that page, also of rows taken out since.
            rows = {key: _later(cells, found.rows.get(key, {})) for key, cells in mine.rows.items()}
            found = replace(mine, saved=found.saved, rows=rows)
            self._earlier.remove(mine)
        self._earlier.append(found)

    def _read(self) -> list[Typed]:
        try:
            data = read_json(read_text(self.path))
        except (OSError, ValueError):
            return []
        found = map(_typed, data if isinstance(data, list) else [])
        return [typed for typed in found if typed is not None]


def _later(cells: dict[str, str], touched: dict[str, str]) -> dict[str, str]:
    """Take the fields that were touched; that of a workload does not hold its own numbers."""
    there = cells.get("workload", "")
    if touched.get("workload") == name_of(there):
        touched = {**touched, "workload": there}
    return {**cells, **touched}


def _any(rows: Rows) -> bool:
    return any(text for cells in rows.values() for text in cells.values())


def _typed(data: object) -> Typed | None:
    """Read one entry; anything that is not one is as good as none."""
    if not isinstance(data, dict) or not isinstance(rows := data.get("rows"), dict):
        return None
    if not all(isinstance(cells, dict) for cells in rows.values()):
        return None
    read = {key: _cells(cells, COLUMNS) for key, cells in rows.items()}
    builds = data.get("kept", [])
    kept = [
        [_cells(row, COLUMNS) for row in build if isinstance(row, dict)]
        for build in (builds if isinstance(builds, list) else [])
        if isinstance(build, list) and build
    ]
    return Typed(str(data.get("session", "")), str(data.get("saved", "")), read, kept)


def _cells(cells: Mapping[str, object], names: Iterable[str]) -> dict[str, str]:
    return {name: str(cells[name]) for name in names if name in cells}
