"""How is a page printed: by the system's chromium, which we start once and talk to by two pipes.

It is told what to do in the words of the Chrome DevTools Protocol: JSON, one message after the
other with a zero byte between. No port is opened, no name is looked up, and the page is handed over
as text, so that it sees no file either. What the browser writes meanwhile is in one folder.
"""

import base64
import json
import os
import select
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from contextlib import ExitStack, suppress
from pathlib import Path
from typing import IO, Any

from quotelib.errors import InputError, NotExported, Problem

COMMAND = "QUOTELIB_CHROMIUM"
"""Name of the variable that says which chromium, where it is not the one of the path."""
_SECONDS = 120.0
_GRACE = 5.0
_SAID = 300
_A4_INCHES = (210 / 25.4, 297 / 25.4)
_FLAGS = (
    "--headless",
    "--remote-debugging-pipe",
    "--disable-gpu",
    "--disable-breakpad",
    # Its own watchers would write into the folder when that is gone.
    "--disable-crash-reporter",
    "--disable-crashpad-for-testing",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
    "--host-resolver-rules=MAP * ~NOTFOUND",
    # Stands in every PDF as what made the page; by itself it names system and version.
    "--user-agent=quotelib",
    "--lang=en-US",
)
# The browser reads from file 3 and writes to file 4. On Linux the kernel ends it with its parent.
_START = """
import fcntl, os, sys
reads, writes, parent, *command = sys.argv[1:]
apart = [fcntl.fcntl(int(end), fcntl.F_DUPFD_CLOEXEC, 10) for end in (reads, writes)]
os.closerange(3, 10)
os.dup2(apart[0], 3)
os.dup2(apart[1], 4)
if sys.platform == "linux":
    import ctypes, signal
    ctypes.CDLL(None).prctl(1, signal.SIGKILL)
    if os.getppid() != int(parent):
        sys.exit(1)
os.execvp(command[0], command)
"""
# Fonts and pictures are there before anything is printed.
_READY = """Promise.all([document.fonts.ready, ...Array.from(document.images,
i => i.decode().catch(() => 0))]).then(() => document.readyState)"""


def chromium() -> str:
    """Find the command that prints.

    Raises
    ------
    InputError
        Where there is none.
    """
    named = os.environ.get(COMMAND, "")
    path = shutil.which(named or "chromium") if os.name == "posix" else None
    if path is None:
        why = f"needs chromium, and {named or 'the command chromium'} is not there"
        right = f"install it (Debian: apt-get install chromium), name it in {COMMAND} or leave out"
        if os.name != "posix":
            why, right = "is not offered on this system", "print the page from a browser; leave out"
        raise InputError([Problem("--pdf", None, "", "", why, f"{right} --pdf")])
    return path


def try_out() -> None:
    """Start the browser and end it again, before any work is done.

    Raises
    ------
    InputError
        Where it is not there, or does not start.
    """
    path = chromium()
    with tempfile.TemporaryDirectory(prefix="quotelib-") as folder:
        try:
            Browser(Path(folder)).close()
        except NotExported as error:
            right = f"start {path} --headless by hand and see, or leave out --pdf"
            raise InputError([Problem("--pdf", None, "", "", str(error), right)]) from None


