"""What is done with an input, and what must hold of whatever comes of it.

An input is a set of files under ``in/`` of an empty folder of its own. Nothing may come of it but
an answer or words (`InputError`, ``OSError``), within `SECONDS` of the processor, and nothing may
be written but under ``out/``.
"""

import csv
import io
import json
import os
import random
import re
import shutil
import signal
import traceback
from collections import Counter
from collections.abc import Callable, Generator, Iterator, Mapping
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from pathlib import Path
from types import FrameType
from typing import Any
from unittest import mock

import pandas as pd

from quotelib.catalogue.price_list import read_folder
from quotelib.documents import making, quoting
from quotelib.documents.batch import run as batch
from quotelib.documents.batch.files import write_new
from quotelib.documents.batch.run import run_batch
from quotelib.documents.batch.workers import Do
from quotelib.errors import InputError, NotExported, Problem, table
from quotelib.promise.record import QuoteRecord
from quotelib.review import effects
from quotelib.workbook.autosave import FILE_NAME, Autosave
from tests.fuzz.mutants import Files, of_bytes, of_json, of_table
from tests.fuzz.seeds import DATE, Seeds, seeds

SECONDS = 10
"""Of the processor, for one input."""
PAGES = 40
"""One in so many answers is rendered as pages too, which take a tenth of a second each."""
KINDS = ("enquiries", "prices", "record", "autosave")

# What is found and not to be mended now: kind, words of the fault, why it is let pass.
KNOWN: tuple[tuple[str, str, str], ...] = ()


class Broken(Exception):  # noqa: N818 - what a mutant found
    """Something came of an input that must not."""


class Endless(BaseException):
    """An input took longer than `SECONDS`; no ``except Exception`` of the program hides it."""


@dataclass
class Found:
    """What came of many inputs: how many of which end, and the faults by where they are from."""

    ends: Counter[str] = field(default_factory=Counter)
    faults: list[tuple[str, int, str]] = field(default_factory=list)
    slowest: tuple[float, str, int] = (0.0, "", 0)


def mutant(kind: str, number: int) -> Files:
    """Make an input; the same kind and number give the same bytes."""
    rng, sound = random.Random(f"{kind} {number}"), seeds()
    if kind == "enquiries":
        data, known = sound.enquiries, sound.known
        made = of_table(rng, data, known) if rng.random() < 0.7 else data
        return {"asked.csv": of_bytes(rng, made) if made is data or rng.random() < 0.1 else made}
    if kind == "prices":
        return _price_list(rng, sound)
    data = getattr(sound, kind)
    name = FILE_NAME if kind == "autosave" else "record.json"
    return {name: of_json(rng, data) if rng.random() < 0.7 else of_bytes(rng, data)}


def _price_list(rng: random.Random, sound: Seeds) -> Files:
    files = dict(sound.prices if rng.random() < 0.85 else sound.starter)
    for _ in range(rng.choice((1, 1, 1, 2))):
        name = rng.choice(sorted(files))
        whole = files[name] in (sound.prices.get(name), sound.starter.get(name))
        if name.endswith(".csv") and whole and rng.random() < 0.75:
            files[name] = of_table(rng, files[name], sound.known)
        elif rng.random() < 0.03:
            del files[name]
        else:
            files[name] = of_bytes(rng, files[name])
    return files


def run(kind: str, files: Files, folder: Path, number: int = 0) -> str:
    """Do with an input what people do with such files; give how it ended.

    Raises
    ------
    Broken, Endless
    """
    given, out = folder / "in", folder / "out"
    given.mkdir(parents=True)
    for name, data in files.items():
        (given / name).write_bytes(data)
    before = _tree(folder)
    try:
        with at_most(SECONDS), _inside(out):
            end = _DOES[kind](given, out, number)
    except (InputError, quoting.NoQuote) as error:
        _readable_words(error)
        end = "told"
    except (Broken, Endless):
        raise
    except Exception as error:
        raise Broken(f"{type(error).__name__} at {_place(error)}: {error!s:.200}") from error
    stray = [name for name in _tree(folder) - before if not name.startswith("out")]
    stray += [name for name in _tree(out) if "/.part-" in f"/{name}"]
    if stray:
        raise Broken(f"written where nothing belongs: {stray[:3]}")
    return end


