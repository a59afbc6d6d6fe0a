"""Many processes give quotes into one register while some of them are killed; then it is counted.

``python -m tests.register.many [--processes 16] [--quotes 100] [--kills 30] [--seed 1] [WHERE]``
makes a register in a folder of its own and, where there is one to start, in a PostgreSQL; it prints
what was counted, and ends with status 1 where a number is missing, given twice or lost.

A process writes down each quote after it was given. One that is killed begins again with the first
that it has not written down, which may have been given all the same: it must then get that one.
"""

import argparse
import json
import os
import random
import signal
import subprocess
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Iterator
from contextlib import ExitStack
from dataclasses import dataclass
from pathlib import Path

import sqlalchemy as sa
from sqlalchemy.engine import Engine

from quotelib.promise.record import QuoteRecord
from quotelib.register import tables as t
from quotelib.register.book import Register
from quotelib.register.place import place
from tests import small_list
from tests.register.quotes import made
from tests.register.server import BIN, running

_WAIT_S = 120.0
_PATIENCE_S = 1800
_HOW = ("", "before", "after")
"""When one is killed: at any moment, just before a quote is given for good, or just after."""


@dataclass(frozen=True)
class Counted:
    """What was found in the end; `wrong` says what must not be."""

    quotes: int
    revisions: int
    kills: int
    told_later: int
    seconds: float
    wrong: tuple[str, ...]


def _bases(folder: Path) -> list[QuoteRecord]:
    return [
        QuoteRecord.model_validate_json((folder / f"base{n}.json").read_text("utf-8"))
        for n in (1, 2)
    ]


def giver(where: str, folder: Path, process: int, quotes: int) -> None:
    """Give quotes one after the other, every fourth a second time and changed; write each down."""
    first, second = _bases(folder)
    log = folder / f"told{process}.txt"
    # A line that is cut off was not told.
    done = log.read_text("ascii").count("\n") if log.exists() else 0
    if log.exists():
        whole = log.read_bytes()
        os.truncate(log, whole.rfind(b"\n") + 1)
    sa.event.listen(Engine, "commit", lambda _: _die("before", folder, process))
    register = Register(where, make=True, wait_s=_WAIT_S)
    with log.open("a", encoding="ascii") as told:
        for step, (number, again) in enumerate(_steps(quotes)):
            if step < done:
                continue
            name = f"W{process:02}-{number:03}"
            record = (second if again else first).model_copy(update={"enquiry_id": name})
            (given,) = register.give([record], f"giver {process}")
            _die("after", folder, process)
            line = [name, given.number, given.revision, given.news]
            told.write(f"{json.dumps(line)}\n")
            told.flush()
            os.fsync(told.fileno())


def _die(moment: str, folder: Path, process: int) -> None:
    """End at once where that was asked for: just before a quote is given for good, or after."""
    order = folder / f"die{process}.txt"
    if order.exists() and order.read_text("ascii") == moment:
        order.unlink()
        os.kill(os.getpid(), signal.SIGKILL)


def _steps(quotes: int) -> Iterator[tuple[int, bool]]:
    for number in range(quotes):
        yield number, False
        if number % 4 == 3:
            yield number, True


def _begin(where: str, folder: Path, process: int, quotes: int) -> "subprocess.Popen[bytes]":
    command = [sys.executable, "-m", __name__ if __name__ != "__main__" else "tests.register.many"]
    command += ["--as-giver", str(process), "--quotes", str(quotes), "--told", str(folder), where]
    error = (folder / f"error{process}.txt").open("ab")
    with error:
        return subprocess.Popen(command, stderr=error)


def run(where: str, processes: int, quotes: int, kills: int, seed: int = 1) -> Counted:
    """Have processes give quotes, kill some of them meanwhile, and count."""
    chance = random.Random(seed)
    began = time.monotonic()
    with tempfile.TemporaryDirectory(prefix="quotelib-many-") as name:
        folder = Path(name)
        small = small_list.price_list()
        for n, builds in ((1, "1"), (2, "2")):
            text = made(small, "BASE", builds=builds).to_json()
            (folder / f"base{n}.json").write_text(text, "utf-8")
        at_work = {n: _begin(where, folder, n, quotes) for n in range(processes)}
        in_all = processes * sum(1 for _ in _steps(quotes))
        # Spread over the whole of the work; the rest of the time is for what they were amid.
        due = sorted(chance.sample(range(1, in_all), kills))
        killed, before = 0, dict.fromkeys(range(processes), 0)
        while at_work:
            assert time.monotonic() - began < _PATIENCE_S, "they take too long"
            told_by = {n: _lines(folder / f"told{n}.txt") for n in range(processes)}
            amid = [n for n in at_work if told_by[n] > before[n] and at_work[n].poll() is None]
            if due and sum(told_by.values()) >= due[0] and amid:
                one, how = chance.choice(amid), _HOW[len(due) % len(_HOW)]
                due.pop(0)
                if how:
                    (folder / f"die{one}.txt").write_text(how, "ascii")
                else:
                    time.sleep(chance.random() * 0.03)
                    at_work[one].kill()
                at_work[one].wait()
                # One that had nothing left to give never saw it: the next one must not.
                (folder / f"die{one}.txt").unlink(missing_ok=True)
                killed += at_work[one].returncode == -signal.SIGKILL
                before[one] = _lines(folder / f"told{one}.txt")
                at_work[one] = _begin(where, folder, one, quotes)
            for n, process in list(at_work.items()):
                if process.poll() is not None:
                    error = (folder / f"error{n}.txt").read_text("utf-8", "replace")
                    assert process.returncode == 0, f"giver {n}: {error}"
                    del at_work[n]
            time.sleep(0.002)
        took = time.monotonic() - began
        told = [
            json.loads(line)
            for n in range(processes)
            for line in (folder / f"told{n}.txt").read_text("ascii").splitlines()
        ]
    return _count(where, told, processes * quotes, in_all, killed, took)