class Browser:
    """A browser that nobody sees, until `close`.

    Parameters
    ----------
    folder : Path
        For what it writes while it runs, in a folder of its own there, which goes with it.

    Raises
    ------
    InputError
        Where there is no browser.
    NotExported
        Where it does not start.
    """

    def __init__(self, folder: Path) -> None:
        path, self._number, self._got = chromium(), 0, bytearray()
        with ExitStack() as held:
            try:
                self._begin(path, folder, held)
            except OSError as error:
                why = f"the browser does not start ({error.strerror or error})"
                raise NotExported(why) from None
            self._held = held.pop_all()
        try:
            self._ask("Browser.getVersion")
        except BaseException:
            self.close()
            raise

    def _begin(self, path: str, folder: Path, held: ExitStack) -> None:
        self._folder = tempfile.mkdtemp(prefix="chromium-", dir=folder)
        held.callback(removed, Path(self._folder))
        self._said = held.enter_context(tempfile.TemporaryFile())  # noqa: SIM115
        with ExitStack() as theirs:
            reads, to = os.pipe()
            theirs.callback(os.close, reads)
            self._to = held.enter_context(os.fdopen(to, "wb", buffering=0))
            back, writes = os.pipe()
            theirs.callback(os.close, writes)
            self._from = held.enter_context(os.fdopen(back, "rb", buffering=0))
            os.set_blocking(to, False)  # who does not read is not waited for without end
            start = [sys.executable, "-ISc", _START, str(reads), str(writes), str(os.getpid())]
            own = (*_unboxed(), f"--user-data-dir={self._folder}/profile")
            self._process = subprocess.Popen(
                [*start, path, *_FLAGS, *own], pass_fds=(reads, writes), process_group=0,
                env=self._surroundings(), stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL,
                stderr=self._said,
            )  # fmt: skip

    def _surroundings(self) -> dict[str, str]:
        """Have all that the browser writes in its folder, and no fonts but the system's."""
        names = ("HOME", "TMPDIR", "XDG_CONFIG_HOME", "XDG_CACHE_HOME", "XDG_DATA_HOME")
        return {**os.environ, **dict.fromkeys(names, self._folder)}

    def pdf(self, page: str) -> bytes:
        """Print a page on A4, or as its own style has it, tagged and with an outline.

        Raises
        ------
        NotExported
            Where the browser ends meanwhile, or does not answer in two minutes.
        """
        target = self._ask("Target.createTarget", url="about:blank")["targetId"]
        session = self._ask("Target.attachToTarget", targetId=target, flatten=True)["sessionId"]
        frame = self._ask("Page.getFrameTree", session)["frameTree"]["frame"]["id"]
        self._ask("Page.setDocumentContent", session, frameId=frame, html=page)
        self._ask("Runtime.evaluate", session, expression=_READY, awaitPromise=True)
        printed = self._ask(
            "Page.printToPDF", session, printBackground=True, preferCSSPageSize=True,
            paperWidth=_A4_INCHES[0], paperHeight=_A4_INCHES[1], generateTaggedPDF=True,
            generateDocumentOutline=True,
        )  # fmt: skip
        self._ask("Target.closeTarget", targetId=target)
        return base64.b64decode(printed["data"])

    def close(self) -> None:
        """End it, whatever it is doing, and leave nothing of it behind."""
        self._to.close()  # which tells it to go
        deadline = time.monotonic() + _GRACE
        while not _ended(self._process.pid) and time.monotonic() < deadline:
            time.sleep(0.01)
        # What it had begun goes with it, or writes into its folder when that is gone. Not taken
        # note of yet, its number is nobody else's.
        with suppress(OSError):
            os.killpg(self._process.pid, signal.SIGKILL)
        self._process.wait()
        self._held.close()

    def _ask(self, method: str, session: str = "", **parameters: Any) -> dict[str, Any]:
        """Say one thing and wait for its answer; what else the browser tells is passed over."""
        self._number += 1
        said = {"id": self._number, "method": method, "params": parameters}
        said |= {"sessionId": session} if session else {}
        deadline = time.monotonic() + _SECONDS
        try:
            left = memoryview(json.dumps(said).encode() + b"\0")
            while left:
                _wait(deadline, to=self._to)
                left = left[os.write(self._to.fileno(), left) :]
            while True:
                told = self._next(deadline)
                if told.get("id") == self._number:
                    break
        except OSError:
            raise NotExported(f"the browser ended ({self._last_words()})") from None
        if "result" not in told:
            raise NotExported(f"the browser cannot print it ({told.get('error')})")
        result: dict[str, Any] = told["result"]
        return result

    def _next(self, deadline: float) -> dict[str, Any]:
        while b"\0" not in self._got:
            _wait(deadline, of=self._from)
            data = os.read(self._from.fileno(), 1 << 20)
            if not data:
                raise BrokenPipeError
            self._got += data
        message, _, rest = self._got.partition(b"\0")
        self._got = rest
        told: dict[str, Any] = json.loads(message)
        return told

    def _last_words(self) -> str:
        size = self._said.seek(0, os.SEEK_END)
        self._said.seek(max(0, size - 4000))
        lines = self._said.read().decode("utf-8", "replace").splitlines()
        telling = [line for line in lines if "FATAL" in line or "andbox" in line] or lines
        return telling[-1][:_SAID] if telling else "it said nothing"


def _wait(deadline: float, of: IO[bytes] | None = None, to: IO[bytes] | None = None) -> None:
    left = max(0.0, deadline - time.monotonic())
    if not any(select.select([of] if of else [], [to] if to else [], [], left)):
        raise NotExported(f"the browser did not answer in {_SECONDS:.0f} seconds")


def _ended(process: int) -> bool:
    """Tell whether a child has ended, and leave it to be waited for."""
    try:
        return os.waitid(os.P_PID, process, os.WEXITED | os.WNOWAIT | os.WNOHANG) is not None
    except ChildProcessError:
        return True


def _unboxed() -> tuple[str, ...]:
    # Chromium refuses its sandbox to root. What it prints is ours, without script or address.
    return ("--no-sandbox",) if os.name == "posix" and os.geteuid() == 0 else ()


def removed(folder: Path) -> None:
    """Remove a folder that somebody who is just ending may still write into."""
    gone = 0
    for _ in range(40):
        # Once is not enough: a folder that is gone is made again to write into it.
        gone = 0 if folder.exists() else gone + 1
        if gone == 3:
            return
        shutil.rmtree(folder, ignore_errors=True)
        time.sleep(0.05)