def _here(
    do: Do, common: object, items: Mapping[int, Any], _: int
) -> Generator[tuple[int, Any], None, None]:
    """Do all items in this process."""
    yield from ((place, do(common, item)) for place, item in items.items())


def _enquiries(given: Path, out: Path, number: int) -> str:
    result = run_batch(given / "asked.csv", out, prices=_sound_prices(given.parent), date=DATE)
    _readable(out / "summary.csv", len(result.rows))
    outcomes = {row["outcome"] for row in result.rows}
    for row in result.rows:
        if re.search("program fault|out of memory", row["reason"]):
            (trace, *_) = [*(out.glob("fault-*")), None]
            why = trace.read_text("utf-8").strip().splitlines() if trace else []
            raise Broken(f"fault: {_last_place(why)}: {why[-1:]!s:.200}")
    if len(outcomes) == 1:
        return f"all {outcomes.pop()}"
    return "some answered" if outcomes & {"quoted", "held"} else "none answered"


def _prices(given: Path, out: Path, number: int) -> str:
    price_list, problems = read_folder(given)
    if price_list is None:
        if not problems:
            raise Broken("no list and no problem")
        for problem in problems:
            if not (problem.why and problem.right and _printable(problem)):
                raise Broken(f"a problem that does not say what would be right: {problem!s:.200}")
        table(problems)
        return "told"
    asked = given.parent / "asked.csv"
    asked.write_bytes(seeds().enquiries)
    if "DISK-4T" not in price_list.drives:
        asked.write_text("enquiry_id,customer,usable_tb,chassis,controller\n"
                         "S-1,Six,9,CHS-2U-12L,CTL-RB2-12G-CD\n", "utf-8")  # fmt: skip
    try:
        result = run_batch(asked, out, prices=given, date=DATE)
    finally:
        asked.unlink()
    _readable(out / "summary.csv", len(result.rows))
    if any("program fault" in row["reason"] for row in result.rows):
        trace = next(out.glob("fault-*")).read_text("utf-8").strip().splitlines()
        raise Broken(f"fault: {_last_place(trace)}: {trace[-1]:.200}")
    answered = sum(row["outcome"] in {"quoted", "held"} for row in result.rows)
    return "sound, all answered" if answered == len(result.rows) else "sound, some answered"


def _record(given: Path, out: Path, number: int) -> str:
    file = given / "record.json"
    found = effects(seeds().price_list, given, DATE)
    quoting.read_record(file)
    if number % PAGES == 0:
        making.offer_page(file)
        making.annex_page(file)
        making.bench_page(file)
    for export in (making.ubl_quotation, making.items_workbook):
        with suppress(NotExported):  # no currency, or an amount of too many digits
            export(file)
    return "read, priced anew" if any(f.new_net is not None for f in found) else "read"


def _autosave(given: Path, out: Path, number: int) -> str:
    saved = Autosave(given)
    words = [typed.words for typed in saved.earlier]
    other = Autosave(given.parent / "out")
    try:
        other.found_in_browser((given / FILE_NAME).read_text("utf-8"))
    except UnicodeDecodeError:
        return "not text"
    (given.parent / "out").mkdir(exist_ok=True)
    words += [typed.words for typed in other.earlier]
    other.keep({"1": {"customer": "Somebody"}})
    for typed in saved.earlier:
        json.dumps(typed.rows)
    return f"{min(len(words), 3)} found"


_DOES: dict[str, Callable[[Path, Path, int], str]] = {
    "enquiries": _enquiries,
    "prices": _prices,
    "record": _record,
    "autosave": _autosave,
}


def _sound_prices(folder: Path) -> Path:
    """Write the sound price list once for a whole run, beside the folders of the inputs."""
    prices = folder.parent / "sound"
    if not prices.exists():
        prices.mkdir()
        for name, data in seeds().prices.items():
            (prices / name).write_bytes(data)
    return prices


