"""What did fio write: its JSON output, of version 2 or 3, as far as we need it."""

import datetime as dt
import math
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, NoReturn

from quotelib.bounded import read_bytes
from quotelib.errors import InputError, Problem, shown
from quotelib.foreign import read_json
from quotelib.measured.figures import Direction
from quotelib.units import KIB, MB

MOST_BYTES = 20_000_000
_RIGHT = "give a file that fio wrote with --output-format=json, one run a file"
_BEGIN = re.compile(r"^\{", re.MULTILINE)
_NANOSECONDS, _MICROSECONDS = 1e-6, 1e-3
"""Of a millisecond; the second is what version 2 counts in."""


@dataclass(frozen=True, slots=True)
class Side:
    """What was done of reads or of writes; times are in milliseconds, None: not told."""

    iops: float
    mb_s: float
    operations: float
    mean_ms: float | None
    percentiles_ms: Mapping[float, float]


@dataclass(frozen=True, slots=True)
class Ran:
    """One job that ran: as often as it has entries, unless fio put these together."""

    name: str
    entries: int
    error: int
    options: Mapping[str, str]
    seconds: float
    sides: Mapping[Direction, Side]


@dataclass(frozen=True, slots=True)
class Output:
    """One file of fio's; `when` it was written is in UTC, None: it does not say."""

    file: str
    version: str
    when: dt.datetime | None
    names: tuple[str, ...]
    ran: tuple[Ran, ...]


def read_output(path: Path, wanted: frozenset[str]) -> Output:
    """Read a file of fio's; only jobs whose names are wanted are looked into.

    Raises
    ------
    InputError
        Where it cannot be read or is not what fio writes.
    """
    file = path.name
    try:
        text = read_bytes(path, MOST_BYTES).decode("utf-8", "replace")
    except OSError as error:
        _wrong(file, "", "", f"cannot be read ({error.strerror or error})", _RIGHT)
    # Warnings of fio's may stand before it.
    begin = _BEGIN.search(text)
    if begin is None:
        _wrong(file, "", "", "holds no JSON", _RIGHT)
    try:
        data = read_json(text[begin.start() :])
    except ValueError as error:
        _wrong(file, "", "", str(error), f"{_RIGHT}, to its end")
    version = data.get("fio version")
    jobs = data.get("jobs")
    if not isinstance(version, str) or not isinstance(jobs, list):
        _wrong(file, "", "", "is JSON, but not fio's: no fio version or no jobs", _RIGHT)
    shared = _options(data.get("global options"))
    found: dict[tuple[str, object], list[tuple[int, dict[str, Any]]]] = {}
    for place, job in enumerate(jobs):
        if not isinstance(job, dict) or not isinstance(job.get("jobname"), str):
            _wrong(file, f"jobs.{place}", shown(str(job)), "is no job with a name", _RIGHT)
        group = job.get("groupid")
        key = (job["jobname"], group if isinstance(group, int) else None)
        found.setdefault(key, []).append((place, job))
    ran = (_ran(file, name, same, shared) for (name, _), same in found.items() if name in wanted)
    return Output(
        file=file,
        version=shown(version),
        when=_when(file, data),
        names=tuple(dict.fromkeys(name for name, _ in found)),
        ran=tuple(ran),
    )


def _ran(
    file: str, name: str, same: list[tuple[int, dict[str, Any]]], shared: Mapping[str, str]
) -> Ran:
    """Put the entries of one job together: there are several where fio did not do it itself."""
    errors = [int(_number(file, f"jobs.{place}", job, "error") or 0) for place, job in same]
    runtimes = []
    sides: dict[Direction, Side] = {}
    directions: tuple[Direction, ...] = ("read", "write")
    for direction in directions:
        parts = []
        for place, job in same:
            where, side = f"jobs.{place}.{direction}", job.get(direction)
            if not isinstance(side, dict):
                _wrong(file, where, shown(str(side)), "is not what fio writes there", _RIGHT)
            parts.append(_side(file, where, side))
            runtimes.append(_number(file, where, side, "runtime") or 0)
        sides[direction] = _together(parts)
    options = {**shared, **_options(same[0][1].get("job options"))}
    error = next(filter(None, errors), 0)
    return Ran(name, len(same), error, options, max(runtimes) / 1000, sides)


