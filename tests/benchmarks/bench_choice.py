"""Time of the choice over a price list as long as a real one; prints JSON and asserts nothing.

Run: python -m tests.benchmarks.bench_choice [repeats]

Each figure comes from a fresh process, nothing remembered from before: the wall clock, and what the
processor did, which other work on the machine lengthens less. A rate is builds a second of the
processor, of all that agree with the pins, and of those of them that fit. Against it stand two, of
one chassis of the list: trying everything (`tests.choose.every`: every build made and asked every
rule, and where it fits priced, estimated and asked every demand), and what the choice was before
there were tables (`tests.choose.one_by_one`: no build of parts that do not go together is made).
"""

from __future__ import annotations

import json
import resource
import subprocess
import sys
import time
from collections.abc import Callable
from typing import Any

ONE_ARRAY = {
    "enquiry_id": "A", "customer": "Invented", "builds": "25", "usable_tb": "40", "survive": "2",
    "max_price": "9000", "workload": "files", "host_iops": "2500",
}  # fmt: skip
TWO_ARRAYS = [
    {"enquiry_id": "B", "customer": "Invented", "array": "vm", "usable_tb": "20", "survive": "1",
     "workload": "files", "host_iops": "2000"},
    {"enquiry_id": "B", "array": "backup", "usable_tb": "30", "survive": "2"},
]  # fmt: skip
SIZES = {"an eighth": (100, 30, 20), "all": (200, 60, 40), "eight times": (400, 120, 80)}
LARGE, BOX = (200, 60, 40), "CHS-004"


def timed(run: Callable[[], Any]) -> tuple[dict[str, float], Any]:
    """Take the time of something, and give what came of it."""
    wall, work = time.perf_counter(), time.process_time()
    found = run()
    wall, work = time.perf_counter() - wall, time.process_time() - work
    return {"seconds": round(wall, 3), "processor_s": round(work, 3)}, found


def one(parts: tuple[int, int, int], told: bool) -> dict[str, Any]:
    """Choose one array; where `told`, also what is shown beside it."""
    from quotelib.choose.alternatives import find_alternatives, rivals
    from quotelib.choose.search import choose
    from tests.asking import ask
    from tests.choose.large_list import large_list

    prices = large_list(*parts)
    row = ask(prices, **ONE_ARRAY)
    took, choice = timed(lambda: choose(prices, row))
    assert choice.best is not None and choice.asking is not None
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    found = {**took, "net": str(choice.best.net), "peak_mib": round(memory)}
    counted, counts = timed(lambda: choice.counts)
    found |= {"counts": counts.words, "possible": counts.possible, "counting": counted}
    found |= rates(counts.possible, counts.fit, took)
    if told:
        found["alternatives"], _ = timed(
            lambda: find_alternatives(prices, row, choice, choice.best)
        )
        found["front"], front = timed(lambda: choice.front)
        found["front"]["builds"] = len(front)
        found["removed"], _ = timed(lambda: choice.removed)
        found["controllers"], _ = timed(lambda: rivals(prices, row, choice))
        again, _ = timed(lambda: choose(prices, row.change(usable_tb=row.value("usable_tb") + 1)))
        found["another capacity"] = again
    return found


def rates(possible: int, fit: int, took: dict[str, float]) -> dict[str, int]:
    """Give builds a second of the processor."""
    work = took["processor_s"]
    return {"rate": round(possible / work), "rate_of_fitting": round(fit / work)}


