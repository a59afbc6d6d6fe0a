"""What a page says: its text as a reader gets it, and what in it could do anything."""

import re
from html.parser import HTMLParser
from pathlib import Path

VOID = {"area", "base", "br", "col", "hr", "img", "input", "link", "meta", "source", "wbr"}
UNSEEN = {"style", "script"}
SPOKEN = {"aria-label", "aria-description", "title", "alt", "content", "data-label"}
"""Attributes whose value is read by somebody."""
_NUMBER = re.compile(r"\d+(?:,\d{3})*(?:\.\d+)?")


class Page(HTMLParser):
    """A page, parsed.

    Parameters
    ----------
    source : str
        HTML.
    """

    def __init__(self, source: str) -> None:
        super().__init__(convert_charrefs=True)
        self.tags: list[str] = []
        self.attributes: list[tuple[str, str, str]] = []
        """Tag, name and value."""
        self.pieces: list[str] = []
        self.named: dict[str, list[str]] = {}
        """Text by tag and by class of the elements it is in."""
        self._open: list[tuple[str, tuple[str, ...]]] = []
        self.feed(source)
        self.close()

    @classmethod
    def read(cls, path: Path) -> "Page":
        """Parse a file."""
        return cls(path.read_text("utf-8"))

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = {name: value or "" for name, value in attrs}
        self.tags.append(tag)
        self.attributes += [(tag, name, value) for name, value in given.items()]
        self.pieces += [value for name, value in given.items() if name in SPOKEN]
        if tag not in VOID:
            self._open.append((tag, (tag, *given.get("class", "").split())))

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.handle_starttag(tag, attrs)
        if tag not in VOID:
            self._open.pop()

    def handle_endtag(self, tag: str) -> None:
        assert self._open and self._open[-1][0] == tag, f"</{tag}> closes {self._open[-1:]}"
        self._open.pop()

    def handle_data(self, data: str) -> None:
        names = {name for _, names in self._open for name in names}
        for name in names:
            self.named.setdefault(name, []).append(data)
        if not names & UNSEEN:
            self.pieces.append(data)

    @property
    def text(self) -> str:
        """Everything a reader sees or hears, a space between any two pieces."""
        return squeezed(self.raw)

    @property
    def raw(self) -> str:
        """The same with its spaces as they are: narrow ones stand between thousands."""
        return " ".join(self.pieces)

    def within(self, name: str) -> str:
        """Give the text inside a tag or a class."""
        return squeezed("".join(self.named.get(name, [])))

    @property
    def numbers(self) -> set[str]:
        """Every number as written, with thousands marks and without."""
        return numbers_of(self.text)


def numbers_of(text: str) -> set[str]:
    """Every number of an English text as written, with thousands marks and without."""
    found = set(_NUMBER.findall(text))
    return found | {number.replace(",", "") for number in found}


_MARKS = {"en": ",.", "de": ".,", "fr": "\u202f,"}
"""What a language writes between thousands, and before decimals."""


def in_english(text: str, language: str) -> str:
    """Write the numbers of a text as English does, whatever its language."""
    thousands, decimals = _MARKS[language]
    text = re.sub(rf"(?<=\d){re.escape(thousands)}(?=\d\d\d)", "\0", text)
    text = re.sub(rf"(?<=\d){re.escape(decimals)}(?=\d)", ".", text)
    return text.replace("\0", ",")


def squeezed(text: str) -> str:
    """Give text as HTML shows it: any run of white space is one space."""
    return " ".join(text.split())
