"""Which widgets are ours: a labelled field, charts that do not flicker, and their library.

Plain text and buttons are those of ipywidgets. A field is our own because an impossible option
must stay to be read, with its reason, which a list of the browser's cannot do, and because label,
help and error must be tied to the control for those who hear the page.
"""

from functools import cache
from pathlib import Path
from typing import Any

import anywidget
import ipywidgets
import traitlets

FRONT = Path(__file__).resolve().parent / "front"


@cache
def _front(name: str) -> str:
    return (FRONT / name).read_text("utf-8")


@cache
def _library() -> str:
    """Bundle the drawing library; it comes with vl-convert, so that no network is needed."""
    import vl_convert

    from quotelib.documents.charts import VEGA_LITE

    bundled: str = vl_convert.javascript_bundle(_front("engine.js"), vl_version=VEGA_LITE)
    return bundled


class Field(anywidget.AnyWidget):  # type: ignore[misc]
    """One field: label, help, control and error.

    Its `value` is text in every case, as in a cell of a file; blank is "not given".
    """

    _esm = traitlets.Unicode(_front("field.js")).tag(sync=True)
    name = traitlets.Unicode().tag(sync=True)
    kind = traitlets.Unicode("text").tag(sync=True)
    label = traitlets.Unicode().tag(sync=True)
    help = traitlets.Unicode().tag(sync=True)
    value = traitlets.Unicode().tag(sync=True)
    error = traitlets.Unicode().tag(sync=True)
    unit = traitlets.Unicode().tag(sync=True)
    accept = traitlets.Unicode().tag(sync=True)
    options = traitlets.List().tag(sync=True)
    limits = traitlets.List(default_value=[0, 10, 1]).tag(sync=True)
    disabled = traitlets.Bool(False).tag(sync=True)
    store = traitlets.Unicode().tag(sync=True)
    session = traitlets.Unicode().tag(sync=True)


class Charts(anywidget.AnyWidget):  # type: ignore[misc]
    """Charts one below the other; only what changed is drawn anew."""

    _esm = traitlets.Unicode(_front("charts.js")).tag(sync=True)
    charts = traitlets.List().tag(sync=True)


class Engine(anywidget.AnyWidget):  # type: ignore[misc]
    """The drawing library for all `Charts`, and what the browser had kept."""

    _esm = traitlets.Unicode().tag(sync=True)
    store = traitlets.Unicode().tag(sync=True)
    kept = traitlets.Unicode().tag(sync=True)

    def __init__(self, **more: Any) -> None:
        super().__init__(_esm=_library(), **more)


def option(
    value: str, label: str, detail: str = "", state: str = "", reason: str = ""
) -> dict[str, str]:
    """Make an option of a list; `state` is blank, ``unmet`` or ``impossible``."""
    return {"value": value, "label": label, "detail": detail, "state": state, "reason": reason}


def html(text: str = "", *classes: str) -> Any:
    """Make a piece of page."""
    piece = ipywidgets.HTML(text)
    for name in classes:
        piece.add_class(name)
    return piece


def button(text: str, tooltip: str, done: Any, *classes: str) -> Any:
    """Make a button; `done` takes no argument."""
    made = ipywidgets.Button(description=text, tooltip=tooltip)
    made.add_class("ql-action")
    for name in classes:
        made.add_class(name)
    made.on_click(lambda _: done())
    return made


def box(children: list[Any], *classes: str) -> Any:
    """Put widgets into a block that the style sheet lays out."""
    made = ipywidgets.Box(children)
    for name in classes:
        made.add_class(name)
    return made


def style() -> Any:
    """Give the style sheet of the page."""
    return ipywidgets.HTML(f"<style>{_front('page.css')}</style>")
