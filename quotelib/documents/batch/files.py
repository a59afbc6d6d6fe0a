"""How is a file written: aside and then renamed, under a name that is safe everywhere."""

import csv
import errno
import hashlib
import io
import os
import re
import secrets
from collections.abc import Iterable
from functools import partial
from pathlib import Path
from typing import TextIO

_SAFE = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,63}", re.ASCII)
_RESERVED = {"con", "prn", "aux", "nul", *(f"{n}{i}" for n in ("com", "lpt") for i in range(10))}

ANNEX = "-annex"
"""How the name of an annex goes on after that of its offer."""
SELLERS_FOLDERS = frozenset({"records"})
SELLERS_FILES = ("summary.csv", "run.json", "unfinished.json", "quotelib_typed.json", "fault-")
"""How the names of files start that are the seller's wherever they are."""
_PRIVATE = 0o600


# What a file system says that knows no such thing as a folder on the disk.
_NO_SYNC = {errno.EINVAL, errno.ENOTSUP, errno.EBADF}


def sync_folder(folder: Path) -> None:
    """Have the names in a folder on the disk itself, where the system offers that."""
    if os.name == "nt":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    except OSError as error:
        if error.errno not in _NO_SYNC:
            raise
    finally:
        os.close(handle)


def write_new(path: Path, content: str | bytes) -> str:
    """Write a file that nobody reads yet, text in UTF-8, on the disk itself; give its SHA-256.

    Who may read it says `mode_of`.
    """
    data = content.encode("utf-8") if isinstance(content, str) else content
    with _create(path, mode_of(path)) as file:
        file.buffer.write(data)
        file.buffer.flush()
        os.fsync(file.fileno())
    return hashlib.sha256(data).hexdigest()


def write_aside(path: Path, text: str) -> None:
    """Write a UTF-8 file so that a reader sees the old one or the new one, never a half.

    Its folder is made where it is missing. Who may read it says `mode_of`.
    """
    path.parent.mkdir(parents=True, exist_ok=True)
    aside = path.parent / f".part-{secrets.token_hex(8)}"
    try:
        with _create(aside, mode_of(path)) as file:
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
        aside.replace(path)
        sync_folder(path.parent)
    except BaseException:
        aside.unlink(missing_ok=True)
        raise


def mode_of(path: Path) -> int:
    """Say who may read a file, by its name; the umask of the user is still taken from it.

    What is the seller's (cost, margin, what a customer has not been told) is private whatever the
    umask: most people have never set theirs, and the usual one lets everybody read.
    """
    sellers = path.parent.name in SELLERS_FOLDERS or path.name.startswith(SELLERS_FILES)
    return _PRIVATE if sellers else 0o666


def create_private(path: Path) -> TextIO:
    """Create a file that nobody else can read, not even before its first letter is written."""
    return _create(path, _PRIVATE)


def _create(path: Path, mode: int) -> TextIO:
    # The system takes the umask off: to read it, one would have to change it for other threads too.
    opener = partial(os.open, mode=mode)
    return open(path, "x", encoding="utf-8", newline="", opener=opener)


def csv_text(*rows: Iterable[str]) -> str:
    """Write rows of a CSV file, to be copied into one."""
    return "\n".join(map(_csv_row, rows))


def _csv_row(cells: Iterable[str]) -> str:
    line = io.StringIO(newline="")
    # Before Python 3.13 a carriage return is put between quotes only where it may end a line.
    csv.writer(line, lineterminator="\r\n").writerow(cells)
    return line.getvalue().removesuffix("\r\n")


def file_stems(ids: list[str]) -> list[str]:
    """Turn ids into file names without collisions, also where letter case does not count.

    Returns
    -------
    list of str
        One an id, whatever it holds. An id that is safe as it stands and not taken keeps its
        name; any other gets what is safe of it and a few digits of its hash.
    """
    taken: set[str] = set()
    stems = [""] * len(ids)
    tries: dict[str, int] = {}  # so that an id that is there often is not tried from the start
    # Ids that are safe as they stand come first, so that a mangled one cannot take their name.
    for place in sorted(range(len(ids)), key=lambda i: not _is_safe(ids[i])):
        name = ids[place]
        stem = name if _is_safe(name) else _mangled(name, 0)
        while stem.casefold() in taken:
            tries[name] = tries.get(name, 0) + 1
            stem = _mangled(name, tries[name])
        taken.add(stem.casefold())
        stems[place] = stem
    return stems


def _is_safe(name: str) -> bool:
    reserved = name.split(".")[0].casefold() in _RESERVED
    # Such a file would be written over what was measured of another quote, or over its annex.
    reserved = reserved or name.casefold().endswith((".measured", ANNEX))
    return _SAFE.fullmatch(name) is not None and not name.endswith(".") and not reserved


def _mangled(name: str, attempt: int) -> str:
    readable = re.sub(r"[^A-Za-z0-9]+", "-", name, flags=re.ASCII).strip("-")[:40]
    digest = hashlib.sha256(f"{attempt}:{name}".encode("utf-8", "surrogatepass")).hexdigest()
    return f"{readable or 'enquiry'}-{digest[:8]}"
