"""Figures against their ranges: inside, above, below, and what was not measured as quoted."""

import datetime as dt
from pathlib import Path
from typing import Any

import pytest

from quotelib.measured.compare import Compared, asked_of, compare
from quotelib.measured.figures import found_in
from quotelib.measured.kept import FigureMeasured
from quotelib.measured.output import read_output
from quotelib.measured.words import told, verdict
from quotelib.predict.estimate import Estimate
from quotelib.promise.record import QuoteRecord

from . import outputs
from .outputs import NAME, estimate, job, old_side, options, output, side, write


def held(made: QuoteRecord, path: Path) -> Compared:
    asked = asked_of(made)
    return compare(made, asked, [read_output(path, frozenset(asked))])


def figures(came: Compared) -> dict[str, FigureMeasured]:
    return {found.key: found for one in came.measurements for found in one.figures}


def test_a_load_gives_operations_response_and_throughput(tmp_path: Path) -> None:
    made = outputs.record()
    low, value, high = estimate(made, "host_iops")
    # Two thirds of it reads of 3 ms, one third writes of 6 ms: 4 ms in the mean.
    reads, writes = side(value * 2 / 3, 100, 3), side(value / 3, 50, 6)
    path = write(tmp_path, output(job(NAME + "host_iops", options(made, "host_iops"),
                                      read=reads, write=writes)))  # fmt: skip
    came = held(made, path)
    found = figures(came)
    assert set(found) == {"host_iops", "response_ms", "host_mb_s"}
    assert found["host_iops"].measured == pytest.approx(value, rel=1e-5)
    assert (found["host_iops"].where, found["host_iops"].worse) == ("inside", False)
    assert (found["host_iops"].low, found["host_iops"].high) == (low, high)
    assert found["host_mb_s"].measured == pytest.approx(150)
    assert found["response_ms"].measured == pytest.approx(4, rel=1e-3)
    (one,) = came.measurements
    assert one.doubts == () and one.when == dt.datetime(2026, 11, 28, 11, 22, 53, tzinfo=dt.UTC)
    assert (one.controller, one.drive, one.level) == ("CTL-RB2-12G-CD", "DRV-HDD-16T-SATA", "5")


@pytest.mark.parametrize(
    ("times", "where", "worse"), [(0.3, "below", True), (1, "inside", False), (3, "above", False)]
)
def test_more_of_a_rate_is_better(tmp_path: Path, times: float, where: str, worse: bool) -> None:
    made = outputs.record()
    value = estimate(made, "read_mb_s")[1]
    ran = job(NAME + "read_mb_s", options(made, "read_mb_s"), read=side(100, times * value, 1))
    came = held(made, write(tmp_path, output(ran)))
    found = figures(came)["read_mb_s"]
    assert (found.where, found.worse) == (where, worse)
    assert came.all_as_quoted is not worse


@pytest.mark.parametrize(("times", "where", "worse"), [(0.1, "below", False), (9, "above", True)])
def test_less_of_a_time_is_better(tmp_path: Path, times: float, where: str, worse: bool) -> None:
    made = outputs.record()
    iops, ms = estimate(made, "host_iops")[1], times * estimate(made, "response_ms")[1]
    ran = job(NAME + "host_iops", options(made, "host_iops"), read=side(iops, 1, ms))
    found = figures(held(made, write(tmp_path, output(ran))))["response_ms"]
    assert (found.where, found.worse) == (where, worse)


def test_the_ends_of_a_range_are_inside_and_what_is_beyond_is_said() -> None:
    made = FigureMeasured(
        key="read_iops", name="n", unit="a second", low=80, value=100, high=120, measured=80,
        where="inside", worse=False,
    )  # fmt: skip
    assert verdict(made) == "inside (20 % below the value quoted)"
    below = made.model_copy(update={"measured": 60.0, "where": "below", "worse": True})
    assert verdict(below) == "below the range by 25 %: WORSE than quoted"
    above = made.model_copy(update={"measured": 132.0, "where": "above"})
    assert verdict(above) == "above the range by 10 %: better than quoted"
    far = made.model_copy(update={"measured": 1200.0, "where": "above"})
    assert verdict(far) == "above the range, 10 times its end: better than quoted"


