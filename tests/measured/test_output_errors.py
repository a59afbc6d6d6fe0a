"""Files that cannot be used: what is wrong is said, with file, place and value."""

import json
import os
import random
from pathlib import Path
from typing import Any

import pytest

from quotelib.errors import InputError, Problem
from quotelib.measured.compare import asked_of, compare
from quotelib.measured.kept import Kept
from quotelib.measured.output import MOST_BYTES, read_output
from quotelib.measured.words import told

from . import outputs
from .outputs import job, old_side, options, output, side, write

MINE = "quotelib-s1-a1-host_iops"


def problem(path: Path) -> Problem:
    with pytest.raises(InputError) as wrong:
        read_output(path, frozenset({MINE}))
    (found,) = wrong.value.problems
    assert found.file == path.name and found.right
    return found


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("", "holds no JSON"),
        ("fio: io_u error\n", "holds no JSON"),
        ("[]", "holds no JSON"),
        ('{\n "fio version" : "fio-3.33",', "is not well-formed JSON"),
        ('{"fio version": "fio-3.33", "jobs": []}\n{"fio version": "3"}', "is not well-formed"),
        ("{}", "is JSON, but not fio's"),
        ('{"format": "quotelib quote record 5"}', "is JSON, but not fio's"),
        ('{"fio version": "fio-3.33", "jobs": 3}', "is JSON, but not fio's"),
        ('{"fio version": "fio-3.33", "jobs": [3]}', "is no job with a name"),
        ('{"fio version": "f", "jobs": [], "timestamp": 1e300}', "is no time"),
        ('{"fio version": "f", "jobs": [], "timestamp": -1}', "is no figure"),
        ('{"a": ' + "[" * 100_000, "is nested too deep"),
        ('{"fio version": "\\ud800", "jobs": []}', "half a character"),
    ],
)
def test_what_is_not_fios_is_told(tmp_path: Path, text: str, why: str) -> None:
    path = tmp_path / "some.json"
    path.write_text(text)
    assert why in problem(path).why


@pytest.mark.parametrize("value", ["NaN", "Infinity", "-1", "1e400", '"12"', "true", "9" * 400])
def test_a_figure_that_is_none_is_told_with_its_place(tmp_path: Path, value: str) -> None:
    path = write(tmp_path, output(job("other", {}), job(MINE, {}, read=side(4242.5))))
    path.write_text(path.read_text().replace("4242.5", value))
    found = problem(path)
    assert (found.column, found.why) == ("jobs.1.read.iops", "is no figure of a measurement")
    assert found.value and len(str(found)) < 400


@pytest.mark.parametrize("broken", [{"read": []}, {"write": None}, {"read": 7}])
def test_a_side_that_is_none_is_told(tmp_path: Path, broken: dict[str, Any]) -> None:
    assert "is not what fio writes" in problem(write(tmp_path, output(job(MINE, {}, **broken)))).why


def test_jobs_of_others_are_not_looked_into(tmp_path: Path) -> None:
    path = write(tmp_path, output(job("other", {}, read=7, write="x")))
    found = read_output(path, frozenset({MINE}))
    assert found.names == ("other",) and found.ran == ()


def test_what_fio_says_before_its_json_is_passed_over(tmp_path: Path) -> None:
    data = output(job(MINE, {}, read=side(10, 1, 2)))
    before = "fio: this platform does not support process shared mutexes {so}\nnote: both iodepth\n"
    (ran,) = read_output(write(tmp_path, data, before=before), frozenset({MINE})).ran
    assert ran.sides["read"].iops == 10


def test_files_that_are_too_large_or_none_are_told(tmp_path: Path) -> None:
    large = tmp_path / "large.json"
    with large.open("wb") as file:
        file.truncate(MOST_BYTES + 1)
    assert "larger than 20,000,000 bytes" in problem(large).why
    assert "cannot be read" in problem(tmp_path / "none.json").why
    os.mkfifo(tmp_path / "pipe.json")
    assert "cannot be read" in problem(tmp_path / "pipe.json").why
    assert "cannot be read" in problem(tmp_path).why
    raw = tmp_path / "raw.json"
    raw.write_bytes(b"\x00\xff\xfe" * 100)
    assert "holds no JSON" in problem(raw).why


ODD = [
    None,
    True,
    -1,
    0,
    1e308,
    float("nan"),
    "",
    "x" * 300,
    [],
    {},
    [[]],
    {"": 0},
    10**400,
    "\u202e",
]


def changed(rng: random.Random, data: Any) -> Any:
    """Put something odd anywhere into it, or leave something out."""
    if isinstance(data, dict | list) and data and rng.random() < 0.85:
        keys = list(data) if isinstance(data, dict) else range(len(data))
        key = rng.choice(keys)
        if rng.random() < 0.1:
            if isinstance(data, dict):
                return {name: value for name, value in data.items() if name != key}
            return [value for at, value in enumerate(data) if at != key]
        copy = dict(data) if isinstance(data, dict) else list(data)
        copy[key] = changed(rng, data[key])
        return copy
    return rng.choice(ODD)


def test_mutants_are_read_or_refused_and_nothing_else(tmp_path: Path) -> None:
    made = outputs.record()
    asked = asked_of(made)
    given = options(made, "host_iops")
    host = job(MINE, given, read=side(300, 2, 4, p99=9), write=side(150, 1, 4))
    whole = output(host, job("quotelib-s1-a1-read_iops", given, read=old_side(9, 9, 9)))
    rng, path, refused = random.Random(20), tmp_path / "fio.json", 0
    for _ in range(1500):
        mutant = changed(rng, whole)
        text = json.dumps(mutant)
        if rng.random() < 0.1:
            at = rng.randrange(len(text) + 1)
            text = text[:at] + rng.choice(["", "{", "\x00", "]"])
        path.write_text(text, "utf-8")
        try:
            came = compare(made, asked, [read_output(path, frozenset(asked))])
        except InputError as wrong:
            refused += 1
            assert all(len(str(one)) < 3000 for one in wrong.problems)
        else:
            assert Kept.model_validate_json(Kept(measurements=came.measurements).to_json())
            assert all("\n" not in line for line in told(came.measurements))
    assert 100 < refused < 1400
