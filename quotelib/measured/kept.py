"""What was measured, as it is kept beside the record: a file that only grows, and what it shows.

Each measurement says what had been quoted then, so that it stays true when the quote is made anew.
"""

import datetime as dt
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Literal, NoReturn

from pydantic import ValidationError

from quotelib.bounded import read_text
from quotelib.errors import InputError, Problem, shown
from quotelib.facts import Frozen
from quotelib.predict.shown import LoadShown

ENDING = ".measured.json"
Where = Literal["inside", "above", "below"]


class FigureMeasured(Frozen):
    """A figure against its estimate.

    Parameters
    ----------
    low, value, high
        As quoted; None: no such end.
    where
        On which side of the range it is; `worse` than that it is above with a time, below with
        a rate.
    """

    key: str
    name: str
    unit: str
    low: float | None
    value: float
    high: float | None
    measured: float
    where: Where
    worse: bool


class Measurement(Frozen):
    """One job of fio on one array.

    Parameters
    ----------
    when
        Of fio's output, in UTC; None: it does not say.
    record_sha256
        Of the record that it was held against.
    doubts
        In what it was not made as quoted, or cannot be trusted.
    """

    job: str
    when: dt.datetime | None
    fio_version: str
    program_version: str
    record_sha256: str
    quote_number: str
    array: str
    controller: str
    drive: str
    level: str
    layout: str
    load: LoadShown
    figures: tuple[FigureMeasured, ...]
    doubts: tuple[str, ...]


class Kept(Frozen):
    """Everything that was measured for a quote, in the order in which it was handed over."""

    for_whom: Literal["the seller only, no customer"] = "the seller only, no customer"
    format: Literal["quotelib measured 1"] = "quotelib measured 1"
    measurements: tuple[Measurement, ...] = ()

    def with_more(self, more: Iterable[Measurement]) -> "Kept":
        """Add measurements; one that is there already is kept once."""
        # The same output read by another version of this program is no other measurement.
        every = {one.model_copy(update={"program_version": ""}): one for one in self.measurements}
        for one in more:
            every.setdefault(one.model_copy(update={"program_version": ""}), one)
        return self.model_copy(update={"measurements": tuple(every.values())})

    def to_json(self) -> str:
        """Write it; the same measurements give the same text."""
        return self.model_dump_json(indent=2) + "\n"


def beside(record: Path) -> Path:
    """Name the file that is kept beside the file of a record."""
    return record.with_name(record.name.removesuffix(".json") + ENDING)


def read_kept(path: Path) -> Kept:
    """Read such a file; there is nothing in one that is not there.

    Raises
    ------
    InputError
        Where it cannot be read, or is not as this program writes it: it is not written over then.
    """
    try:
        return Kept.model_validate_json(read_text(path))
    except FileNotFoundError:
        return Kept()
    except (OSError, UnicodeDecodeError) as error:
        _wrong(path, "", "", f"cannot be read ({error})")
    except ValidationError as error:
        first = error.errors()[0]
        where = shown(".".join(map(str, first["loc"])))
        _wrong(path, where, shown(str(first["input"]), 80), first["msg"])


def _wrong(path: Path, where: str, value: str, why: str) -> NoReturn:
    right = "put it back as this program wrote it, or move it away to begin anew"
    raise InputError([Problem(path.name, None, where, value, why, right)])


def evidence(
    folder: Path, controller: str = "", drive: str = "", level: str = ""
) -> Iterator[Measurement]:
    """List what was measured before of a controller, drives and a level, the latest first.

    Parameters
    ----------
    folder : Path
        With the files that are kept beside records; those in folders below count too.
    controller, drive, level : str
        As a record names them; blank: any.

    Raises
    ------
    InputError
        Where a file in it cannot be read.
    """
    asked = {"controller": controller, "drive": drive, "level": level}
    wanted = {of: name for of, name in asked.items() if name}
    every = [
        one for path in sorted(folder.rglob(f"*{ENDING}")) for one in read_kept(path).measurements
    ]
    never = dt.datetime.min.replace(tzinfo=dt.UTC)
    seen = set()
    for one in sorted(every, key=lambda one: one.when or never, reverse=True):
        # Held against the quote as it was made anew, it is the same measurement still.
        what = (one.quote_number, one.job, one.when, tuple(f.measured for f in one.figures))
        if what not in seen and all(getattr(one, of) == name for of, name in wanted.items()):
            seen.add(what)
            yield one