def test_version_2_counts_in_other_units_and_clones_are_put_together(tmp_path: Path) -> None:
    made = outputs.record(workload="video_edit")
    given = options(made, "host_iops")
    # Six streams, each told by itself: 40 reads a second of 512 KiB, 12.5 ms each.
    clone = job(NAME + "host_iops", given, read=old_side(40, 20480, 12_500), write={})
    clone["write"] = old_side(0, 0, 0)
    data = {"fio version": "fio-2.2.10", "jobs": [clone] * 6}
    (one,) = held(made, write(tmp_path, data)).measurements
    found = {figure.key: figure.measured for figure in one.figures}
    assert found["host_iops"] == 240
    assert found["response_ms"] == pytest.approx(12.5)
    assert found["host_mb_s"] == pytest.approx(240 * 524288 / 1e6, rel=1e-5)
    assert one.when is None and one.doubts == ()
    (again,) = held(made, write(tmp_path, {**data, "jobs": [clone] * 5})).measurements
    assert again.doubts == ("it has 5 entries for 6 clones",)


def with_estimates(made: QuoteRecord, *keys: str) -> QuoteRecord:
    """Quote further figures, as a later version of the estimates may."""
    (server,) = made.servers
    (array,) = server.arrays
    base = next(one for one in array.estimates if one.key == "response_ms")
    more = [base.model_copy(update={"key": key}) for key in keys]
    array = array.model_copy(update={"estimates": (*array.estimates, *more)})
    return made.model_copy(update={"servers": (server.model_copy(update={"arrays": (array,)}),)})


def test_percentiles_are_measured_where_they_are_quoted(tmp_path: Path) -> None:
    keys = ("read_p99_ms", "write_p99_9_ms", "response_p99_ms", "read_p98_ms")
    made = with_estimates(outputs.record(), *keys)
    reads, writes = side(200, 1, 4, p99=33.5, p95=20), side(100, 1, 4, p99=7, p99_9=60)
    ran = job(NAME + "host_iops", options(made, "host_iops"), read=reads, write=writes)
    found = figures(held(made, write(tmp_path, output(ran))))
    assert found["read_p99_ms"].measured == pytest.approx(33.5)
    assert found["write_p99_9_ms"].measured == pytest.approx(60)
    # That of both together does not follow from these, and fio was not asked for the last one.
    assert not {"response_p99_ms", "read_p98_ms"} & set(found)
    alone = job(NAME + "host_iops", options(made, "host_iops"), read=reads)
    found = figures(held(made, write(tmp_path, output(alone))))
    assert found["response_p99_ms"].measured == pytest.approx(33.5)


def test_a_key_that_no_job_gives_is_left_alone() -> None:
    assert found_in("degraded_iops") is None and found_in("loss_pct") is None
    assert found_in("p99_ms") is not None
    (speed,) = [e for e in outputs.record().servers[0].arrays[0].estimates if e.key == "host_iops"]
    assert isinstance(speed, Estimate)


