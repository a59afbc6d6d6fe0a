"""Try mutants: ``python -m tests.fuzz 50000``; one of them: ``python -m tests.fuzz prices 17``.

Prints how many ended how, and each fault with the command that makes it again. Exit status 1
where there is any.
"""

import sys
import tempfile
import time
from pathlib import Path

from tests.fuzz.cuts import every_cut
from tests.fuzz.trying import KINDS, Found, mutant, run, try_many

_CHUNK = 250


def main(arguments: list[str]) -> int:
    """Run; give the exit status."""
    if len(arguments) == 2 and arguments[0] in KINDS:
        return _one(arguments[0], int(arguments[1]))
    if not arguments or not all(word.isdecimal() for word in arguments) or len(arguments) > 2:
        print("python -m tests.fuzz COUNT [FROM]; python -m tests.fuzz KIND NUMBER, with a KIND of "
              f"{', '.join(KINDS)}")  # fmt: skip
        return 2
    count, start = int(arguments[0]), int(arguments[1]) if len(arguments) > 1 else 0
    found, begun = Found(), time.process_time()
    with tempfile.TemporaryDirectory(prefix="fuzz-", dir=_quick()) as name:
        each = range(start, start + -(-count // len(KINDS)))
        for chunk in range(each.start, each.stop, _CHUNK):
            numbers = range(chunk, min(chunk + _CHUNK, each.stop))
            for kind in KINDS:
                before = len(found.faults)
                try_many(kind, numbers, Path(name), found)
                for of, number, fault in found.faults[before:]:
                    print(f"python -m tests.fuzz {of} {number}: {fault}", flush=True)
            done = len(KINDS) * (numbers.stop - each.start)
            seconds = time.process_time() - begun
            print(f"{done} tried, {len(found.faults)} faults, {seconds:.0f} s", flush=True)
        for end, number in sorted(found.ends.items()):
            print(f"{number:8}  {end}")
        cuts, noticed, unnoticed = every_cut(Path(name), step=1)
        print(f"{cuts:8}  cuts of starter files, {noticed} told, {len(unnoticed)} unnoticed")
        print(*unnoticed[:20], sep="\n")
    took, kind, number = found.slowest
    print(f"slowest: {took:.2f} s of the processor, {kind} {number}")
    return int(bool(found.faults or unnoticed))


def _one(kind: str, number: int) -> int:
    with tempfile.TemporaryDirectory(prefix="fuzz-", dir=_quick()) as name:
        print(run(kind, mutant(kind, number), Path(name) / "it", number))
    return 0


def _quick() -> Path | None:
    """Give a folder in memory where there is one: some hundred thousand files are written."""
    memory = Path("/dev/shm")
    return memory if memory.is_dir() else None


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
