"""Where does everything go, at a glance: a schedule of places as SVG, in plain lines.

Not a picture of a front panel: a tree from the chassis to its socket, slots and numbered bays,
each with what goes there in words. How a line is drawn says the same again, so that the plan
reads in greyscale; ``title`` and ``desc`` say it to a screen reader.
"""

import textwrap
from collections.abc import Iterator, Mapping
from xml.etree import ElementTree as ET

from quotelib.build.placement import Bay, BayUse, Placement, numbers
from quotelib.build.seat import BRACKET_WORDS, SlotFacts
from quotelib.documents.charts import FONT

WIDTH = 680
_TRUNK, _NAME, _CONTENT = 10, 30, 215
_LINE, _GAP = 15, 5
_LETTERS = 70  # that fit to the right of _CONTENT at this size, capitals reckoned
_COLUMNS = 4

_USE: Mapping[BayUse, str] = {
    "member": "member",
    "spare": "hot spare",
    "passed_through": "passed through",
    "empty": "empty",
}


class Plan:
    """A bench plan that knows how to show itself.

    Parameters
    ----------
    svg : str
    words : str
        All of it in words.
    """

    def __init__(self, svg: str, words: str) -> None:
        self._svg = svg
        self.words = words

    def svg(self) -> str:
        """Give the SVG text."""
        return self._svg

    def _repr_mimebundle_(self, **_: object) -> Mapping[str, str]:
        html = f"<h2>Bench plan</h2>\n{self._svg}"
        return {"text/html": html, "image/svg+xml": self._svg, "text/plain": self.words}

    def __repr__(self) -> str:
        """Say it in words."""
        return self.words


def bench_plan(placement: Placement) -> Plan:
    """Draw the plan.

    Parameters
    ----------
    placement : Placement
        From the record.

    Returns
    -------
    Plan
    """
    places = list(_places(placement))
    title = f"Bench plan of {placement.chassis}"
    words = f"{title}. " + ". ".join(f"{name}: {'; '.join(lines)}" for name, lines in places)
    words += ". " + ". ".join(_bays_in_words(placement)) + "."
    return Plan(_draw(placement, places, title, words), words)


def _places(placement: Placement) -> Iterator[tuple[str, list[str]]]:
    """Name each place outside the bays, and what goes there."""
    seat, free = placement.controller, placement.free
    theirs = " (the customer's)" if "controller" in placement.owned else ""
    with_it = [
        f"{item.sku} {'on it' if item.kind == 'cache_protection' else 'with it'}"
        for item in placement.accessories
        if "controller" in item.for_parts and item.kind not in {"cable", "adapter"}
    ]
    link = (
        f"PCI Express generation {seat.gen}, {seat.lanes} lanes"
        if seat.gen is not None and seat.lanes is not None and seat.mounting != "board"
        else ""
    )
    controller = [f"{seat.sku}{theirs}", *([link] if link else []), *with_it]
    if seat.mounting == "board":
        yield "Board", [f"{seat.sku}{theirs}, part of it", *with_it]
    sockets = free.mezzanine_sockets + (seat.socket is not None)
    for socket in range(1, sockets + 1):
        yield (
            f"Mezzanine socket {socket}",
            controller if socket == seat.socket else ["stays free"],
        )
    slots: dict[int, SlotFacts | None] = {slot.slot: slot for slot in free.slots}
    if seat.slot is not None:
        slots[seat.slot] = None
    for number, slot in sorted(slots.items()):
        if slot is None:
            assert seat.bracket is not None
            yield (
                f"Slot {number}",
                [f"{controller[0]}, {BRACKET_WORDS[seat.bracket]} bracket", *controller[1:]],
            )
        else:
            facts = f"{BRACKET_WORDS[slot.height]}, generation {slot.gen}, {slot.lanes} lanes"
            yield f"Slot {number}", [f"stays free ({facts})"]
    if not slots:
        yield "Slots", ["this chassis has none"]
    cables = [item.sku for item in placement.accessories if item.kind == "cable"]
    lead = f"{' and '.join(cables)} from {seat.sku}" if cables else f"leads from {seat.sku}"
    yield "Backplane", [lead]
    with_drive = [item.sku for item in placement.accessories if item.bays]
    filled = sum(bay.use != "empty" for bay in placement.bays)
    drives = f"{filled} × {placement.drive}"
    if "drive" in placement.owned:
        drives += " (the customer's)"
    if with_drive:
        drives += f", each in {' and '.join(with_drive)}"
    yield f"Bays 1 to {len(placement.bays)}", [drives]


