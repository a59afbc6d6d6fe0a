"""What a command says, how it complains, and how it ends: a terminal, and nothing of quotes."""

import argparse
import os
import shutil
import signal
import sys
import tempfile
import threading
import traceback
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any, TextIO

from quotelib.errors import one_line


def say(text: str, stream: TextIO | None = None) -> None:
    """Print lines; whatever a name or a file holds, a terminal only shows it."""
    print("\n".join(map(one_line, text.split("\n"))), file=stream)


def width() -> int:
    """Give how many characters a line may have."""
    return max(60, shutil.get_terminal_size((100, 24)).columns)


class Parser(argparse.ArgumentParser):
    """Says what is wrong with arguments by `say`: the shell fills in names of files."""

    def _print_message(self, message: str, file: Any = None) -> None:
        if message:
            say(message.removesuffix("\n"), file or sys.stderr)


@contextmanager
def ended_as_by_hand() -> Iterator[None]:
    """Have an end from outside, or of the terminal, clean up as Ctrl and C does."""
    names = ("SIGTERM", "SIGHUP") if threading.current_thread() is threading.main_thread() else ()
    taken = []
    for name in names:
        number = getattr(signal, name, None)  # which not every system has
        # One that is ignored already stays so: nohup does that.
        if number is not None and signal.getsignal(number) is signal.SIG_DFL:
            signal.signal(number, signal.default_int_handler)
            taken.append(number)
    try:
        yield
    finally:
        for number in taken:
            signal.signal(number, signal.SIG_DFL)


def reported(error: Exception) -> str:
    """Put the details of a fault of ours into a file of its own; say which."""
    try:
        handle, name = tempfile.mkstemp(prefix="quotelib-fault-", suffix=".txt")
        with os.fdopen(handle, "w", encoding="utf-8", errors="backslashreplace") as file:
            file.writelines(traceback.format_exception(error))
    except OSError:
        return ""
    return f"; please report it with the file {name}"
