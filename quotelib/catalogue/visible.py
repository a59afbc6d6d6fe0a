"""What can nobody see in a cell, and which of it does a script need?"""

import re
import unicodedata

SPACES = "\t" + "".join(c for c in map(chr, range(0x3001)) if unicodedata.category(c) == "Zs")
# Nothing to see, and no part of a script: control and format characters, line separators, blank
# letters. Right-to-left marks and isolates and joiners stay: Arabic, Hindi and emoji need them.
_JOINERS = "\u061c\u200c-\u200f\u2066-\u2069\u0600-\u0605\u06dd\u070f\u0890\u0891\u08e2"
_FLAG = re.compile("\U0001f3f4[\U000e0020-\U000e007e]+\U000e007f")  # of a part of a country
_BLANK_LETTERS = "\u115f\u1160\u3164\uffa0"
_LINES = frozenset("\n\r\t")
_SIGNS = re.compile(f"[{_JOINERS}]+")
_CALLED = {"\n": "a line break", "\r": "a line break", "\t": "a tab"}


def hidden_in(value: str, *, lines: bool = False) -> str:
    """Name the first thing in a text that nobody can see; blank where there is none.

    With `lines`, line breaks and tabs may stand in it.
    """
    if value.isascii() and value.isprintable():
        return ""
    for c in _FLAG.sub("", without_signs(value)):
        hidden = unicodedata.category(c) in {"Cc", "Cf", "Zl", "Zp"} or c in _BLANK_LETTERS
        if hidden and not (lines and c in _LINES):
            name = unicodedata.name(c, "a control character").lower()
            return _CALLED.get(c, f"an invisible character, U+{ord(c):04X} ({name}),")
    return ""


def without_signs(value: str) -> str:
    """Take out joiners and marks of direction, which a script needs and nobody sees."""
    return _SIGNS.sub("", value)
