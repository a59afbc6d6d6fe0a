"""How much do we read of what is given to us: regular files only, and never more than a limit."""

import errno
import os
import stat
from pathlib import Path

MOST_BYTES = 50_000_000
"""Of any file that somebody gives us, where nothing smaller is said."""


def read_bytes(path: Path, most: int = MOST_BYTES) -> bytes:
    """Read a regular file of at most so many bytes, whatever size it claims to have.

    Raises
    ------
    OSError
        Where it cannot be opened or read; with ``EFBIG`` where it holds more, with ``EINVAL`` for
        a pipe or a device. Nothing is waited for.
    """
    # Opening a pipe that nobody writes to would wait; Windows has neither flag nor such files.
    flags = os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0)
    with os.fdopen(os.open(path, flags), "rb") as file:
        if not stat.S_ISREG(os.fstat(file.fileno()).st_mode):
            raise OSError(errno.EINVAL, "it is a pipe or a device, no regular file", str(path))
        data = file.read(most + 1)
    if len(data) > most:
        raise OSError(errno.EFBIG, f"it is larger than {most:,} bytes", str(path))
    return data


def read_text(path: Path, most: int = MOST_BYTES) -> str:
    """Read such a file as UTF-8.

    Raises
    ------
    OSError
        As `read_bytes`.
    UnicodeDecodeError
        Where it is not UTF-8.
    """
    return read_bytes(path, most).decode("utf-8")
