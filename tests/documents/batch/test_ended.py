"""What becomes of the others: an ended parent, a dead worker, two runs at once, a full disk."""

import json
import signal
import sys
from functools import partial
from pathlib import Path

import pytest

from tests.end_to_end.running import read_csv
from tests.small_list import write

from .disturbing import ask, begin, end, kill, nobody_left, tree, until

pytestmark = pytest.mark.skipif(sys.platform != "linux", reason="finds processes in /proc")
NAMES = [f"E{number}" for number in range(1, 7)]
# So many that one worker cannot have done them all before the other is seen to be gone.
MANY = [f"E{number}" for number in range(1, 61)]


@pytest.fixture
def prices(tmp_path: Path) -> Path:
    return write(tmp_path / "prices")


def _outcomes(out: Path) -> dict[str, str]:
    return {row["enquiry_id"]: row["outcome"] for row in read_csv(out / "summary.csv")}


@pytest.mark.parametrize(("name", "jobs"), [("SIGTERM", 1), ("SIGTERM", 2), ("SIGHUP", 2)])
def test_ended_politely(
    name: str, jobs: int, prices: Path, tmp_path: Path, request: pytest.FixtureRequest
) -> None:
    number = signal.Signals[name]
    # Under nohup it would be ignored from the start, here and there.
    request.addfinalizer(partial(signal.signal, number, signal.signal(number, signal.SIG_DFL)))
    out = tmp_path / "out"
    assert end(begin(ask(tmp_path / "one.csv", "E1"), out, prices))[0] == 0
    before = tree(out)
    many = ask(tmp_path / "many.csv", *(f"M{number}" for number in range(300)))
    process = begin(many, out, prices, jobs)
    until(lambda: [*out.rglob("quotes/M*.html")], "a page is made")
    kill(process, number)
    status, said = end(process)
    assert status == 2 and "Stopped" in said and "Traceback" not in said
    nobody_left(process)
    assert tree(out) == before


@pytest.mark.parametrize("no_prctl", [False, True])
def test_killed_alone(no_prctl: bool, prices: Path, tmp_path: Path) -> None:
    """Workers go with it, also where the system does not see to that."""
    out = tmp_path / "out"
    many = ask(tmp_path / "many.csv", *(f"M{number}" for number in range(300)))
    process = begin(many, out, prices, 2, plant={"no_prctl": no_prctl})
    until(lambda: [*out.rglob("quotes/*.html")], "a page is made")
    kill(process)
    process.wait()
    nobody_left(process)
    assert end(process)[0] == -signal.SIGKILL
    one = ask(tmp_path / "one.csv", "E1")
    assert "unfinished file" in end(begin(one, out, prices))[1]
    assert set(_outcomes(out)) == {"E1"}


@pytest.mark.parametrize(
    ("jobs", "do", "reason"),
    [
        (1, "kill self", "program fault (its process was ended by SIGKILL"),
        (2, "kill self", "program fault (its process was ended by SIGKILL"),
        (1, "no memory", "out of memory, nothing was written for this enquiry"),
        (1, "fail", "program fault (ZeroDivisionError), nothing was written"),
    ],
)
def test_costs_one_enquiry_only(
    jobs: int, do: str, reason: str, prices: Path, tmp_path: Path
) -> None:
    out, starts = tmp_path / "out", tmp_path / "starts"
    names = NAMES if jobs == 1 else MANY
    many = ask(tmp_path / "many.csv", *names)
    plant = {"at": ".part-run/bench/E2.html", "do": do, "starts": str(starts)}
    status, said = end(begin(many, out, prices, jobs, plant))
    assert status == 1 and "Traceback" not in said
    assert f"{len(names) - 1} quoted, 0 held, 0 refused, 0 invalid, 1 fault" in said
    assert _outcomes(out) == {**dict.fromkeys(names, "quoted"), "E2": "fault"}
    (row,) = [row for row in read_csv(out / "summary.csv") if row["outcome"] == "fault"]
    assert row["reason"].startswith(reason) and "fault-E2.txt" in row["reason"]
    assert [name for name in tree(out) if "E2." in name] == ["fault-E2.txt"]
    assert json.loads((out / "run.json").read_text("utf-8"))["outcomes"]["fault"] == 1
    # One more for the one that went, and none for those after it.
    assert starts.stat().st_size == jobs + (do != "fail")
    # Another day all goes well, and what told of the fault is out of the way.
    assert "fault-E2.txt" in end(begin(many, out, prices))[1]
    assert not (out / "fault-E2.txt").exists()
    assert [*out.glob("earlier/*/fault-E2.txt")]


def _whole(page: Path) -> bool:
    """Tell whether a page is written to its end: the next file is the one that is waited at."""
    return page.read_text("utf-8").endswith("</html>\n")


def test_the_second_run_is_told(prices: Path, tmp_path: Path) -> None:
    out, wait = tmp_path / "out", tmp_path / "wait"
    wait.touch()
    both = ask(tmp_path / "both.csv", "E1", "E2")
    plant = {"at": "bench/E2.html", "do": "wait", "until": str(wait)}
    first = begin(both, out, prices, plant=plant)
    until(lambda: any(map(_whole, out.rglob("quotes/E2-annex.html"))), "the first is at work")
    before = tree(out)
    (tmp_path / "link").symlink_to(out)
    for name in (out, tmp_path / "link"):
        status, said = end(begin(ask(tmp_path / "one.csv", "E3"), name, prices))
        assert status == 2 and "is being written to by another run" in said
        assert "Nothing was written" in said
    assert tree(out) == before
    wait.unlink()
    assert end(first)[0] == 0
    assert _outcomes(out) == {"E1": "quoted", "E2": "quoted"}
    assert not [name for name in tree(out) if Path(name).name.startswith(".")]


@pytest.mark.parametrize("point", [3, 12, 28, 36, 46])
def test_a_full_disk_changes_nothing(point: int, prices: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    asked = ask(tmp_path / "asked.csv", "E1", "E2")
    assert end(begin(asked, out, prices))[0] == 0
    before = tree(out)
    plant = {"log": str(tmp_path / "log"), "at": point, "do": "full"}
    status, said = end(begin(ask(tmp_path / "other.csv", "E1", "E3"), out, prices, plant=plant))
    assert status == 2 and "No space left on device" in said and "Traceback" not in said
    assert tree(out) == before


def test_a_disk_that_fails_between_two_runs_is_told(prices: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    assert end(begin(ask(tmp_path / "asked.csv", "E1"), out, prices))[0] == 0
    asked = ask(tmp_path / "other.csv", "E1", "E3")
    plant = {"at": ".part-run/summary.csv", "event": "os.rename", "do": "full"}
    status, said = end(begin(asked, out, prices, plant=plant))
    assert status == 2 and "unfinished.json there says what is left to do" in said
    assert set(_outcomes(out)) == {"E1"} and (out / "quotes" / "E3.html").exists()
    assert end(begin(asked, out, prices))[0] == 0
    assert set(_outcomes(out)) == {"E1", "E3"}
    assert not (out / "unfinished.json").exists()


def test_a_folder_where_a_file_goes(prices: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    (out / "summary.csv").mkdir(parents=True)
    before = tree(out)
    status, said = end(begin(ask(tmp_path / "asked.csv", "E1"), out, prices))
    assert status == 2 and "summary.csv: is a folder where a file goes" in said
    assert tree(out) == before
