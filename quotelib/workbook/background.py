"""How does slow work go on without blocking the page: in a thread, and only the latest counts."""

import asyncio
from collections.abc import Callable, Iterable
from concurrent.futures import ThreadPoolExecutor
from typing import Any

Step = tuple[Callable[[], Any], Callable[[Any], object]]
"""What to work out in the thread, and what to do with it in the page."""


class Background:
    """Works off the steps of the latest job; those of earlier jobs are dropped.

    Without a running event loop (in a test, say) it works at once.

    Parameters
    ----------
    failed : callable
        Told of a fault of ours, which would otherwise pass unseen.
    """

    def __init__(self, failed: Callable[[Exception], None]) -> None:
        self._failed = failed
        self._pool = ThreadPoolExecutor(1, thread_name_prefix="quotelib")
        self._turn = 0
        self._task: asyncio.Task[None] | None = None

    def drop(self) -> None:
        """Forget what is under way."""
        self._turn += 1

    def start(self, steps: Iterable[Step], done: Callable[[], None]) -> None:
        """Work off steps, one after the other.

        Parameters
        ----------
        steps : iterable of Step
        done : callable
            Called after the last one, unless a later job took over.
        """
        self._turn += 1
        mine = self._turn
        try:
            loop = asyncio.get_running_loop()
        except RuntimeError:
            for work, show in steps:
                show(work())
            done()
            return
        self._task = loop.create_task(self._guarded(list(steps), done, mine))

    async def _guarded(self, steps: list[Step], done: Callable[[], None], mine: int) -> None:
        try:
            await self._run(steps, done, mine)
        except Exception as error:
            self._failed(error)

    async def _run(self, steps: list[Step], done: Callable[[], None], mine: int) -> None:
        loop = asyncio.get_running_loop()
        for work, show in steps:
            if mine != self._turn:
                return
            result = await loop.run_in_executor(self._pool, self._unless_late, work, mine)
            if mine != self._turn:
                return
            show(result)
        done()

    def _unless_late(self, work: Callable[[], Any], mine: int) -> Any:
        return work() if mine == self._turn else None


def soon(work: Callable[[], None], waiting: list[bool]) -> None:
    """Do something once, after what is being handled now, however often it is asked for."""
    if waiting:
        return
    try:
        loop = asyncio.get_running_loop()
    except RuntimeError:
        work()
        return
    waiting.append(True)

    def go() -> None:
        waiting.clear()
        work()

    loop.call_soon(go)
