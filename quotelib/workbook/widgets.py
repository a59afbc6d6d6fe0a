"""Which widgets are ours: a labelled field, charts that do not flicker, and their library.

Text, buttons, tick boxes and the choice of a file are those of ipywidgets. A field is our own
because an impossible option must stay to be read, with its reason, which a list of the browser's
cannot do, and because label, help and error must be tied to the control for those who hear the
page.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from functools import cache
from pathlib import Path
from typing import Any

import anywidget
import ipywidgets
import traitlets
from markupsafe import escape

FRONT = Path(__file__).resolve().parent / "front"
_OPENED = {
    ".html": "text/html;charset=utf-8",
    ".json": "text/plain;charset=utf-8",
    ".fio": "text/plain;charset=utf-8",
    ".pdf": "application/pdf",
}
ANSWER, SOON, REST, CHOICES = "ql-answer", "ql-soon", "ql-rest", "ql-choices"
"""Classes of blocks that follow the enquiry: at once, what is made of it, after a search, lists."""
_ONCE = tuple(
    f"{name}.js"
    for name in (
        "make",
        "field",
        "pick",
        "several",
        "fold",
        "lines",
        "charts",
        "points",
        "jumps",
        "files",
        "engine",
    )
)


@cache
def front(name: str) -> str:
    """Read a file that goes to the browser."""
    return (FRONT / name).read_text("utf-8")


def _text(text: str = "") -> Any:
    return traitlets.Unicode(text).tag(sync=True)


def _list(items: Sequence[Any] = ()) -> Any:
    return traitlets.List(default_value=list(items)).tag(sync=True)


def _piece(name: str) -> Any:
    """Say how a widget is drawn: by what the page has once, so that it is small itself."""
    return _text(f'const PART = "{name}";\n{front("part.js")}')


class Field(anywidget.AnyWidget):  # type: ignore[misc]
    """One field: label, help, control, what is to know about what was typed, and error.

    Its `value` is text in every case, as in a cell of a file; blank is "not given". Where it `asks`
    for an answer, what stands there is an earlier one as soon as somebody types. `prices` stand
    beside the options of a list, by their values; `scope` says of what they are.
    """

    _esm = _piece("field")
    name, label, help, value, notice, error, unit, scope = (_text() for _ in range(8))
    kind = _text("text")
    options, limits = _list(), _list([0, 10, 1])
    store, session, row = _text(), _text(), _text()
    asks = traitlets.Bool(False).tag(sync=True)
    prices = traitlets.Dict().tag(sync=True)

    def focus(self) -> None:
        """Have the next letter typed into it."""
        self.send({})


class Fold(anywidget.AnyWidget):  # type: ignore[misc]
    """A button that opens and closes a block."""

    _esm = _piece("fold")
    label = _text()
    unfolded = traitlets.Bool(False).tag(sync=True)

    def __init__(self, block: Any, **more: Any) -> None:
        super().__init__(**more)
        self._block, self._there = block, True
        self.observe(lambda _: self.show(self._there), "unfolded")
        self.show(True)

    def show(self, there: bool) -> None:
        """Show it, or leave it out: then its block is open."""
        self._there = there
        show(self, there)
        show(self._block, self.unfolded or not there)


class Lines(anywidget.AnyWidget):  # type: ignore[misc]
    """The rows of a quote, a line each: title, words, mark, and whether it is in the form.

    `done` is told what is to be done, ``Edit`` or ``Take out``, and with which row, from 0.
    """

    _esm = _piece("lines")
    rows = _list()

    def __init__(self, done: Callable[[str, int], object]) -> None:
        super().__init__()
        self.on_msg(lambda _, said, __: done(said["does"], said["row"]))


class Charts(anywidget.AnyWidget):  # type: ignore[misc]
    """Charts one below the other; only what changed is drawn anew.

    `clicked`, where there is one, is told the data of a mark that somebody clicks on.
    """

    _esm = _piece("charts")
    charts = _list()
    clicks = traitlets.Bool(False).tag(sync=True)

    def __init__(self, clicked: Callable[[Mapping[str, object]], object] | None = None) -> None:
        super().__init__(clicks=clicked is not None)
        if clicked is not None:
            self.on_msg(lambda _, said, __: clicked(said.get("clicked") or {}))


class Points(anywidget.AnyWidget):  # type: ignore[misc]
    """A list of the points of a chart, each with its words and its build, to take one of.

    `taken` is told which, and its build, as `Charts` tells of a mark.
    """

    _esm = _piece("points")
    label = _text()
    points = _list()

    def __init__(self, label: str, taken: Callable[[Mapping[str, object]], object]) -> None:
        super().__init__(label=label)
        self.on_msg(lambda _, said, __: taken(said.get("clicked") or {}))


class Jumps(anywidget.AnyWidget):  # type: ignore[misc]
    """The parts of the page, each with its id and title, to go to."""

    _esm = _piece("jumps")
    parts = _list()


class Files(anywidget.AnyWidget):  # type: ignore[misc]
    """Files that were written, which the browser may open: these, to be read, and no others.

    A page may not follow a link to a file of this machine, so that what is in it is handed over.
    """

    _esm = _piece("files")
    files = _list()

    def __init__(self) -> None:
        super().__init__()
        self._paths: Sequence[Path] = ()
        self.on_msg(lambda _, said, __: self.hand_over(said.get("open")))

    def offer(self, files: Mapping[str, Path]) -> None:
        """Offer files, by what each is."""
        self._paths = list(files.values())
        self.files = [{"title": title, "path": str(path)} for title, path in files.items()]

    def hand_over(self, place: object) -> None:
        """Hand over what is in one of them."""
        if not isinstance(place, int) or not 0 <= place < len(self._paths):
            return
        path = self._paths[place]
        try:
            data = path.read_bytes()
        except OSError as error:
            self.send({"file": place, "gone": f"{path.name}: {error.strerror or error}."})
            return
        kind = _OPENED.get(path.suffix, "application/octet-stream")
        self.send({"file": place, "type": kind}, [data])


class Engine(anywidget.AnyWidget):  # type: ignore[misc]
    """What the page has once: how it is drawn, what the browser kept, what is worked out anew.

    `anew` lists classes of blocks (`ANSWER`, `REST`, `CHOICES`) that still show an earlier answer.
    The browser counts in `typed` what was typed, and `seen` is what of it the program has got to:
    until then everything is an earlier answer. `begun` counts how often another enquiry came into
    the fields: from the press of a button until then nothing is to be seen of the one before. The
    drawing `library` may come late.
    """

    _esm = _text("".join(map(front, _ONCE)))
    store, kept, library = _text(), _text(), _text()
    typed, seen, begun = (traitlets.Int(0).tag(sync=True) for _ in range(3))
    anew = _list()


def fill(fields: Mapping[str, Field], cells: Mapping[str, str], told: Callable[..., Any]) -> None:
    """Put cells into their fields, without a word to the one who is told of changes."""
    for name, text in cells.items():
        fields[name].unobserve(told, "value")
        try:
            fields[name].value = text
        finally:
            fields[name].observe(told, "value")


def option(value: str, label: str, detail: str = "", name: str = "") -> dict[str, str]:
    """Make an option of a list; `name` comes before the label where people know it by that.

    Judged, its ``state`` is blank, ``unmet`` or ``impossible``, and ``long`` and ``short`` say why.
    """
    judged = {"state": "", "long": "", "short": ""}
    return {"value": value, "label": label, "name": name, "detail": detail, **judged}


def html(text: str = "", *classes: str) -> Any:
    """Make a piece of page."""
    return _classed(ipywidgets.HTML(text), classes)


def warning(words: str) -> str:
    """Make a warning; none where there are no words."""
    return f'<p class="ql-warn">{escape(words)}</p>' if words else ""


def button(text: str, tooltip: str, done: Callable[[], object], *classes: str) -> Any:
    """Make a button; `done` takes no argument."""
    made = ipywidgets.Button(description=text, tooltip=tooltip)
    made.on_click(lambda _: done())
    return _classed(made, ("ql-action", *classes))


def caption(buttons: Sequence[Any], words: Sequence[str]) -> None:
    """Write words on buttons, in order, and hide those for which there are none."""
    for place, made in enumerate(buttons):
        made.description = words[place] if place < len(words) else ""
        show(made, place < len(words))


def box(children: Iterable[Any], *classes: str) -> Any:
    """Put widgets into a block that the style sheet lays out."""
    return _classed(ipywidgets.Box(list(children)), classes)


def show(widget: Any, there: bool) -> None:
    """Show a widget, or take it out of the page."""
    widget.layout.display = None if there else "none"


def _classed(widget: Any, classes: Sequence[str]) -> Any:
    for name in classes:
        widget.add_class(name)
    return widget
