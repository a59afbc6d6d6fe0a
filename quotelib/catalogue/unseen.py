"""What stands in a cell that nobody can see, and is it meant."""

import re
import unicodedata
from typing import Any

from pydantic_core import PydanticCustomError

SPACES = "\t" + "".join(c for c in map(chr, range(0x3001)) if unicodedata.category(c) == "Zs")
# Nothing to see, and no part of a script: control and format characters, line separators, blank
# letters. Right-to-left marks and isolates and joiners stay: Arabic, Hindi and emoji need them.
_JOINERS = "\u061c\u200c-\u200f\u2066-\u2069\u0600-\u0605\u06dd\u070f\u0890\u0891\u08e2"
_FLAG = re.compile("\U0001f3f4[\U000e0020-\U000e007e]+\U000e007f")  # of a part of a country
_BLANK_LETTERS = "\u115f\u1160\u3164\uffa0"
_LINES = frozenset("\n\r\t")
_SIGNS = re.compile(f"[{_JOINERS}]+")
_CALLED = {"\n": "a line break", "\r": "a line break", "\t": "a tab"}


def wrong(why: str, right: str) -> PydanticCustomError:
    """Build the error every parser raises: why the value is wrong, and what would be right."""
    return PydanticCustomError("cell", "{why}|{right}", {"why": why, "right": right})


def seen(cell: Any, *, lines: bool = False) -> str:
    """Take the spaces from a cell's ends and refuse what nobody can see in it.

    With `lines`, line breaks and tabs may stand in it.
    """
    value = str(cell).strip(None if lines else SPACES)
    if value.isascii() and value.isprintable():
        return value
    for c in _FLAG.sub("", _SIGNS.sub("", value)):
        hidden = unicodedata.category(c) in {"Cc", "Cf", "Zl", "Zp"} or c in _BLANK_LETTERS
        if hidden and not (lines and c in _LINES):
            name = unicodedata.name(c, "a control character").lower()
            called = _CALLED.get(c, f"an invisible character, U+{ord(c):04X} ({name}),")
            raise wrong(f"has {called} in it", "delete the cell and type it anew on one line")
    return value if _SIGNS.sub("", value) else ""