def _use(bay: Bay, spans: int) -> str:
    return f"{_USE[bay.use]}, span {bay.span}" if spans > 1 and bay.span else _USE[bay.use]


def _spans(placement: Placement) -> int:
    return max((bay.span or 1 for bay in placement.bays), default=1)


def _bays_in_words(placement: Placement) -> Iterator[str]:
    spans = _spans(placement)
    by_use: dict[str, list[int]] = {}
    for bay in placement.bays:
        by_use.setdefault(_use(bay, spans), []).append(bay.bay)
    for use, bays in by_use.items():
        yield f"{'Bay' if len(bays) == 1 else 'Bays'} {numbers(bays)}: {use}"


def _draw(placement: Placement, places: list[tuple[str, list[str]]], title: str, words: str) -> str:
    svg = ET.Element("svg")
    ET.SubElement(svg, "title", {"id": "plan-title"}).text = title
    ET.SubElement(svg, "desc", {"id": "plan-desc"}).text = words
    y = 16
    _text(svg, 2, y, placement.chassis, bold=True)
    top = y + 6
    last = y
    for name, lines in places:
        y += _LINE + _GAP
        last = y - 4
        _line(svg, _TRUNK, last, _NAME - 5, last)
        _text(svg, _NAME, y, name, bold=True)
        for index, part in enumerate(textwrap.wrap("; ".join(lines), _LETTERS)):
            y += _LINE if index else 0
            _text(svg, _CONTENT, y, part)
    _line(svg, _TRUNK, top, _TRUNK, last)
    y = _draw_bays(svg, placement, y + _LINE + 2)
    svg.attrib.update(
        {
            "xmlns": "http://www.w3.org/2000/svg",
            "viewBox": f"0 0 {WIDTH} {y}",
            "width": str(WIDTH),
            "height": str(y),
            "role": "img",
            "aria-labelledby": "plan-title plan-desc",
            "font-family": FONT,
            "font-size": "12",
        }
    )
    return ET.tostring(svg, encoding="unicode")


def _draw_bays(svg: ET.Element, placement: Placement, top: int) -> int:
    """Write the bays in columns, read downwards; give where the plan ends."""
    spans, bays = _spans(placement), placement.bays
    rows = -(-len(bays) // _COLUMNS)
    step = (WIDTH - _NAME) // _COLUMNS
    for place, bay in enumerate(bays):
        x = _NAME + place // rows * step
        y = top + place % rows * (_LINE + 3)
        _mark(svg, bay.use, x, y - 6)
        _text(svg, x + 12, y + 4, f"Bay {bay.bay}", bold=bay.use != "empty")
        _text(svg, x + 58, y + 4, _use(bay, spans), soft=bay.use == "empty")
    return top + rows * (_LINE + 3) + 2


def _mark(svg: ET.Element, use: BayUse, x: int, y: int) -> None:
    """Draw a stroke: thick for a member, two for a spare, thin passed through, dashed empty."""
    if use == "spare":
        _line(svg, x, y, x, y + 13, width=1.6)
        _line(svg, x + 4, y, x + 4, y + 13, width=1.6)
    elif use == "empty":
        _line(svg, x + 2, y, x + 2, y + 13, width=1, dashes="2 2")
    else:
        _line(svg, x + 2, y, x + 2, y + 13, width=4.5 if use == "member" else 1.6)


def _line(
    svg: ET.Element, x1: int, y1: int, x2: int, y2: int, *, width: float = 1.2, dashes: str = ""
) -> None:
    ends = {"x1": x1, "y1": y1, "x2": x2, "y2": y2, "stroke-width": width, "stroke": "#1a1a1a"}
    line = ET.SubElement(svg, "line", {name: str(value) for name, value in ends.items()})
    if dashes:
        line.set("stroke-dasharray", dashes)


def _text(
    svg: ET.Element, x: int, y: int, text: str, *, bold: bool = False, soft: bool = False
) -> None:
    place = {"x": str(x), "y": str(y), "fill": "#555" if soft else "#1a1a1a"}
    if bold:
        place["font-weight"] = "bold"
    ET.SubElement(svg, "text", place).text = text
