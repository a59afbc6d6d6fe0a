"""How does a reader get a sku without typing: as Code 128, drawn as inline SVG."""

from dataclasses import dataclass
from xml.etree import ElementTree as ET

from barcode.codex import Code128
from barcode.writer import BaseWriter

MODULE_MM = 0.25
"""Width of the narrowest bar where there is room; readers at a bench take from 0.19 mm on."""

NARROW_MM = 0.19
HEIGHT_MM = 8.5
_QUIET = 10  # modules of white on either side, as ISO/IEC 15417 asks (from memory)


@dataclass(frozen=True, slots=True)
class Barcode:
    """A drawn barcode.

    Parameters
    ----------
    svg : str
        An ``svg`` element that states its size in millimetres.
    width_mm : float
        Quiet zones included.
    """

    svg: str
    width_mm: float


class _Painter(BaseWriter):  # type: ignore[misc]
    """Take the bars from the library as one path, in modules."""

    def __init__(self) -> None:
        super().__init__(None, self._paint, None, self._finish)
        self.bars: list[str] = []
        self.end = 0

    def _paint(self, x: float, _y: float, width: float, colour: str | int) -> None:
        self.end = round(x + width)
        if colour == self.foreground:
            self.bars.append(f"M{round(x)} 0h{round(width)}v1h-{round(width)}z")

    def _finish(self) -> "_Painter":
        return self


class _Code128(Code128):  # type: ignore[misc]
    """The library's, but for one slip: it takes a leading pair 99 for a switch of characters."""

    def _try_to_optimize(self, encoded: list[int]) -> list[int]:
        if self.code.startswith("99"):
            return encoded
        optimized: list[int] = super()._try_to_optimize(encoded)
        return optimized


def code128(text: str, room_mm: float) -> Barcode | None:
    """Draw a text as Code 128.

    Parameters
    ----------
    text : str
    room_mm : float
        Width it may take; it is drawn with wider bars where that leaves room, and with bars
        narrower than `NARROW_MM` never.

    Returns
    -------
    Barcode or None
        None where the text has characters that Code 128 does not hold, or does not fit.
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
    svg = ET.Element(
        "svg",
        {
            "viewBox": f"0 0 {modules} 1",
            "preserveAspectRatio": "none",
            "width": f"{width:.2f}mm",
            "height": f"{HEIGHT_MM:g}mm",
            "role": "img",
            "aria-label": f"barcode of {text}",
            "shape-rendering": "crispEdges",
            "class": "barcode",
        },
    )
    ET.SubElement(svg, "path", {"d": "".join(painter.bars), "fill": "#000"})
    return Barcode(ET.tostring(svg, encoding="unicode"), width)
