"""What is said where the database cannot do what it is asked."""

from sqlalchemy.exc import DBAPIError

from quotelib.errors import Problem, shown

_BUSY = ("is being written to by somebody else", "try again in a moment")
_READ_ONLY = ("can only be read", "have it where you may write, or ask who looks after it")
_FULL = ("has no room left on its disk", "make room there, then do it again")
_BROKEN = ("is damaged, or no register at all", "take the last copy that was kept of it")
_CLOSED = ("cannot be opened", "see that it is there and that you may read it")
_AGAIN = ("was changed by somebody else at the same moment", "do it again")
_DENIED = ("does not let this user do that", "ask who looks after it for the right to")
_FIXED = ("never changes what was given", "give a new revision instead")

_SQLITE = (
    ("SQLITE_CONSTRAINT_TRIGGER", _FIXED),
    ("SQLITE_BUSY", _BUSY),
    ("SQLITE_LOCKED", _BUSY),
    ("SQLITE_READONLY", _READ_ONLY),
    ("SQLITE_FULL", _FULL),
    ("SQLITE_IOERR", ("cannot be read or written (its disk says so)", "see to that disk")),
    ("SQLITE_CORRUPT", _BROKEN),
    ("SQLITE_NOTADB", _BROKEN),
    ("SQLITE_CANTOPEN", _CLOSED),
    ("SQLITE_AUTH", _DENIED),
    ("SQLITE_PERM", _DENIED),
    ("SQLITE_CONSTRAINT", _AGAIN),
)
# By the beginning of SQLSTATE (PostgreSQL's manual, appendix A).
_STATES = (
    ("P0001", _FIXED),
    ("55P03", _BUSY),
    ("40", _AGAIN),
    ("23", _AGAIN),
    ("25006", _READ_ONLY),
    ("53100", _FULL),
    ("53300", ("has too many who use it at once", "try again in a moment")),
    ("57P0", ("is being shut down", "try again when it is up")),
    ("28", ("does not know this user, or not the password", "see the user name and password")),
    ("3D000", ("has no such database", "name one that is there, or make it first")),
    ("42501", _DENIED),
    ("XX00", _BROKEN),
)
_UNREACHABLE = ("cannot be reached", "see that the server is up and the address is right")
_OTHER = ("could not do what it was asked", "report it with these words")


def wrong(name: str, error: DBAPIError) -> Problem:
    """Say what is wrong with a register; in doubt, what its database says is told too."""
    original = error.orig
    code = getattr(original, "sqlite_errorname", None)
    state = getattr(original, "sqlstate", None)
    if code is not None:
        why, right = next((words for start, words in _SQLITE if code.startswith(start)), _OTHER)
    elif state is not None:
        why, right = next((words for start, words in _STATES if state.startswith(start)), _OTHER)
    else:
        why, right = _connecting(str(original))
    if (why, right) in {_OTHER, _UNREACHABLE}:
        why = f"{why} ({said(original)})"
    return Problem(f"register {name}", None, "", "", why, right)


def _connecting(text: str) -> tuple[str, str]:
    """Tell by its words why there is no connection: the driver gives no code for it."""
    for words, state in (
        ("password", "28"), ("role", "28"), ("pg_hba", "28"), ("database", "3D000"),
        ("too many", "53300"), ("starting up", "57P0"), ("shutting down", "57P0"),
    ):  # fmt: skip
        if f"FATAL: {words}" in text or ("FATAL:" in text and words in text):
            return next(found for start, found in _STATES if start == state)
    return _UNREACHABLE


def said(error: object) -> str:
    """Give the first line of what a database says, short."""
    lines = [line.strip() for line in str(error).splitlines() if line.strip()]
    return shown(lines[0] if lines else type(error).__name__, 200)
