"""What comes of a whole file of enquiries: a folder of documents, a summary, what it rests on."""

import datetime as dt
import json
import os
import sys
import tempfile
from collections.abc import Callable, Collection, Generator, Iterator, Sequence
from contextlib import ExitStack, closing, contextmanager, nullcontext
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from quotelib import __version__
from quotelib.catalogue.price_list import PriceList, fingerprint, load_price_list
from quotelib.documents.batch.answers import (
    FAULT,
    OUTCOMES,
    Done,
    Job,
    Task,
    answered,
    died,
    unreadable,
)
from quotelib.documents.batch.files import file_stems, write_new
from quotelib.documents.batch.result import BatchResult, Row, counts_of
from quotelib.documents.batch.summary import NOTICE, NOTICE_FILE, to_csv
from quotelib.documents.batch.whole import ROOMS, RUN_FILE, SUMMARY_FILE, Changing
from quotelib.documents.batch.workers import Died, spread
from quotelib.enquiry.reading import open_end, read_enquiries
from quotelib.measured.kept import ENDING as MEASURED
from quotelib.resources import starter_prices

if TYPE_CHECKING:
    from quotelib.documents.batch.registered import Giving

_EVERY = 25
Told = Callable[[int, int, str, str], None]
"""Told after each enquiry: how many are done, of how many, which one, and its outcome."""


class Progress(ExitStack):
    """A bar where somebody watches, a quiet line now and then elsewhere.

    Use it as a context and hand ``told`` to the batch.
    """

    _bar: Any = None

    def told(self, done: int, total: int, enquiry_id: str, outcome: str) -> None:
        """Take note of one more enquiry."""
        from IPython.core.getipython import get_ipython

        if sys.stderr.isatty() or get_ipython() is not None:
            from tqdm.auto import tqdm

            if self._bar is None:
                bar = tqdm(total=total, unit="enquiry", desc="enquiries")
                self._bar = self.enter_context(bar)
            self._bar.update(1)
        elif done == total or done % _EVERY == 0:
            print(f"{done} of {total} enquiries answered", file=sys.stderr)


def run_batch(
    enquiries: str | Path,
    folder: str | Path,
    *,
    prices: str | Path | None = None,
    date: dt.date | None = None,
    jobs: int = 1,
    exports: Collection[str] = (),
    progress: Told | None = None,
    register: str | Path | None = None,
    by: str = "",
) -> BatchResult:
    """Answer every enquiry of a file and write all documents.

    The folder stays as it was until all is made, and changes at once then.

    Parameters
    ----------
    enquiries : path
        A CSV file.
    folder : path
        Made where it is missing.
    prices : path, optional
        Folder of the price list; the starter list by default.
    date : date, optional
        Of the quotes; today by default.
    jobs : int
        Processes to use beside this one.
    exports
        Which of `quotelib.documents.exports.EXPORTS` to make of each quote.
    register : str or path, optional
        Folder or address of a register to give the quotes into; made where there is none.
    by : str
        Who gives them; the user of this machine by default.

    Returns
    -------
    BatchResult
        The same files, whatever the number of jobs.

    Raises
    ------
    InputError
        Where the price list, the file of enquiries or the register cannot be used at all, another
        run is writing into the folder, or there is nothing to make a PDF with.
    OSError
        Where the folder cannot be written.
    """
    if "pdf" in exports:
        from quotelib.documents.exports.browser import try_out

        try_out()
    source = Path(prices).resolve() if prices else starter_prices()
    price_list = load_price_list(source)
    date = date or dt.date.today()
    asked, unended = read_enquiries(Path(enquiries), price_list, date), open_end(Path(enquiries))
    tasks = list(map(Task, asked, file_stems([one.enquiry_id for one in asked])))
    giving = _giving(register, by)
    told = nullcontext() if giving is None else giving.told()
    with told, Changing(Path(folder)) as change:
        done: dict[int, Done] = {}
        job = Job(price_list, change.stage.absolute(), date, frozenset(exports))
        with _scratch(job) as job, closing(_all(job, tasks, jobs, giving)) as working:
            for place, one in working:
                done[place] = one
                if progress is not None:
                    number = tasks[place].asked.enquiry_id
                    progress(len(done), len(tasks), number, one.rows[0]["outcome"])
        in_order = [done[place] for place in range(len(tasks))]
        rows = tuple(row for one in in_order for row in one.rows)
        files = {name: digest for one in in_order for name, digest in one.files.items()}
        files[NOTICE_FILE] = write_new(change.stage / NOTICE_FILE, NOTICE)
        files[SUMMARY_FILE] = write_new(change.stage / SUMMARY_FILE, to_csv(rows))
        write_new(change.stage / RUN_FILE, _run_json(price_list, date, rows, files))
        called, there = change.last_run()
        moved = tuple(name for name in there if name not in files)
        moved_to = change.replace([*files, RUN_FILE], moved, called)
        beside = tuple(_beside(change.folder, files))
    changed = fingerprint(source) != price_list.fingerprint
    return BatchResult(
        change.folder, rows, price_list, changed, moved_to, moved, beside, change.debris,
        unended, giving.words() if giving is not None else "",
    )  # fmt: skip


