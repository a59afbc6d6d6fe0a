"""Who does the work: processes of our own, each of which may die and costs one item.

A worker reads items from its standard input and writes what comes of them to its standard output.
Where that input ends, so does the worker, whatever it is doing: none outlives whoever began it.
"""

import gc
import os
import pickle
import queue
import signal
import subprocess
import sys
import tempfile
import threading
from collections import deque
from collections.abc import Callable, Generator, Mapping
from contextlib import suppress
from typing import IO, Any, Literal, NamedTuple

_TRIES = 3
_TURN_S = 0.5
_SAID = 4000
_PR_SET_PDEATHSIG = 1  # of Linux: prctl(2)
_GOT = b"got"
Do = Callable[[Any, Any], Any]
"""What to do with what all items have in common and with one of them."""


class Died(NamedTuple):
    """An item that no result came of: what became of its process, and what that said last."""

    why: Literal["memory", "process", "start"]
    how: str
    said: str


def spread(
    do: Do, common: object, items: Mapping[int, Any], workers: int
) -> Generator[tuple[int, Any], None, None]:
    """Do all items in processes, in whatever order; close it and they are gone.

    Parameters
    ----------
    do : callable
        Of a module. What it raises is raised here, out of memory apart.
    common, items
        Travel as values.

    Yields
    ------
    tuple
        Place of an item, and what came of it or `Died`.

    Raises
    ------
    ChildProcessError
        Where no process can be started at all.
    """
    crew = _Crew(do, common, items)
    threads = [threading.Thread(target=crew.drive, daemon=True) for _ in range(workers)]
    try:
        for thread in threads:
            thread.start()
        for _ in items:
            yield crew.next()
    finally:
        crew.end()
        for thread in threads:
            thread.join()


class _Crew:
    """Processes that share the items, each driven by a thread."""

    def __init__(self, do: Do, common: object, items: Mapping[int, Any]) -> None:
        self._work = pickle.dumps((do, common))
        self._left = deque(items.items())
        self._results: queue.SimpleQueue[tuple[int, Any, BaseException | None]]
        self._results = queue.SimpleQueue()
        self._lock = threading.Lock()
        self._there: set[_Process] = set()
        self._ended = self._began = False

    def next(self) -> tuple[int, Any]:
        while True:
            # With a time to wait, Ctrl and C is heard on every system.
            with suppress(queue.Empty):
                place, result, error = self._results.get(timeout=_TURN_S)
                if error is not None:
                    raise error
                return place, result

    def end(self) -> None:
        with self._lock:
            self._ended = True
            for process in self._there:
                process.kill()

    def drive(self) -> None:
        process: _Process | None = None
        place, tries = -1, _TRIES
        try:
            while not self._ended and self._left:
                with suppress(IndexError):  # another was quicker
                    place, item = self._left.popleft()
                    process, result = self._one(process, item, tries)
                    tries = 1 if isinstance(result, Died) and result.why == "start" else _TRIES
                    self._results.put((place, result, None))
        except BaseException as error:
            self._results.put((place, None, error))
        finally:
            if process is not None:
                self._close(process)

    def _one(
        self, process: "_Process | None", item: object, tries: int
    ) -> tuple["_Process | None", Any]:
        """Have an item done; give the process to go on with, too."""
        data, said = pickle.dumps(item), ""
        for _ in range(tries):
            process = process or self._start()
            if process is None:
                continue
            try:
                kind, result = process.ask(data)
            except (OSError, EOFError, pickle.UnpicklingError):
                died = self._close(process)
                began, process, said = process.began, None, died.said
                if began:  # or else it was gone before it had this one: not this one's fault
                    return None, died
                continue
            self._began = True
            if kind == "raised":
                raise result
            if kind == "memory":
                self._close(process)
                return None, Died("memory", "it needs more memory than there is", result)
            return process, result
        if not self._began and not self._ended:
            last = said.strip().rpartition("\n")[2]
            raise ChildProcessError(None, f"no process for the work can be started. {last}".strip())
        return None, Died("start", "no process could be started for it", said)

    def _start(self) -> "_Process | None":
        with self._lock:
            if self._ended:
                return None
            try:
                process = _Process(self._work)
            except OSError:
                return None
            self._there.add(process)
            return process

    def _close(self, process: "_Process") -> Died:
        died = process.close()
        with self._lock:
            self._there.discard(process)
        return died


