"""How does a page stay its user's own, on a machine that others use too.

What a kernel publishes can be read by whoever connects to it, so nobody else may: it listens on
sockets in a folder that only its user can enter. The token of the page stands in a file that only
its user can read, and on no command line.
"""

import os
import stat
import tempfile
from pathlib import Path

import zmq
from markupsafe import escape

from quotelib.documents.batch.files import create_private
from quotelib.errors import InputError, Problem

# Voila makes a folder voila_XXXXXXXX, Jupyter sockets kernel-<uuid of 36>-ipc-<1 to 5> in it.
_TAIL = len("/voila_XXXXXXXX/kernel--ipc-5") + 36
_ENCRYPTION = "transport_encryption"
_REDIRECT = """<!DOCTYPE html>
<html lang="en"><head><meta charset="utf-8"><title>The workbook</title>
<meta name="referrer" content="no-referrer">
<meta http-equiv="refresh" content="0; url={address}"></head>
<body><p><a href="{address}">Open the workbook</a></p></body></html>
"""


def kernel_options() -> tuple[str, ...]:
    """Give options with which Voila's kernels can be read by this user alone.

    Where the system has no such sockets (Windows), or no folder with a name short enough for them,
    kernels listen on TCP, encrypted, and answer only who knows the key in their private file.

    Raises
    ------
    InputError
        Where neither can be had.
    """
    if folder := _socket_folder():
        return f"--Voila.connection_dir_root={folder}", "--KernelManager.transport=ipc"
    from jupyter_server.services.kernels.kernelmanager import MappingKernelManager

    if not (MappingKernelManager.class_traits().get(_ENCRYPTION) and zmq.has("curve")):
        why = "would let other users of this machine read along"
        right = "update jupyter-server and ipykernel, or name a short folder in TMPDIR"
        raise InputError([Problem("notebook", None, "", "", why, right)])
    return (f"--MappingKernelManager.{_ENCRYPTION}=required",)


def _socket_folder() -> str:
    """Find a folder for sockets; blank where there is none."""
    if not zmq.has("ipc") or os.name == "nt":
        return ""
    places = (os.environ.get("XDG_RUNTIME_DIR", ""), tempfile.gettempdir(), "/tmp")
    return next(filter(_holds_sockets, places), "")


def _holds_sockets(folder: str) -> bool:
    if not folder or len(os.fsencode(folder)) + _TAIL > zmq.IPC_PATH_MAX_LEN:
        return False
    try:
        there = Path(folder).stat()
    except OSError:
        return False
    # Nobody else may put a folder of theirs in the place of ours.
    mine = there.st_uid == os.geteuid() and not there.st_mode & stat.S_IWOTH
    usable = stat.S_ISDIR(there.st_mode) and os.access(folder, os.W_OK | os.X_OK)
    return usable and (mine or bool(there.st_mode & stat.S_ISVTX))


def redirect_file(folder: Path, address: str) -> Path:
    """Write a page that leads to an address, for this user's browser alone; give its path."""
    path = folder / "open.html"
    with create_private(path) as file:
        file.write(_REDIRECT.format(address=escape(address)))
    return path