def _readable(summary: Path, rows: int) -> None:
    """Read a summary with two readers; each has to find as many rows as there are."""
    text = summary.read_bytes().decode("utf-8")
    read = list(csv.DictReader(io.StringIO(text, newline=""), strict=True))
    if len(read) != rows or any(None in row or None in row.values() for row in read):
        raise Broken(f"csv reads {len(read)} rows of {rows} in the summary")
    frame = pd.read_csv(summary, dtype=str, keep_default_na=False)
    if len(frame) != rows or list(frame.columns) != list(read[0]):
        raise Broken(f"pandas reads {len(frame)} rows of {rows} in the summary")


def _printable(problem: Problem) -> bool:
    """Tell whether a terminal shows it: joiners that a script or an emoji needs may stand in it."""
    return re.sub("[\u200c\u200d]", "", str(problem)).isprintable()


def _readable_words(error: Exception) -> None:
    if not isinstance(error, InputError):
        return
    table(error.problems)
    for problem in error.problems:
        if not _printable(problem) or len(str(problem)) > 2000:
            raise Broken(f"a message that no terminal shows well: {str(problem)!r:.200}")


def _tree(folder: Path) -> set[str]:
    return {str(path.relative_to(folder)) for path in folder.rglob("*")}


def _place(error: BaseException) -> str:
    """Say where in our own code a fault came from."""
    frames = traceback.extract_tb(error.__traceback__)
    ours = [f for f in frames if "/quotelib/" in f.filename] or list(frames)
    return f"{Path(ours[-1].filename).name}:{ours[-1].lineno}"


def _last_place(trace: list[str]) -> str:
    found = re.findall(r'/quotelib/(\S+\.py)", line (\d+)', "\n".join(trace))
    return ":".join(found[-1]) if found else "?"


@contextmanager
def at_most(seconds: int) -> Iterator[None]:
    def stop(_: int, frame: FrameType | None) -> None:
        where = "".join(traceback.format_stack(frame)[-3:])
        raise Endless(f"more than {seconds} s: {where}")

    before = signal.signal(signal.SIGPROF, stop)
    signal.setitimer(signal.ITIMER_PROF, seconds)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0)
        signal.signal(signal.SIGPROF, before)


_written = 0


@contextmanager
def _inside(out: Path) -> Iterator[None]:
    """Render pages of one answer in `PAGES` only, and do not wait for a disk at each file."""
    whole = making.make_documents

    def some(
        record: QuoteRecord, stage: Path, stem: str, *_: object, **__: object
    ) -> dict[str, tuple[str, str]]:
        global _written
        _written += 1
        if _written % PAGES == 0:
            return whole(record, stage, stem, exports=("ubl",))
        name = f"records/{stem}.json"
        return {"record_file": (name, write_new(stage / name, record.to_json()))}

    with (
        mock.patch.object(making, "make_documents", some),
        # A process for each of so many would take two seconds a mutant.
        mock.patch.object(batch, "spread", _here),
        mock.patch.object(os, "fsync", lambda _: None),
    ):
        yield


def known(kind: str, fault: str) -> str:
    """Say why a fault is let pass; blank where it is not."""
    return next((why for of, words, why in KNOWN if of == kind and words in fault), "")


def try_many(kind: str, numbers: range, folder: Path, found: Found) -> None:
    """Try mutants of one kind; take note of how each ended."""
    import time

    for number in numbers:
        own = folder / f"{kind}-{number}"
        start = time.process_time()
        try:
            end = run(kind, mutant(kind, number), own, number)
        except (Broken, Endless) as fault:
            why = known(kind, str(fault))
            end = f"known: {why}" if why else "FAULT"
            if not why:
                found.faults.append((kind, number, f"{type(fault).__name__}: {fault}"))
        took = time.process_time() - start
        found.slowest = max(found.slowest, (took, kind, number))
        found.ends[f"{kind}: {end}"] += 1
        shutil.rmtree(own, ignore_errors=True)
