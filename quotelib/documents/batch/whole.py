"""How do the files of a folder change together: all, or it shows that they did not.

Whatever is made stands in `STAGE` until all of it is there; the folder is as the last run left it.
Then `UNFINISHED` names every move that is due, the moves are made, and it goes again. As long as
it is there the folder is between two runs; whoever writes next makes the moves that are left.
"""

import csv
import errno
import hashlib
import io
import json
import re
import shutil
from collections.abc import Iterable, Sequence
from contextlib import ExitStack, suppress
from pathlib import Path
from types import TracebackType
from typing import Any

from quotelib.documents.batch.files import ANNEX, sync_folder, write_new
from quotelib.documents.batch.lock import alone_in
from quotelib.documents.batch.summary import FILES
from quotelib.foreign import read_json

ROOMS = ("quotes", "bench", "records", "items", "ubl")
STAGE = ".part-run"
UNFINISHED = "unfinished.json"
RUN_FILE = "run.json"
SUMMARY_FILE = "summary.csv"
EARLIER = "earlier"
_DEBRIS = ".part-*"
_STEM = r"[A-Za-z0-9][A-Za-z0-9._-]*"
_OURS = re.compile(rf"(?:[a-z]+/|fault-){_STEM}", re.ASCII)
# Nothing that stands in a file of the folder may have us move what is outside of it.
_MOVED = re.compile(rf"(?:(?:\.part-run|{EARLIER}/{_STEM})/)?(?:[a-z]+/)?{_STEM}", re.ASCII)
_WORDS = "The files here are of two runs. Run the batch again: it moves what is left, then begins."

Moves = list[tuple[str, str]]
"""From where to where, below the folder."""


