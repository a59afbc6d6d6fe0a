"""How does the bench measure what was quoted: a job file for fio, from the record alone.

An array has a file of its own: one device, one answer to whether anything may be written. How long
a job runs and how a long read is asked for is common practice, no source.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from quotelib.bench.shown import Trial
from quotelib.errors import shown
from quotelib.measured.figures import UNDER_LOAD, found_in
from quotelib.predict.shown import LoadShown
from quotelib.promise.record import QuoteRecord, Server
from quotelib.promise.shown import ArrayShown
from quotelib.text import date, size
from quotelib.units import KIB

SECONDS = 240
"""How long a job counts, after the `SETTLING` seconds that do not."""
SETTLING = 60
LONG_BLOCK = 1024 * KIB
LONG_OUTSTANDING = 32
_MOST_STREAMS = 256
_SECTOR = 512
_MIB = 1024 * KIB
_LONG = {"write_mb_s": "write", "read_mb_s": "read"}
_SMALL = {
    "lone_read_ms": "randread", "read_iops": "randread",
    "write_ms": "randwrite", "write_iops": "randwrite",
}  # fmt: skip
_ONE_AT_A_TIME = frozenset({"lone_read_ms", "write_ms"})
_ORDER = (*_LONG, *_SMALL, UNDER_LOAD)


@dataclass(frozen=True, slots=True)
class Job:
    """One run of fio: what its name ends in, and its options."""

    key: str
    options: dict[str, str]


@dataclass(frozen=True, slots=True)
class ArrayTrial:
    """What is measured of one array: where it stands in the record, and by which jobs."""

    place: str
    called: str
    server: Server
    array: ArrayShown
    trial: Trial
    jobs: tuple[Job, ...]

    def name(self, job: str) -> str:
        """Name a job, as fio says it again: ``quotelib-s1-a1-host_iops``."""
        return f"quotelib-{self.place}-{job}"


def trials(record: QuoteRecord) -> Iterator[ArrayTrial]:
    """Say array by array what may be measured; nothing while nothing may be written."""
    called = (name for name, _ in record.by_array())
    for number, server in enumerate(record.servers, start=1):
        for at, (array, bench) in enumerate(zip(server.arrays, server.bench.arrays, strict=True)):
            jobs = tuple(_jobs(array, bench.trial)) if bench.trial else ()
            place = f"s{number}-a{at + 1}"
            yield ArrayTrial(place, next(called), server, array, bench.trial, jobs)


def _jobs(array: ArrayShown, trial: Trial) -> Iterator[Job]:
    """List the jobs that measure an array, in the order in which they run."""
    known = (found_in(one.key) for one in array.estimates if one.value is not None)
    wanted = {found.job for found in known if found is not None}
    load = array.outlook.load
    only_read = load.read_pct == 100
    for key in _ORDER:
        kind = (_LONG | _SMALL).get(key, "randread" if only_read else "randrw")
        writes = kind not in ("read", "randread")
        if key not in wanted or (writes and trial != "write"):
            continue
        options = _long(key) if key in _LONG else _small(key, array, load)
        if options is not None:
            yield Job(key, options)


def _long(key: str) -> dict[str, str]:
    return {"rw": _LONG[key], "bs": str(LONG_BLOCK), "iodepth": str(LONG_OUTSTANDING)}


def _small(key: str, array: ArrayShown, load: LoadShown) -> dict[str, str] | None:
    """Ask for operations of the load's size; None: no device takes blocks of that size."""
    block = load.block_kib * KIB
    if block < _SECTOR or block % _SECTOR:
        return None
    bs = {"bs": str(int(block))}
    at_once = {"iodepth": str(load.outstanding)}
    if key in _ONE_AT_A_TIME:
        at_once = {"iodepth": "1"}
    if key in _SMALL:
        return {"rw": _SMALL[key], **bs, **at_once}
    reads, random = _whole(load.read_pct), _whole(load.random_pct)
    kinds = {0: ("write", "randwrite"), 100: ("read", "randread")}
    rw = kinds.get(reads, ("rw", "randrw"))[random > 0]
    mixed = {} if reads in kinds else {"rwmixread": str(reads)}
    share = {} if random in (0, 100) else {"percentage_random": str(random)}
    if random < 100:
        at_once = _streams(array, load.outstanding, int(block))
    return {"rw": rw, **mixed, **share, **bs, **at_once}


