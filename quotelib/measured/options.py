"""Was it measured as it was quoted: the options of a job that ran against those that we ask for."""

import re
from collections.abc import Iterator

from quotelib.measured.jobs import Job
from quotelib.measured.output import Ran
from quotelib.text import figure

LEAST_SECONDS = 60
_ALIASES = {"readwrite": "rw", "blocksize": "bs", "device": "filename"}
_KINDS = {"readwrite": "rw"}
_ONE_AT_A_TIME = {"sync", "psync", "vsync", "pvsync", "pvsync2", "mmap"}
_SIZE = re.compile(r"(\d{1,15})([kmg]?)b?", re.IGNORECASE)
_TIMES = {"": 1, "k": 1024, "m": 1024**2, "g": 1024**3}


def differences(job: Job, ran: Ran) -> Iterator[str]:
    """Say in what a measurement was not made as the quote has it, or cannot be trusted."""
    given = {_ALIASES.get(name, name): value for name, value in ran.options.items()}
    asked = job.options
    yield from _kind(asked, given)
    yield from _block(asked["bs"], given.get("bs", "4k"))
    yield from _depth(asked, given)
    if given.get("direct", "0") not in ("1", "true") and given.get("buffered") != "0":
        yield "it went through the system's memory (no direct=1), which answers from there"
    device = given.get("filename", given.get("directory", ""))
    if not device.startswith(("/dev/", "\\\\.\\")):
        what = f"{device!r} is" if device else "it was run on"
        yield f"{what} a file and no device"
    if ran.seconds < LEAST_SECONDS:
        seconds = figure(ran.seconds, 2)
        yield f"it counted {seconds} s, and {LEAST_SECONDS} s are the least to rely on"
    entries, clones = ran.entries, given.get("numjobs", "1")
    if entries > 1 and clones.isdecimal() and int(clones) != entries:
        yield f"it has {entries} entries for {clones} clones"


def _kind(asked: dict[str, str], given: dict[str, str]) -> Iterator[str]:
    """Compare the kind of operations, their mix and how many of them are at random places."""
    want, have = asked["rw"], _KINDS.get(given.get("rw", "read"), given.get("rw", "read"))
    if want != have:
        yield f"its operations were {have!r} and not {want!r}"
        return
    if want in ("rw", "randrw"):
        reads = given.get("rwmixread", "50")
        if "rwmixread" not in given and given.get("rwmixwrite", "").isdecimal():
            reads = str(100 - int(given["rwmixwrite"]))
        if reads != asked["rwmixread"]:
            yield f"{reads} % of it were reads and not {asked['rwmixread']} %"
    if want.startswith("rand"):
        share, right = given.get("percentage_random", "100"), asked.get("percentage_random", "100")
        if share != right:
            yield f"{share} % of it were at random places and not {right} %"


def _block(want: str, have: str) -> Iterator[str]:
    size = _SIZE.fullmatch(have)
    if size is None or int(size[1]) * _TIMES[size[2].lower()] != int(want):
        yield f"its blocks were {have!r} and not of {int(want):,} bytes"


def _depth(asked: dict[str, str], given: dict[str, str]) -> Iterator[str]:
    want = int(asked.get("iodepth", "1")) * int(asked.get("numjobs", "1"))
    depth, clones = given.get("iodepth", "1"), given.get("numjobs", "1")
    if not (depth.isdecimal() and clones.isdecimal()):
        yield f"how many operations were outstanding is not clear ({depth!r} times {clones!r})"
        return
    engine = given.get("ioengine", "psync")
    one = engine in _ONE_AT_A_TIME
    have = int(clones) * (1 if one else int(depth))
    if have != want:
        why = f" (the engine {engine!r} has one at a time)" if one and int(depth) > 1 else ""
        yield f"{have} operations were outstanding{why} and not {want}"
    elif clones != (streams := asked.get("numjobs", "1")):
        yield f"they were in {clones} streams and not in {streams}"
