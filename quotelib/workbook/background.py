"""How does slow work go on without blocking the page: in a thread, and only the latest counts."""

import asyncio
import time
import traceback
from collections.abc import Awaitable, Callable, Iterable, Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

from quotelib.documents.batch.files import write_aside

_PAUSE_S = 0.002
"""Before the first step, in its thread, so that what the page was just told is on its way first."""

_SOON_S = 0.2

Loop = asyncio.AbstractEventLoop
Step = tuple[Callable[[], Any], Callable[[Any], object]]
"""What to work out in the thread, and what to do with it in the page."""


class Background:
    """Works off the steps of the latest job; those of earlier jobs are dropped.

    Without a running event loop (in a test, say) it works at once. `failed` is told of a fault of
    ours, which would otherwise pass unseen.
    """

    def __init__(self, failed: Callable[[Exception], None]) -> None:
        self._failed = failed
        self._pool = ThreadPoolExecutor(1, thread_name_prefix="quotelib")
        self._turn = 0
        self._task: asyncio.Task[None] | None = None

    def drop(self) -> None:
        """Forget what is under way."""
        self._turn += 1

    def start(self, steps: Iterable[Step]) -> None:
        """Work off steps, each asked for when the last is shown, unless a later job took over."""
        self._turn += 1
        loop = _loop()
        if loop is None:
            for work, show in steps:
                show(work())
            return
        left = iter(steps)
        if (first := next(left, None)) is not None:
            # It goes on in its thread while the one who asked has other things to do.
            under_way = loop.run_in_executor(self._pool, self._first, first[0], self._turn)
            self._task = loop.create_task(self._run(loop, under_way, first, left, self._turn))

    async def _run(
        self, loop: Loop, under_way: Awaitable[Any], step: Step, left: Iterator[Step], mine: int
    ) -> None:
        try:
            while True:
                result = await under_way
                if mine != self._turn:
                    return
                step[1](result)
                if (following := next(left, None)) is None:
                    return
                step = following
                under_way = loop.run_in_executor(self._pool, self._unless_late, step[0], mine)
        except Exception as error:
            self._failed(error)

    def _first(self, work: Callable[[], Any], mine: int) -> Any:
        time.sleep(_PAUSE_S)
        return self._unless_late(work, mine)

    def _unless_late(self, work: Callable[[], Any], mine: int) -> Any:
        return work() if mine == self._turn else None


def _loop() -> Loop | None:
    try:
        return asyncio.get_running_loop()
    except RuntimeError:
        return None


def looped() -> bool:
    """Tell whether there is an event loop, so that slow work goes on beside it."""
    return _loop() is not None


def soon(work: Callable[[], None], waiting: list[bool]) -> None:
    """Do something once, after what is being handled now, however often it is asked for."""
    if waiting:
        return
    waiting.append(True)

    def go() -> None:
        waiting.clear()
        work()

    loop = _loop()
    if loop is None:
        go()
    else:
        loop.call_soon(go)


def later(work: Callable[[], None]) -> None:
    """Do something once what comes with it has been handled; without a loop, not at all."""
    if (loop := _loop()) is not None:
        loop.call_later(_SOON_S, work)


def report(error: Exception, folder: Path) -> str:
    """Put the details of a fault of ours into a file; say so in words."""
    kind = type(error).__name__
    told = "".join(traceback.format_exception(error))
    try:
        # What the fault is about may be no text that a file can hold.
        told = told.encode("utf-8", "backslashreplace").decode("utf-8")
        write_aside(folder / "fault-workbook.txt", told)
    except OSError:
        return f"a fault of the program ({kind})."
    return f"a fault of the program ({kind}); please report it with the file fault-workbook.txt."