class _Process:
    """A worker, seen from outside."""

    def __init__(self, work: bytes) -> None:
        self.began = False
        self._work: bytes | None = work
        # Not the multiprocessing module's: that would run a caller's own script again in each.
        code = f"import sys; sys.path[:] = {sys.path!r}; import {__name__} as w; w.serve()"
        self._said: IO[bytes] = tempfile.TemporaryFile()  # noqa: SIM115
        self._process = subprocess.Popen(
            [sys.executable, "-c", code],
            stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=self._said,
        )  # fmt: skip
        assert self._process.stdin is not None and self._process.stdout is not None
        self._to, self._from = self._process.stdin, self._process.stdout

    def ask(self, item: bytes) -> tuple[str, Any]:
        """Give it an item and wait for what comes of it."""
        self.began = False
        if self._work is not None:
            pickle.dump(self._work, self._to)
            self._work = None
        pickle.dump(item, self._to)
        self._to.flush()
        self.began = pickle.load(self._from) == _GOT
        kind, data = pickle.load(self._from)
        return kind, pickle.loads(data)

    def kill(self) -> None:
        """End it, whatever it is doing."""
        with suppress(OSError):
            self._process.kill()

    def close(self) -> Died:
        """Let it end, and say how it did."""
        with suppress(OSError):
            self._to.close()
        status = self._process.wait()
        self._from.close()
        size = self._said.seek(0, os.SEEK_END)
        self._said.seek(max(0, size - _SAID))
        said = self._said.read().decode("utf-8", "replace")
        self._said.close()
        return Died("process", _words(status), said)


def _words(status: int) -> str:
    if status >= 0:
        return f"its process ended with status {status}"
    try:
        name = signal.Signals(-status).name
    except ValueError:
        name = f"signal {-status}"
    more = ", as a system does that is out of memory" if name == "SIGKILL" else ""
    return f"its process was ended by {name}{more}"


def serve() -> None:
    """Be a worker: do items until there are no more."""
    asked, answers = os.fdopen(os.dup(0), "rb"), os.fdopen(os.dup(1), "wb")
    # Whatever else is printed must not stand among the answers.
    os.dup2(os.open(os.devnull, os.O_RDONLY), 0)
    os.dup2(2, 1)
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # who began us hears it too, and ends us
    _end_with_parent()
    # nbformat imports jsonschema, which offers no way to leave out this optional checker: it would
    # spend two seconds on a grammar of addresses that no notebook's schema asks for.
    sys.modules.setdefault("rfc3987_syntax", None)  # type: ignore[arg-type]
    do, common = pickle.loads(pickle.load(asked))
    # What is loaded by now lives to the end: looking through it again and again costs a tenth.
    gc.freeze()
    gc.set_threshold(50_000)
    waiting: queue.SimpleQueue[bytes] = queue.SimpleQueue()
    threading.Thread(target=_listen, args=(asked, waiting), daemon=True).start()
    while True:
        item = waiting.get()
        pickle.dump(_GOT, answers)
        answers.flush()
        kind, data = _did(do, common, item)
        pickle.dump((kind, data), answers)
        answers.flush()
        if kind == "memory":
            os._exit(0)


def _did(do: Do, common: object, item: bytes) -> tuple[str, bytes]:
    try:
        return "done", pickle.dumps(do(common, pickle.loads(item)))
    except MemoryError:
        return "memory", pickle.dumps("")
    except Exception as error:
        with suppress(Exception):
            return "raised", pickle.dumps(error)
        return "raised", pickle.dumps(RuntimeError(repr(error)))


def _listen(asked: IO[bytes], waiting: "queue.SimpleQueue[bytes]") -> None:
    with suppress(Exception):
        while True:
            waiting.put(pickle.load(asked))
    os._exit(0)


def _end_with_parent() -> None:
    """Have Linux end this process at once with whoever began it, even amid a long call of C."""
    if sys.platform == "linux":
        import ctypes

        with suppress(OSError, AttributeError):
            ctypes.CDLL(None).prctl(_PR_SET_PDEATHSIG, signal.SIGKILL)