class Changing:
    """A folder that nobody else writes into meanwhile; use it as a context.

    Parameters
    ----------
    folder : Path
        Made where it is missing.

    Attributes
    ----------
    stage : Path
        Where to make files, in rooms that are there.
    finished : bool
        Whether moves that another run had left were made first.
    debris : int
        Files that another run had begun, and that are gone now.

    Raises
    ------
    InputError
        Where somebody else is writing into it.
    OSError
        Where it cannot be written.
    """

    def __init__(self, folder: Path) -> None:
        self.folder, self.stage = folder, folder / STAGE
        self.finished, self.debris = False, 0
        self._between = False
        self._held = ExitStack()

    def __enter__(self) -> "Changing":
        """Take the folder over from whoever wrote into it last."""
        self.folder.mkdir(parents=True, exist_ok=True)
        with ExitStack() as held:
            held.enter_context(alone_in(self.folder))
            self._take_over()
            held.callback(self._clear)
            for room in ROOMS:
                (self.stage / room).mkdir(parents=True)
            self._held = held.pop_all()
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """Leave nothing behind but what was moved into place."""
        self._held.close()

    def _clear(self) -> None:
        if not self._between:  # or else what is left to move is in there
            shutil.rmtree(self.stage, ignore_errors=True)

    def _take_over(self) -> None:
        journal = self.folder / UNFINISHED
        if journal.exists():
            self.finished = True
            self._move(_moves_in(journal), again=True)
            journal.unlink()
            shutil.rmtree(self.stage, ignore_errors=True)
        for place in (self.folder, *(self.folder / room for room in ROOMS)):
            for path in sorted(place.glob(_DEBRIS)):
                if path.is_dir() and not path.is_symlink():
                    self.debris += sum(one.is_file() for one in path.rglob("*"))
                    shutil.rmtree(path)
                else:
                    self.debris += 1
                    path.unlink(missing_ok=True)

    def last_run(self) -> tuple[str, list[str]]:
        """Say what to call the run that wrote last, and which files of it are there still.

        Without a `RUN_FILE` it goes by what the summary names.
        """
        for name, names in ((RUN_FILE, _named_by_run), (SUMMARY_FILE, _named_by_summary)):
            with suppress(OSError, ValueError, LookupError, TypeError, AttributeError, csv.Error):
                data = (self.folder / name).read_bytes()
                date, found = names(data.decode("utf-8"))
                mark = hashlib.sha256(data).hexdigest()[:8]
                ours = dict.fromkeys(filter(_OURS.fullmatch, found))
                there = [one for one in ours if (self.folder / one).is_file()]
                return "-".join(filter(None, (date, mark))), there
        return "", []

    def replace(self, made: Iterable[str], leave: Sequence[str] = (), called: str = "") -> str:
        """Put files from the stage in place, at once as far as anybody can tell.

        Parameters
        ----------
        made
            Their names in the stage, and so below the folder.
        leave
            Names of files below the folder to move aside first.
        called
            What to call the run that those are of.

        Returns
        -------
        str
            Folder below `EARLIER` that they were moved to; blank where there are none.
        """
        aside = self._aside(leave, called) if leave else ""
        # What says which files belong together comes last.
        new = sorted(made, key=lambda name: (name == RUN_FILE, name == SUMMARY_FILE, name))
        moves = [(name, f"{aside}/{name}") for name in leave]
        moves += [(f"{STAGE}/{name}", name) for name in new]
        for name in new:
            if (self.folder / name).is_dir():
                raise IsADirectoryError(errno.EISDIR, "is a folder where a file goes", name)
        self._room_for(target for _, target in moves)
        text = json.dumps({"what": _WORDS, "moves": moves}, indent=1)
        write_new(self.stage / UNFINISHED, text + "\n")
        self._finish(moves)
        return aside

    def _room_for(self, targets: Iterable[str]) -> None:
        """Make the folders that files go to, and have all of them on the disk itself."""
        folders = {folder for target in targets for folder in Path(target).parents}
        for folder in sorted(folders):
            path = self.folder / folder
            if not path.is_dir():
                path.mkdir()
                self._held.callback(self._unless_used, path)
        for folder in (*folders, *(Path(STAGE) / room for room in ROOMS)):
            sync_folder(self.folder / folder)

    def _unless_used(self, folder: Path) -> None:
        if not self._between:  # or else something is still to be moved to it
            with suppress(OSError):
                folder.rmdir()

    def _finish(self, moves: Moves) -> None:
        journal, self._between = self.folder / UNFINISHED, True
        try:
            (self.stage / UNFINISHED).replace(journal)
            sync_folder(self.folder)
            try:
                self._move(moves)
            except KeyboardInterrupt:
                self._move(moves, again=True)  # it takes no time, and nobody is left between
            journal.unlink()
            self._between = False
            sync_folder(self.folder)
        except OSError as error:
            self._between = journal.exists()
            if not self._between:
                raise
            why = f"{error.strerror or error} ({UNFINISHED} there says what is left to do)"
            raise OSError(error.errno, why, error.filename) from None

    def _aside(self, leave: Iterable[str], called: str) -> str:
        number, names = 1, list(leave)
        while True:
            name = f"{EARLIER}/{called}" + (f"-{number}" if number > 1 else "")
            if not any((self.folder / name / one).exists() for one in names):
                return name
            number += 1

    def _move(self, moves: Moves, *, again: bool = False) -> None:
        touched: dict[Path, None] = {}
        for source, target in moves:
            before, after = self.folder / source, self.folder / target
            if target.startswith(f"{EARLIER}/") and after.exists():
                continue  # moved already, and what stands there now is newer
            after.parent.mkdir(parents=True, exist_ok=True)
            try:
                before.replace(after)
            except FileNotFoundError:
                if not again and source.startswith(STAGE):
                    raise
            touched[before.parent] = touched[after.parent] = None
        for folder in touched:
            sync_folder(folder)


def _moves_in(journal: Path) -> Moves:
    """Read the moves that are due; none where the file is not ours."""
    with suppress(OSError, ValueError, LookupError, TypeError):
        moves = [(str(a), str(b)) for a, b in read_json(journal.read_bytes())["moves"]]
        return [one for one in moves if all(map(_MOVED.fullmatch, one))]
    return []


def _named_by_run(text: str) -> tuple[str, list[Any]]:
    data = read_json(text)
    date = re.sub(r"[^0-9-]", "", str(data["date"]))[:10]
    return date, [name for name in data["files"] if isinstance(name, str)]


def _named_by_summary(text: str) -> tuple[str, list[Any]]:
    rows = csv.DictReader(io.StringIO(text, newline=""), strict=True)
    named = [row[column] for row in rows for column in FILES if row.get(column)]
    # An annex has no column: it is called after its offer.
    ends = ("quotes/", ".html")
    offers = (name for name in named if name.startswith(ends[0]) and name.endswith(ends[1]))
    return "", [*named, *(f"{name.removesuffix(ends[1])}{ANNEX}{ends[1]}" for name in offers)]