def _side(file: str, where: str, side: Mapping[str, Any]) -> Side:
    def number(*path: str) -> float | None:
        return _number(file, where, side, *path)

    mb_s = number("bw_bytes")
    if mb_s is None:
        mb_s = (number("bw") or 0) * KIB  # version 2 has KiB a second only
    # With submission; the percentiles of it are told where they were asked for.
    scale, key = (_NANOSECONDS, "lat_ns") if "lat_ns" in side else (_MICROSECONDS, "lat")
    mean = number(key, "mean")
    told: Mapping[float, float] = {}
    for times in (key, key.replace("lat", "clat")):
        told = told or _percentiles(file, f"{where}.{times}", side.get(times), scale)
    return Side(
        iops=number("iops") or 0,
        mb_s=mb_s / MB,
        operations=number("total_ios") or 0,
        mean_ms=None if mean is None else mean * scale,
        percentiles_ms=told,
    )


def _percentiles(file: str, where: str, times: Any, scale: float) -> dict[float, float]:
    told = times.get("percentile") if isinstance(times, dict) else None
    if not isinstance(told, dict):
        return {}
    found = {}
    for name in told:
        value = _number(file, f"{where}.percentile", told, name)
        # Version 2 fills up with a percentile of nothing.
        if re.fullmatch(r"\d{1,3}(\.\d{1,9})?", name) and value is not None and float(name) > 0:
            found[float(name)] = value * scale
    return found


def _together(parts: list[Side]) -> Side:
    if len(parts) == 1:
        return parts[0]
    return Side(
        iops=sum(part.iops for part in parts),
        mb_s=sum(part.mb_s for part in parts),
        operations=sum(part.operations for part in parts),
        mean_ms=mean_ms(parts),
        percentiles_ms={},  # those of a whole do not follow from those of its parts
    )


def mean_ms(parts: Sequence[Side]) -> float | None:
    """Give the mean time of the operations of several; None: one of them does not tell."""
    operations = sum(part.operations for part in parts)
    if not operations or any(part.mean_ms is None for part in parts):
        return None
    return sum((part.mean_ms or 0) * part.operations for part in parts) / operations


def _options(found: Any) -> dict[str, str]:
    if not isinstance(found, dict):
        return {}
    return {name: str(value).strip() for name, value in found.items()}


def _when(file: str, data: Mapping[str, Any]) -> dt.datetime | None:
    seconds = _number(file, "", data, "timestamp")
    try:
        return dt.datetime.fromtimestamp(int(seconds), dt.UTC) if seconds else None
    except (ValueError, OverflowError, OSError):
        right = "it counts seconds since 1970"
        _wrong(file, "timestamp", shown(str(seconds)), "is no time", right)


def _number(file: str, where: str, data: Mapping[str, Any], *path: str) -> float | None:
    """Take a number; None: it is not there."""
    value: Any = data
    for key in path:
        value = value.get(key) if isinstance(value, Mapping) else None
    if value is None:
        return None
    try:
        number = float(value) if isinstance(value, int | float) else math.nan
    except OverflowError:
        number = math.inf
    if isinstance(value, bool) or not math.isfinite(number) or number < 0:
        column = ".".join(filter(None, (where, *path)))
        right = "fio writes a number there, 0 or more: measure again"
        _wrong(file, column, str(value)[:200], "is no figure of a measurement", right)
    return number


def _wrong(file: str, where: str, value: str, why: str, right: str) -> NoReturn:
    raise InputError([Problem(file, None, where, value, why, right)])


def each_side(ran: Ran, of: tuple[Direction, ...]) -> Iterator[Side]:
    """Give the sides of a job that did anything."""
    yield from (ran.sides[one] for one in of if ran.sides[one].operations)