@pytest.mark.parametrize(
    ("change", "doubt"),
    [
        ({"bs": "4k"}, "its blocks were '4k' and not of 8,192 bytes"),
        ({"bs": "8Kx"}, "its blocks were '8Kx'"),
        ({"iodepth": "1"}, "1 operations were outstanding and not 32"),
        ({"iodepth": "many"}, "is not clear"),
        ({"ioengine": "psync"}, "(the engine 'psync' has one at a time)"),
        ({"iodepth": "8", "numjobs": "4"}, "they were in 4 streams and not in 1"),
        ({"rwmixread": "70"}, "70 % of it were reads and not 67 %"),
        ({"percentage_random": "50"}, "50 % of it were at random places and not 100 %"),
        ({"rw": "rw"}, "its operations were 'rw' and not 'randrw'"),
        ({"direct": "0"}, "through the system's memory"),
        ({"filename": "/tmp/a"}, "'/tmp/a' is a file and no device"),
    ],
)
def test_another_load_than_quoted_is_said(
    tmp_path: Path, change: dict[str, str], doubt: str
) -> None:
    made = outputs.record()
    given = {**options(made, "host_iops"), **change}
    (one,) = held(made, _load(tmp_path, given)).measurements
    (said,) = one.doubts
    assert doubt in said
    assert any(doubt in line for line in told([one]))


@pytest.mark.parametrize(
    "change", [{"bs": "8k"}, {"bs": "8KB"}, {"rw": "", "readwrite": "randrw"}, {"direct": "true"}]
)
def test_other_words_for_the_same_load_are_no_doubt(tmp_path: Path, change: dict[str, str]) -> None:
    made = outputs.record()
    given = {**options(made, "host_iops"), **change}
    given = {name: value for name, value in given.items() if value}
    (one,) = held(made, _load(tmp_path, given)).measurements
    assert one.doubts == ()


def test_options_that_all_jobs_share_count_too(tmp_path: Path) -> None:
    made = outputs.record()
    shared = options(made, "host_iops")
    own = {"rw": shared.pop("rw"), "bs": shared.pop("bs")}
    path = _load(tmp_path, own, **{"global options": shared})
    assert held(made, path).measurements[0].doubts == ()


def _load(folder: Path, given: dict[str, str], **more: Any) -> Path:
    ran = job(NAME + "host_iops", given, read=side(300, 2, 4), write=side(150, 1, 4))
    return write(folder, output(ran, **more))


def test_too_short_a_run_is_said(tmp_path: Path) -> None:
    made = outputs.record()
    short = {**side(300, 2, 4), "runtime": 30_000}
    ran = job(NAME + "host_iops", options(made, "host_iops"), read=short)
    (one,) = held(made, write(tmp_path, output(ran))).measurements
    assert one.doubts == ("it counted 30 s, and 60 s are the least to rely on",)


def test_sums_beyond_all_numbers_are_no_figure(tmp_path: Path) -> None:
    made = outputs.record()
    much = {**side(300, 2, 4), "iops": 1.7e308, "bw_bytes": 1e308}
    ran = job(NAME + "host_iops", options(made, "host_iops"), read=much, write=much)
    assert set(figures(held(made, write(tmp_path, output(ran))))) == {"response_ms", "host_mb_s"}


def test_a_job_that_failed_gives_no_figure_and_is_not_as_quoted(tmp_path: Path) -> None:
    made = outputs.record()
    given = options(made, "read_iops")
    broken = job(NAME + "read_iops", given, read=side(1e6, 1, 1), error=5)
    idle = job(NAME + "write_iops", given)
    came = held(made, write(tmp_path, output(broken, idle)))
    assert came.measurements == () and not came.all_as_quoted
    assert came.failed == (
        f"fio.json: {NAME}read_iops ended with error 5",
        f"fio.json: {NAME}write_iops gave no figure",
    )


@pytest.mark.parametrize("end", [0, 2])
@pytest.mark.parametrize("beyond", [False, True])
def test_a_range_ends_where_it_was_quoted_to_end(tmp_path: Path, end: int, beyond: bool) -> None:
    made = outputs.record()
    ends = estimate(made, "read_iops")
    step = (1 if beyond else -1) * (-1 if end == 0 else 1) * 0.001 * ends[end]
    given = options(made, "read_iops")
    ran = job(NAME + "read_iops", given, read=side(ends[end] + step, 1, 1))
    found = figures(held(made, write(tmp_path, output(ran))))["read_iops"]
    assert found.where == (("below", "inside", "above")[end] if beyond else "inside")