def trying() -> dict[str, Any]:
    """Try everything in one chassis of the list, with a few of the drives for the slower."""
    from quotelib.build import fit
    from quotelib.build.layout import Layout
    from quotelib.choose.candidate import Candidate, judge
    from quotelib.choose.search import choose
    from quotelib.levels import LEVELS
    from tests.asking import ask
    from tests.choose.large_list import large_list
    from tests.choose.one_by_one import try_everything
    from tests.small_list import build

    prices = large_list(*LARGE)
    row = ask(prices, **ONE_ARRAY, chassis=BOX)
    choice = choose(prices, row)
    assert choice.counts is not None and choice.best is not None
    took, tried = timed(lambda: try_everything(prices, row))
    before = {**took, **rates(choice.counts.possible, choice.counts.fit, took)}
    same = tried.best is not None and tried.best.build == choice.best.build

    def every() -> tuple[int, list[Candidate]]:
        made, found = 0, []
        for controller in prices.controllers:
            for drive in list(prices.drives)[::70]:
                for level in LEVELS.values():
                    for members in range(1, prices.chassis[BOX].bays + 1):
                        for spans in level.spans_for(members):
                            made += 1
                            layout = Layout(level.name, members, spans)
                            one = build(prices, f"{BOX} {controller} {drive}", layout)
                            if not fit.stops(one):
                                found.append(Candidate(one, one.usable_bytes))
        judge(found, prices, row)
        return made, [one for one in found if all(d.met(one) for d in row.asked(prices))]

    took, (made, _) = timed(every)
    everything = {**took, "possible": made, "rate": round(made / took["processor_s"])}
    return {"everything": everything, "before": before, "same": same}


def two() -> dict[str, Any]:
    """Choose two open arrays; what is shown beside them; and how long it takes to say no."""
    from quotelib.choose.alternatives import find_alternatives_of_server
    from quotelib.choose.server import choose_server
    from quotelib.enquiry.reading import read_request
    from tests.choose.large_list import large_list

    prices = large_list(*LARGE)
    (asked,) = read_request(TWO_ARRAYS, prices).servers
    took, choice = timed(lambda: choose_server(prices, asked))
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    assert choice.best is not None
    found = {**took, "net": str(choice.best.net), "peak_mib": round(memory)}
    found["counting"], counts = timed(lambda: choice.counts)
    found["counts"] = counts.words
    found["alternatives"], others = timed(
        lambda: find_alternatives_of_server(prices, asked, choice.best)
    )
    found["alternatives"]["builds"] = len(others)
    found["removed"], removed = timed(lambda: choice.removed)
    found["removed"]["at_least"] = any(one.at_least for one in removed)
    for wish in ({"usable_tb": "5000"}, {"host_iops": "90000000"}, {"max_price": "500"}):
        rows = [TWO_ARRAYS[0] | wish, TWO_ARRAYS[1]]
        (less,) = read_request(rows, prices).servers
        found[f"refused: {next(iter(wish))}"], _ = timed(lambda: choose_server(prices, less))  # noqa: B023
    return found


def fresh(what: str) -> dict[str, Any]:
    """Do it in a process of its own."""
    made = subprocess.run(
        [sys.executable, "-m", "tests.benchmarks.bench_choice", "--one", what],
        check=True,
        capture_output=True,
    )
    found: dict[str, Any] = json.loads(made.stdout)
    return found


def main(repeats: int) -> None:
    """Print all figures."""
    tried = fresh("trying")
    found: dict[str, Any] = {"one by one": tried}
    for size in SIZES:
        runs = [fresh(size) for _ in range(repeats)]
        found[f"one array, {size}"] = min(runs, key=lambda run: run["processor_s"])
        found[f"one array, {size}"]["all_seconds"] = [run["seconds"] for run in runs]
    runs = [fresh("two") for _ in range(repeats)]
    found["two arrays"] = min(runs, key=lambda run: run["processor_s"])
    found["two arrays"]["all_seconds"] = [run["seconds"] for run in runs]
    large, before = found["one array, all"], tried["before"]
    found["times the rate"] = {
        "of trying everything": round(large["rate"] / tried["everything"]["rate"]),
        "of the choice before, all builds": round(large["rate"] / before["rate"]),
        "of the choice before, builds that fit": round(
            large["rate_of_fitting"] / before["rate_of_fitting"]
        ),
    }
    print(json.dumps(found, indent=2))


if __name__ == "__main__":
    if sys.argv[1:2] == ["--one"]:
        asked = sys.argv[2]
        made = {"trying": trying, "two": two}.get(asked)
        print(json.dumps(made() if made else one(SIZES[asked], told=asked == "all")))
    else:
        main(int(sys.argv[1]) if len(sys.argv) > 1 else 3)
