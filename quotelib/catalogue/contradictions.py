"""What does each cell of a row allow, but the row as a whole not?

The cells are the row's text, whether or not each of them could be read.
"""

from collections.abc import Callable, Iterator, Mapping
from contextlib import suppress
from decimal import Decimal

from quotelib.catalogue.parts import Chassis, Controller, Drive, Option, Part, Slot
from quotelib.catalogue.tables import Row

Texts = Mapping[str, str]
Fault = tuple[str, str, str]
"""Column, why it is wrong, what would be right."""


def contradictions(model: type[Row], cells: Texts) -> Iterator[Fault]:
    """Find what a row of a file cannot be."""
    if issubclass(model, Part):
        yield from _part(cells)
        if _chosen_by_price(model, cells):
            yield from _given_away(cells)
    if model in _OF:
        yield from _OF[model](cells)


def _part(cells: Texts) -> Iterator[Fault]:
    if cells.get("replaced_by") and cells["replaced_by"] == cells.get("sku"):
        yield "replaced_by", "is its own sku", "name the part that replaces it, or leave it blank"


def _chosen_by_price(model: type[Row], cells: Texts) -> bool:
    """Tell what is chosen unasked because it costs least; a board comes with its chassis."""
    if model is Option:
        return cells.get("kind") in {"processor", "memory"}
    if model is Controller:
        return cells.get("mounting") in {"card", "mezzanine"}
    return model in (Drive, Chassis)


def _given_away(cells: Texts) -> Iterator[Fault]:
    for column in ("unit_cost", "unit_price"):
        with suppress(ArithmeticError):
            if Decimal(cells.get(column) or "NaN") == 0:
                why = "is 0, so that it would be chosen before all that costs something"
                yield column, why, "give an amount above 0, or take the row out"


def _drive(cells: Texts) -> Iterator[Fault]:
    media, interface = cells.get("media", ""), cells.get("interface", "")
    if media == "hdd":
        if not cells.get("rpm"):
            yield "rpm", "is blank for a disk", "give its speed, such as 7200"
        if not cells.get("seek_ms"):
            yield "seek_ms", "is blank for a disk", "give its average seek time, such as 8.5"
    elif media == "ssd":
        if cells.get("rpm"):
            yield "rpm", "is given for flash, which does not turn", "leave it blank"
        for column in ("read_iops", "write_iops"):
            if not cells.get(column):
                yield column, "is blank for flash", "give its 4 KiB random rate, such as 90000"
    if cells.get("block_bytes") == "4096" and cells.get("physical_block_bytes") == "512":
        why = "are fewer than block_bytes (4096)"
        yield "physical_block_bytes", why, "give 4096, or leave it blank"
    for column, only in (("lanes", "nvme"), ("link_gbit_s", "sas")):
        if cells.get(column) and interface in {"sata", "sas", "nvme"} - {only}:
            yield column, f"is given for a {interface} drive", f"only {only} drives have it"


def _controller(cells: Texts) -> Iterator[Fault]:
    kind, mounting = cells.get("kind", ""), cells.get("mounting", "")
    levels, brackets = cells.get("levels", ""), cells.get("brackets", "")
    if kind == "pass_through" and levels:
        right = "leave it blank, or make the kind raid"
        yield "levels", "are listed for a pass-through adapter, which makes no array", right
    if kind == "raid" and not levels:
        yield "levels", "are blank, though its kind is raid", "list them, such as 0;1;5;10"
    if mounting == "card" and not brackets:
        yield "brackets", "are blank for a card", "list low, full or low;full"
    if mounting in {"board", "mezzanine"}:
        why = f"are listed, though it is mounted as {mounting}"
        if brackets:
            yield "brackets", why, "leave them blank; only a card has any"
        if cells.get("connector_lanes"):
            why = f"are given, though it is mounted as {mounting}"
            yield "connector_lanes", why, "leave them blank; only a card has an edge connector"
    if not any(cells.get(c) for c in ("sata_gbit_s", "sas_gbit_s", "nvme_gen")):
        why = "is blank, as are sas_gbit_s and nvme_gen: nothing can be attached to it"
        yield "sata_gbit_s", why, "give the rate of at least one link"
    makes = _listed(levels)
    if extra := [level for level in _listed(cells.get("grows", "")) if level not in makes]:
        why = f"has {extra[0]} in it, which is not among its levels"
        yield "grows", why, "list levels that it makes, or leave it blank"
    yield from _connector(cells, "host_lanes")


def _chassis(cells: Texts) -> Iterator[Fault]:
    if not cells.get("bay_interfaces"):
        yield "bay_interfaces", "are blank, though it has bays", "list sata, sas or nvme"
    bays, supplies = (cells.get(name) or "1" for name in ("supply_bays", "supplies"))
    try:
        supply_w = Decimal(cells["supply_w"]) * (Decimal(supplies) or 1)
        short = Decimal(cells["base_w"]) > supply_w
        crowded = Decimal(supplies) > Decimal(bays)
    except (KeyError, ArithmeticError):
        return  # told by the columns themselves
    if short:
        yield "base_w", "is more than supply_w gives", "check both figures"
    if crowded:
        yield "supplies", f"are more than the supply_bays ({bays})", "check both figures"


def _slot(cells: Texts) -> Iterator[Fault]:
    yield from _connector(cells, "lanes")


def _option(cells: Texts) -> Iterator[Fault]:
    if cells.get("kind") == "supply" and not cells.get("supply_w"):
        yield "supply_w", "is blank for a supply", "give its watts, such as 800"
    if cells.get("kind") == "supply" and cells.get("card"):
        yield "card", "is given for a supply, which takes a supply bay", "leave it blank"
    if cells.get("card") and not cells.get("brackets"):
        yield "brackets", "are blank for a card", "list low, full or low;full"
    if cells.get("brackets") and not cells.get("card"):
        yield "brackets", "are listed, though it is no card", "put yes under card"


def _connector(cells: Texts, lanes: str) -> Iterator[Fault]:
    """Find an edge connector with fewer contacts than lanes are wired to it."""
    wired, long = cells.get(lanes, ""), cells.get("connector_lanes", "")
    if wired.isdecimal() and long.isdecimal() and int(long) < int(wired):
        yield "connector_lanes", f"are fewer than {lanes} ({wired})", "check both figures"


def _listed(cell: str) -> list[str]:
    return [item.strip() for item in cell.split(";") if item.strip()]


_OF: dict[type[Row], Callable[[Texts], Iterator[Fault]]] = {
    Drive: _drive,
    Controller: _controller,
    Chassis: _chassis,
    Slot: _slot,
    Option: _option,
}
