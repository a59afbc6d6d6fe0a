"""Who may write into a folder: one at a time, and nobody is kept out by somebody who is gone.

The lock is the operating system's, which lets go of it however its holder ends. The file it is on
says nothing by being there.
"""

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from quotelib.errors import InputError, Problem

LOCK_FILE = ".quotelib-lock"

if sys.platform == "win32":
    import msvcrt

    def _locked(handle: int) -> bool:
        try:
            msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
        except OSError:
            return False
        return True
else:
    import fcntl

    def _locked(handle: int) -> bool:
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            return False
        return True


@contextmanager
def alone_in(folder: Path) -> Iterator[None]:
    """Keep everybody else from writing into a folder.

    Raises
    ------
    InputError
        Where somebody else is writing into it.
    OSError
        Where nobody can.
    """
    path = folder / LOCK_FILE
    handle = _take(path)
    if handle is None:
        why = "is being written to by another run"
        right = "wait until that one has ended, or name another folder"
        raise InputError([Problem(str(folder), None, "", "", why, right)])
    try:
        yield
    finally:
        if sys.platform == "win32":  # where nothing that is open can be taken away
            os.close(handle)
            with suppress(OSError):
                path.unlink()
        else:
            with suppress(OSError):
                path.unlink()
            os.close(handle)


def _take(path: Path) -> int | None:
    while True:
        handle = os.open(path, os.O_RDWR | os.O_CREAT, 0o666)
        if not _locked(handle):
            os.close(handle)
            return None
        # Whoever had the lock may have taken the file away since: then it is one that nobody sees.
        with suppress(OSError):
            if os.path.samestat(os.fstat(handle), path.stat()):
                return handle
        os.close(handle)
