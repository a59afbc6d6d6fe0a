"""How does a reader get a sku without typing: as Code 128, drawn as inline SVG."""

from typing import NamedTuple
from xml.sax.saxutils import escape

from barcode.codex import Code128
from barcode.writer import BaseWriter

MODULE_MM = 0.25
"""Width of the narrowest bar where there is room; readers at a bench take from 0.19 mm on."""

NARROW_MM = 0.19
HEIGHT_MM = 8.5
_SVG = (
    '<svg viewBox="0 0 {modules} 1" preserveAspectRatio="none" width="{width:.2f}mm" '
    f'height="{HEIGHT_MM:g}mm" role="img" aria-label="barcode of {{label}}" '
    'shape-rendering="crispEdges" class="barcode"><path d="{bars}" fill="#000" /></svg>'
)
_QUIET = 10  # modules of white on either side, as ISO/IEC 15417 asks (from memory)


class Barcode(NamedTuple):
    """A drawn barcode: an ``svg`` element that states its size, and its width with quiet zones."""

    svg: str
    width_mm: float


class _Painter(BaseWriter):  # type: ignore[misc]
    """Take the bars from the library as one path, in modules."""

    def __init__(self) -> None:
        super().__init__(None, self._paint, None, lambda: self)
        self.bars: list[str] = []
        self.end = 0

    def _paint(self, x: float, _y: float, width: float, colour: str | int) -> None:
        self.end = round(x + width)
        if colour == self.foreground:
            self.bars.append(f"M{round(x)} 0h{round(width)}v1h-{round(width)}z")


class _Code128(Code128):  # type: ignore[misc]
    """The library's, but for one slip: it takes a leading pair 99 for a switch of characters."""

    def _try_to_optimize(self, encoded: list[int]) -> list[int]:
        if self.code.startswith("99"):
            return encoded
        return list(super()._try_to_optimize(encoded))


def code128(text: str, room_mm: float) -> Barcode | None:
    """Draw a text as Code 128, with bars as wide as there is room for up to `MODULE_MM`.

    Returns
    -------
    Barcode or None
        None where the text has characters that Code 128 does not hold, or would need bars
        narrower than `NARROW_MM`.
    """
    if not text or not all(" " <= letter <= "~" for letter in text):
        return None
    painter = _Painter()
    options = {"module_width": 1, "quiet_zone": _QUIET, "write_text": False}
    _Code128(text, writer=painter).render(options)
    modules = painter.end + _QUIET
    module = min(MODULE_MM, room_mm / modules)
    if module < NARROW_MM:
        return None
    width = modules * module
    label, bars = escape(text, {'"': "&quot;"}), "".join(painter.bars)
    return Barcode(_SVG.format(modules=modules, width=width, label=label, bars=bars), width)


CELL_MM, ROW_MM = 60.0, 178.0
"""Room for a barcode in its column, and in a row of its own; a page is 180 mm wide inside."""


def barcode(sku: str) -> tuple[str, bool]:
    """Draw a sku for a pick list; blank where it cannot be drawn.

    Give also whether it needs a row of its own.
    """
    narrow = code128(sku, CELL_MM)
    drawn = narrow or code128(sku, ROW_MM)
    return ("", False) if drawn is None else (drawn.svg, narrow is None)
