"""Who does it, where nobody says: the user of this machine."""

import getpass
from contextlib import suppress


def named(by: str) -> str:
    """Give the name, or that of the user."""
    if not by.strip():
        with suppress(OSError, KeyError, ImportError):
            return getpass.getuser()
    return by.strip() or "unknown"