def _whole(percent: Decimal) -> int:
    return int(percent.to_integral_value())


def _streams(array: ArrayShown, outstanding: int, block: int) -> dict[str, str]:
    """Give each outstanding operation a stretch of the device to itself, as far as streams go."""
    streams = max(n for n in range(1, min(outstanding, _MOST_STREAMS) + 1) if outstanding % n == 0)
    device, files = _device_bytes(array), _devices(array)
    grain = max(_MIB, block)
    each = device // streams // grain * grain
    if streams == 1 or not each:
        return {"iodepth": str(outstanding)}
    return {
        "iodepth": str(outstanding // streams),
        "numjobs": str(streams),
        "size": str(each * files),
        "offset_increment": str(each),
    }


def _is_passed_through(array: ArrayShown) -> bool:
    return array.layout.level == "none"


def _devices(array: ArrayShown) -> int:
    return array.layout.members if _is_passed_through(array) else 1


def _device_bytes(array: ArrayShown) -> int:
    capacity = array.capacity
    return capacity.drive_bytes if _is_passed_through(array) else capacity.usable_bytes


def command(of: ArrayTrial) -> str:
    """Say what to type on the server itself; `NAME` is that of the sheet's file."""
    only = "--readonly " if of.trial == "read" else ""
    file = f"NAME.{of.place}"
    return f"DEVICE=/dev/… fio {only}--output-format=json --output={file}.json {file}.fio"


def devices_words(of: ArrayTrial) -> str:
    """Say what `DEVICE` has to be, and how large it shows."""
    array = of.array
    if _is_passed_through(array):
        each = f"of {size(array.capacity.drive_bytes)} each"
        return f"its {_devices(array)} drives with colons between, {each}"
    return f"the array, of {size(array.capacity.usable_bytes)}"


def job_file(record: QuoteRecord, of: ArrayTrial) -> str:
    """Write the job file of one array."""
    danger: tuple[str, ...]
    if of.trial == "write":
        danger = (
            "THIS ERASES EVERYTHING on the device that DEVICE names. Only on the array just made,",
            "before anything of the customer's is on it. Read its size and serial number back",
            "first, with a second person; have nothing else connected that may not be lost.",
        )
    else:
        danger = (
            "The array holds the customer's data: these jobs only read, and --readonly has fio",
            "refuse anything else. Never run it without.",
        )
    if record.draft:
        danger = ("DRAFT: the quote is held, nothing of it is built yet.", *danger)
    # What somebody typed is cut, in one line: fio takes the end of a long comment for an option.
    about = ", ".join(filter(None, (f"Quote {shown(record.quote_number, 100)}", of.called)))
    lines = [
        f"Trial of speed for fio. {shown(about, 200)}, {date(record.date)}.",
        shown(f"{of.array.words}, {of.array.controller}, {of.array.drive}.", 200),
        "",
        *danger,
        "",
        f"DEVICE: {devices_words(of)}. Without it no job starts; none makes a file.",
        f"  {command(of)}",
        "NAME is that of this file. Nothing else may be at work meanwhile. Who quoted then runs",
        f"  quotelib measured NAME.json NAME.{of.place}.json",
    ]
    settings = {
        "filename": "${DEVICE}",
        "allow_file_create": "0",
        "allow_mounted_write": "0",
        "direct": "1",
        "ioengine": "libaio",
        "thread": "1",
        "randrepeat": "0",
        "norandommap": "1",
        "file_service_type": "random" if _is_passed_through(of.array) else "",
        "time_based": "1",
        "ramp_time": str(SETTLING),
        "runtime": str(SECONDS),
        "group_reporting": "1",
        "stonewall": "1",
    }
    blocks = [_section("global", settings)]
    blocks += [_section(of.name(job.key), job.options) for job in of.jobs]
    return "".join(f"# {line}".rstrip() + "\n" for line in lines) + "".join(blocks)


def _section(name: str, options: dict[str, str]) -> str:
    lines = (f"{option}={value}\n" for option, value in options.items() if value)
    return f"\n[{name}]\n{''.join(lines)}"
