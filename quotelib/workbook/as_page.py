"""What of a notebook's text is true when it is shown as a page, where there are no cells to run."""

import re

_LINK = re.compile(r"\[(\w+)\.ipynb\]\(\1\.ipynb\)")
_FOR_CELLS = re.compile(
    r"(?:(?<=\s)|^)[^.\n]*(?:\*Run All Cells\*|\bthe (?:next|first) cell\b)[^.\n]*\.[ ]*", re.M
)
_LEFT = re.compile(r"\bWith the cell left as it is\b")


def as_page(text: str) -> str:
    """Turn links to notebooks into the command that opens each, and leave out talk of cells."""
    text = _LINK.sub(r"`quotelib open \1`", text)
    return _LEFT.sub("As it is", _FOR_CELLS.sub("", text))