def _lines(path: Path) -> int:
    return path.read_bytes().count(b"\n") if path.exists() else 0


def _count(
    where: str, told: list[list[object]], quotes: int, in_all: int, kills: int, took: float
) -> Counted:
    register, wrong = Register(where), []
    found = register.find()
    numbers = [one.number for one in found]
    years = Counter(number[:4] for number in numbers)
    for year, many in years.items():
        if sorted(numbers) != [f"{year}-{n:04}" for n in range(1, many + 1)]:
            wrong.append(f"the numbers of {year} are not 1 to {many}")
    if len(found) != quotes:
        wrong.append(f"{len(found)} quotes, not {quotes}")
    if len({(one.enquiry_id, one.customer) for one in found}) != len(found):
        wrong.append("an enquiry has two quotes")
    if len(told) != in_all:
        wrong.append(f"{len(told)} were told, not {in_all}")
    by_number = {one.number: one for one in found}
    revisions = 0
    for one in found:
        for revision in range(1, one.revision + 1):
            # Reads the text, and checks it against its SHA-256.
            record = register.revision(one.number, revision).record
            revisions += 1
            if (record.enquiry_id, record.revision) != (one.enquiry_id, revision):
                wrong.append(f"{one.number} revision {revision} is another quote's")
    for name, number, revision, _ in told:
        one = by_number.get(str(number))
        if one is None or one.enquiry_id != name or one.revision < int(str(revision)):
            wrong.append(f"lost: {number} revision {revision} of {name}")
    with place(where, _WAIT_S).reading() as connection:
        stored = connection.execute(
            sa.select(sa.func.count()).select_from(t.revisions)
        ).scalar_one()
        if connection.dialect.name == "sqlite":
            said = connection.exec_driver_sql("PRAGMA integrity_check").scalar_one()
            if said != "ok":
                wrong.append(f"SQLite says: {said}")
    if stored != revisions or revisions != in_all:
        wrong.append(f"{stored} revisions are there, {in_all} were given")
    later = sum(news == "as it was" for *_, news in told)
    return Counted(len(found), revisions, kills, later, took, tuple(wrong))


def main() -> int:
    """Run it in every kind of place; the exit status is 0 where nothing is wrong."""
    parser = argparse.ArgumentParser(prog="python -m tests.register.many", description=__doc__)
    parser.add_argument("--processes", type=int, default=16)
    parser.add_argument("--quotes", type=int, default=100)
    parser.add_argument("--kills", type=int, default=30)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--as-giver", type=int, help=argparse.SUPPRESS)
    parser.add_argument("--told", type=Path, help=argparse.SUPPRESS)
    parser.add_argument("where", nargs="?", default="")
    given = parser.parse_args()
    if given.as_giver is not None:
        giver(given.where, given.told, given.as_giver, given.quotes)
        return 0
    status = 0
    with ExitStack() as held:
        folder = held.enter_context(tempfile.TemporaryDirectory(prefix="quotelib-register-"))
        places = [given.where] if given.where else [str(Path(folder) / "register")]
        if not given.where and BIN is not None:
            places.append(held.enter_context(running()).new_database())
        for where in places:
            found = run(where, given.processes, given.quotes, given.kills, given.seed)
            print(
                f"{where.partition(':')[0] if '://' in where else 'sqlite'}: {found.quotes} quotes,"
                f" {found.revisions} revisions by {given.processes} processes in"
                f" {found.seconds:.0f} s, killed {found.kills} times (of what they were amid,"
                f" {found.told_later} had been given and were found again):"
                f" {'; '.join(found.wrong) or 'no gap, none twice, none lost'}",
                flush=True,
            )
            status |= bool(found.wrong)
    return status


if __name__ == "__main__":
    sys.exit(main())