@contextmanager
def _scratch(job: Job) -> Iterator[Job]:
    """Give browsers a folder to write to, outside of ours: the names of theirs must be short."""
    if "pdf" not in job.exports:
        yield job
        return
    folder = Path(tempfile.mkdtemp(prefix="quotelib-"))
    try:
        yield job._replace(scratch=folder)
    finally:
        from quotelib.documents.exports.browser import removed

        removed(folder)


def _giving(register: str | Path | None, by: str) -> "Giving | None":
    """Open the register before anything else is done."""
    if register is None:
        return None
    from quotelib.documents.batch.registered import Giving
    from quotelib.register.book import Register
    from quotelib.register.who import named

    return Giving(Register(register, make=True), named(by))


def _all(
    job: Job, tasks: list[Task], jobs: int, giving: "Giving | None"
) -> Generator[tuple[int, Done], None, None]:
    """Do every task, in whatever order."""
    left: dict[int, Task] = {}
    for place, task in enumerate(tasks):
        wrong = unreadable(task)
        if wrong is None:
            left[place] = task
        else:
            yield place, wrong
    places, work = list(left), partial(_work, jobs)
    if giving is None:
        working = work(answered, job, list(left.values()))
    else:
        working = giving.work(job, list(left.values()), work)
    with closing(working):
        for place, done in working:
            yield places[place], done


def _work(
    jobs: int, do: Callable[[Job, Task], Done], job: Job, tasks: list[Task]
) -> Generator[tuple[int, Done], None, None]:
    """Do something with every task, in whatever order."""
    workers = min(jobs, len(tasks), os.cpu_count() or 1)
    # By itself in a process even where there is one: what kills it must not cost the others.
    with closing(spread(do, job, dict(enumerate(tasks)), workers)) as coming:
        for place, result in coming:
            yield place, died(job, tasks[place], result) if isinstance(result, Died) else result


def _run_json(
    price_list: PriceList, date: dt.date, rows: Sequence[Row], files: dict[str, str]
) -> str:
    """Say which files belong together, and which prices they are at; the same for the same run."""
    counts = counts_of(rows)
    data = {
        "format": "quotelib run 1",
        "program_version": __version__,
        "price_list_fingerprint": price_list.fingerprint,
        "date": date.isoformat(),
        "outcomes": {outcome: counts[outcome] for outcome in (*OUTCOMES, FAULT)},
        "files": dict(sorted(files.items())),
    }
    return json.dumps(data, indent=2) + "\n"


def _beside(folder: Path, files: dict[str, str]) -> Iterator[str]:
    """Find documents that no batch wrote."""
    for room in ROOMS:
        for path in sorted((folder / room).glob("*.*")):
            ours = path.name.startswith(".") or path.name.endswith(MEASURED)
            if f"{room}/{path.name}" not in files and not ours:
                yield f"{room}/{path.name}"
