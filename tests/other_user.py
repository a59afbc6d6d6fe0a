"""What another user of the machine tries: run as a program, with orders on its standard input.

It gives up its rights first, then reads, connects and listens wherever it can, and prints as JSON
what it got. The orders name places to save it from searching; none of them helps it in.
"""

import codecs
import http.client
import json
import os
import socket
import sys
from pathlib import Path
from typing import Any

import pytest
import zmq

NOBODY = 65534
_LATE_MS = 500
needs_root = pytest.mark.skipif(
    not hasattr(os, "geteuid") or os.geteuid() != 0 or not Path("/proc/net/tcp").exists(),
    reason="only root can become another user, and only Linux lists sockets under /proc",
)


def become_nobody() -> None:
    """Be a user with no rights but everybody's."""
    for name in ("ascii", "latin-1", "idna"):
        codecs.lookup(name)  # loaded while Python's own files can still be read
    os.setgroups([])
    os.setgid(NOBODY)
    os.setuid(NOBODY)


def readable(places: list[str]) -> list[str]:
    """Give the files, and those below folders, that can be read."""
    found = []
    for place in map(Path, places):
        inside = [Path(f, name) for f, _, names in os.walk(place) for name in names]
        for path in [place, *inside]:
            try:
                found.append(f"{path}: {path.read_bytes()[:40]!r}" if path.is_file() else "")
            except OSError:
                continue
    return list(filter(None, found))


def listening_ports(inodes: list[str]) -> list[int]:
    """Give the TCP ports that sockets listen on, of those with some inodes (proc_pid_net(5))."""
    ports = []
    for table in ("/proc/net/tcp", "/proc/net/tcp6"):
        for line in Path(table).read_text("ascii").splitlines()[1:]:
            cells = line.split()
            if cells[3] == "0A" and cells[9] in inodes:
                ports.append(int(cells[1].rpartition(":")[2], 16))
    return ports


def heard(ports: list[int]) -> str:
    """Subscribe to everything that is published on some ports, until told to stop."""
    context, poller = zmq.Context(), zmq.Poller()
    for port in ports:
        listener = context.socket(zmq.SUB)
        listener.setsockopt(zmq.SUBSCRIBE, b"")
        listener.connect(f"tcp://127.0.0.1:{port}")
        poller.register(listener, zmq.POLLIN)
    told = sys.stdin.fileno()
    poller.register(told, zmq.POLLIN)
    print("listening", flush=True)
    got, ready, listening = b"", dict[Any, int](), True
    while listening or ready.keys() - {told}:
        # Once told to stop, what has come already is still taken in.
        ready = dict(poller.poll(None if listening else _LATE_MS))
        listening = listening and told not in ready
        for listener in ready.keys() - {told}:
            got += b"".join(listener.recv_multipart())
    context.destroy(linger=0)
    return got.decode("utf-8", "replace")


def entered(folder: str) -> list[str]:
    """Give the sockets below a folder that let us in (their names everybody can read)."""
    found = []
    for line in Path("/proc/net/unix").read_text("utf-8").splitlines()[1:]:
        path = line.split()[-1]
        if not path.startswith(folder):
            continue
        with socket.socket(socket.AF_UNIX) as one:
            try:
                one.connect(path)
            except PermissionError:
                continue
            found.append(path)
    return found


def asked(port: int, path: str) -> list[Any]:
    """Ask the page's server for something, without its token."""
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=20)
    connection.request("GET", path)
    answer = connection.getresponse()
    return [answer.status, answer.read().decode("utf-8", "replace")]


def command_lines_with(text: str) -> list[str]:
    """Give the command lines of all processes that hold a text."""
    found = []
    for path in Path("/proc").glob("[0-9]*/cmdline"):
        try:
            line = path.read_bytes().decode("utf-8", "replace")
        except OSError:
            continue
        if text in line:
            found.append(line)
    return found


def _try_all() -> None:
    orders = json.loads(sys.stdin.readline())
    become_nobody()
    ports = listening_ports(orders["inodes"])
    found = {
        "ports": ports,
        "heard": heard([p for p in ports if p != orders["port"]]),
        "entered": entered(orders["sockets"]),
        "asked": [asked(orders["port"], path) for path in orders["paths"]],
        "command_lines": command_lines_with(orders["token"]),
        "readable": readable(orders["places"]),
    }
    print(json.dumps(found))


if __name__ == "__main__":
    if sys.argv[1:2] == ["read"]:
        become_nobody()
        print("\n".join(readable(sys.argv[2:])))
    else:
        _try_all()
