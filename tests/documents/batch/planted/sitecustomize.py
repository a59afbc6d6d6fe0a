"""Disturbs a run from within, as its environment says; Python imports this first of all.

``PLANTED`` is JSON: ``out``, the folder whose writes are points; ``log``, a file that gets a letter
for each of them; ``starts``, one that gets a letter for each process; ``at``, the number of a point
(from 0), or an end of the name that is opened (or that sees another ``event``); ``do``, what
happens there.
"""

import errno
import io
import json
import os
import signal
import sys
import time

GIVEN = json.loads(os.environ.get("PLANTED", "null"))
WORKER = "serve()" in " ".join(sys.orig_argv)


def note(file: str) -> int:
    """Put a letter at the end of a file; give how many were there before."""
    handle = os.open(file, os.O_WRONLY | os.O_APPEND | os.O_CREAT, 0o600)
    os.write(handle, b"x")
    size = os.fstat(handle).st_size
    os.close(handle)
    return size - 1


def disturb() -> None:
    """Do what is to be done."""
    what = GIVEN["do"]
    if what == "kill main":
        os.kill(os.getppid() if WORKER else os.getpid(), signal.SIGKILL)
        time.sleep(0.05)  # what a worker does next it does without whoever began it
    elif what == "kill self":
        os.kill(os.getpid(), signal.SIGKILL)
    elif what == "wait":
        while os.access(GIVEN["until"], os.F_OK):
            time.sleep(0.05)
    elif what == "no memory":
        bytearray(1 << 62)
    elif what == "full":
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
    else:
        raise ZeroDivisionError("planted")


def point(name: object, event: str = "") -> None:
    """Take note of a write to come, and disturb it where it is the one."""
    at = GIVEN.get("at")
    if isinstance(at, str):
        if str(name).endswith(at) and event == GIVEN.get("event", "open"):
            disturb()
    elif note(GIVEN["log"]) == at:
        disturb()


def inside(name: object) -> bool:
    """Tell whether a file stands in the folder."""
    return isinstance(name, str | os.PathLike) and os.fspath(name).startswith(GIVEN["out"] + os.sep)


class Halved:
    """A file that is open for writing, with a point amid each write."""

    def __init__(self, file, name) -> None:  # type: ignore[no-untyped-def]
        self.file, self.name = file, name

    def __enter__(self):  # type: ignore[no-untyped-def]
        return self

    def __exit__(self, *_: object) -> None:
        self.file.close()

    def __getattr__(self, name: str):  # type: ignore[no-untyped-def]
        return getattr(self.file, name)

    def write(self, data) -> int:  # type: ignore[no-untyped-def]
        self.file.write(data[: len(data) // 2])
        self.file.flush()
        point("")
        self.file.write(data[len(data) // 2 :])
        return len(data)


def plant() -> None:
    """Listen to every write into the folder."""
    real_open, real_sync = io.open, os.fsync

    def opened(file, mode="r", *more, **named):  # type: ignore[no-untyped-def]
        found = real_open(file, mode, *more, **named)
        return Halved(found, file) if "w" in mode and inside(file) else found

    def synced(handle: int) -> None:
        point("")
        real_sync(handle)

    def heard(event: str, given) -> None:  # type: ignore[no-untyped-def]
        if event == "open":
            writes = (given[2] or 0) & (os.O_WRONLY | os.O_RDWR)
            if inside(given[0]) and writes:
                point(given[0], event)
        elif event in {"os.rename", "os.mkdir", "os.remove", "os.rmdir"} and inside(given[0]):
            point(given[0], event)

    io.open, os.fsync = opened, synced
    sys.addaudithook(heard)


if GIVEN is not None:
    if WORKER and GIVEN.get("starts"):
        note(GIVEN["starts"])
    if GIVEN.get("no_prctl"):
        import ctypes

        known = ctypes.CDLL
        ctypes.CDLL = lambda name, *more, **named: known(name or "none.so", *more, **named)
    if "do" in GIVEN or "log" in GIVEN:
        plant()
