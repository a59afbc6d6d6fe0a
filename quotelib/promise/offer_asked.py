"""What was asked, what is offered for it and what is not included, in the customer's language.

Read from the record alone: what a customer wrote stands there cell by cell.
"""

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Set
from decimal import Decimal
from typing import Any

from quotelib.enquiry.column import Of
from quotelib.enquiry.columns import COLUMNS
from quotelib.facts import Frozen
from quotelib.levels import LEVELS
from quotelib.promise.record import QuoteRecord, Server
from quotelib.promise.shown import ArrayShown, Lack, PartShown
from quotelib.promise.texts import Texts


class Answered(Frozen):
    """What was asked of a server, or of all of a quote, and what is offered, phrase by phrase.

    The name is blank for the only server.
    """

    name: str
    asked: tuple[str, ...]
    offered: tuple[str, ...]


def lacking_words(lacks: Iterable[Lack], t: Texts) -> Iterator[str]:
    """Say what is not included."""
    for lack in lacks:
        where = [t("name.server", name=name) for name in lack.servers]
        said = t(f"lack.{lack.what}")
        yield f"{t.listed(where)}: {said}" if where else said


def server_names(record: QuoteRecord, t: Texts) -> list[str]:
    """Name each server where there are several, or where the customer named it."""
    several = len(record.servers) > 1
    return [
        t("name.server", name=server.name or str(number)) if several or server.name else ""
        for number, server in enumerate(record.servers, 1)
    ]


def array_names(server: Server, t: Texts) -> list[str]:
    """Name each array of a server where there are several, or where the customer named it."""
    several = len(server.arrays) > 1
    return [
        t("name.array", name=array.name or str(number)) if several or array.name else ""
        for number, array in enumerate(server.arrays, 1)
    ]


def answered(record: QuoteRecord, t: Texts) -> Iterator[Answered]:
    """Set what was asked against what is offered, server by server, then for all of it.

    Of one server that needs no name all is said together.
    """
    asker, names = _Asked(record, t), server_names(record, t)
    asked, offered = tuple(asker.of_quote()), tuple(_offered_besides(record, t))
    for number, (name, server) in enumerate(zip(names, record.servers, strict=True)):
        of, gets = tuple(asker.of_server(number)), tuple(_offered(record, server, t))
        if not name:
            of, gets, asked, offered = (*of, *asked), (*gets, *offered), (), ()
        yield Answered(name=name, asked=of, offered=gets)
    if asked or offered:
        name = t("name.whole") if record.servers else ""
        yield Answered(name=name, asked=asked, offered=offered)


class _Asked:
    """Says what the cells of a record's rows ask for."""

    def __init__(self, record: QuoteRecord, t: Texts) -> None:
        self.record, self.t = record, t
        self.named = _descriptions(record)
        self.said: Mapping[str, Callable[[Any], str]] = {
            "usable_tb": lambda v: (
                t("asked.usable_tb", tb=t.plain(v)) if v else t("asked.any_size")
            ),
            "host_iops": lambda v: t("asked.host_iops", n=t.plain(v)),
            "host_mb_s": lambda v: t("asked.host_mb_s", n=t.plain(v)),
            "survive": lambda v: t("asked.survive", v) if v else "",
            "media": lambda v: t(f"asked.{v}"),
            "free_slots": self._slots,
            "max_price": lambda v: t("asked.max_price", money=t.money(v, record.currency)),
            "max_watts": lambda v: t("asked.max_watts", watts=t.plain(v)),
            "redundant_supply": lambda _: t("asked.redundant_supply"),
            "cores": lambda v: t("asked.cores", v),
            "memory_gb": lambda v: t("asked.memory_gb", n=t.whole(v)),
            "max_response_ms": lambda v: t("asked.max_response_ms", ms=t.plain(v)),
            "max_lead_days": lambda v: t("asked.max_lead_days", v),
            "members": lambda v: t("asked.members", v),
            "level": lambda v: LEVELS[v].label if LEVELS[v].is_array else t("asked.no_array"),
            "spans": lambda v: t("asked.spans", v),
            "spares": lambda v: t("asked.spares", v) if v else "",
            "action": lambda v: "" if v == "new" else t(f"asked.{v}"),
            "have_drives": lambda v: t("asked.have_drives", v),
            "from_controller": lambda _: t("asked.from_controller"),
            "from_drive": lambda _: t("asked.from_drive"),
            "chassis": lambda v: self.named.get(v, ""),
            "controller": lambda v: self.named.get(v, ""),
            "drive": lambda v: self.named.get(v, ""),
            "options": self._some,
            "services": self._some,
            "parts": self._some,
            "condition": lambda v: t("asked.any_condition") if v == "any" else "",
            "line": str,
            "discount_pct": lambda v: t("asked.discount_pct", pct=t.plain(v)) if v else "",
            "ship_by": lambda v: t("asked.ship_by", date=t.date(v)),
        }

    def of_server(self, number: int) -> Iterator[str]:
        """Say what the rows of one server ask for, each thing once."""
        server, t = self.record.servers[number], self.t
        if server.builds > 1:
            yield t("asked.builds", server.builds)
        rows = [row for row in self.record.rows if row.server == number]
        names = array_names(server, t)
        said: dict[str, None] = {}
        for row in rows:
            array = None if row.array is None else server.arrays[row.array]
            of = "" if row.array is None else names[row.array]
            own = list(self._of_row(row.cells, array, {"array"}))
            said |= dict.fromkeys(
                [t("name.of", name=of, said="; ".join(own))] if of and own else own
            )
            said |= dict.fromkeys(self._of_row(row.cells, array, {"server", "row"}))
        yield from said

    def of_quote(self) -> Iterator[str]:
        """Say what is asked beside servers, and of all of the quote."""
        beside = [row for row in self.record.rows if row.server is None]
        for row in beside:
            yield from self._of_row(row.cells, None, {"row"})
        for name, cell in self.record.rows[0].cells.items():
            if COLUMNS[name].of == "quote" and (said := self._phrase(name, cell)):
                yield said

    def _of_row(
        self, cells: Mapping[str, str], array: ArrayShown | None, kinds: Set[Of]
    ) -> Iterator[str]:
        """Say what a row's columns of some kinds ask for."""
        t = self.t
        owned = COLUMNS["owned"].parse(cells.get("owned", ""))
        for name, column in COLUMNS.items():
            if name not in cells or column.of not in kinds:
                continue
            if name == "workload" and array is not None:
                said = array.outlook.load.description
            elif name == "max_loss_pct" and array is not None:
                pct, years = t.plain(column.parse(cells[name])), array.outlook.years
                said = t("asked.max_loss_pct", pct=pct, years=years)
            else:
                said = self._phrase(name, cells[name])
            if said:
                yield t("asked.owned", what=said) if name in owned else said

    def _phrase(self, name: str, cell: str) -> str:
        say = self.said.get(name)
        return say(COLUMNS[name].parse(cell)) if say else ""

    def _some(self, skus: Iterable[str]) -> str:
        t = self.t
        return t.listed(
            t("phrase.some", number, what=self.named.get(sku, sku))
            for sku, number in Counter(skus).items()
        )

    def _slots(self, wanted: Iterable[Any]) -> str:
        t = self.t
        said = []
        for one in wanted:
            more = [t("asked.slot_full")] if one.height == "full" else []
            more += [t("asked.slot_lanes", one.lanes)] if one.lanes else []
            said.append(t("asked.free_slots", one.count) + "".join(f", {words}" for words in more))
        return t.listed(said)


def _descriptions(record: QuoteRecord) -> dict[str, str]:
    """Give what each thing of a record is called, by sku."""
    named: dict[str, str] = {}
    for server in record.servers:
        named |= {pick.sku: pick.description for pick in server.bench.pick}
        named |= {part.sku: part.description for part in server.parts}
        named |= {line.sku: line.description for line in server.lines}
    for item in record.items:
        named |= {line.sku: line.description for line in item.lines}
    return named


def described(part: PartShown, t: Texts) -> str:
    """Name a part; with its condition, unless it is new or its name says it."""
    if part.condition == "new" or part.condition in part.description.casefold():
        return part.description
    return t("phrase.refurbished", what=part.description)


def _offered(record: QuoteRecord, server: Server, t: Texts) -> Iterator[str]:
    parts = {part.sku: part for part in server.parts}
    chassis = parts.get(server.chassis)
    owned = chassis is not None and chassis.owned
    called = described(chassis, t) if chassis is not None else server.chassis
    yield t("offered.own_server" if owned else "offered.server", server.builds, chassis=called)
    for name, array in zip(array_names(server, t), server.arrays, strict=True):
        said = _array(array, parts.get(array.drive), t)
        yield t("name.of", name=name, said=said) if name else said
    drives = {array.drive for array in server.arrays} | {server.chassis}
    for part in (part for part in server.parts if part.sku not in drives):
        what = described(part, t)
        what = t("phrase.yours", what=what) if part.owned else what
        yield t("phrase.some", part.quantity, what=what)
    rows = (r for r in record.rows if r.server is not None and record.servers[r.server] is server)
    asked = {name for row in rows for name in row.cells}
    if "max_watts" in asked:
        yield t("offered.watts", watts=t.plain(server.watts))
    if "free_slots" in asked:
        yield t("offered.free_slots", len(server.placement.free.slots))
    if server.supplies and "redundant_supply" in asked:
        yield t("offered.supplies")
    if "services" in asked:
        yield t("offered.services")


def _array(array: ArrayShown, drive: PartShown | None, t: Texts) -> str:
    """Say what an array is made of, and how it is protected."""
    layout, rule = array.layout, array.layout.rule
    named = described(drive, t) if drive is not None else array.drive
    drives = t("phrase.some", layout.members + layout.spares, what=named)
    if array.have_drives == layout.members + layout.spares:
        drives = t("phrase.yours", what=drives)
    if not rule.is_array:
        how = t("layout.single")
    elif rule.copies > 1:
        how = t("layout.mirror", label=array.label)
    elif rule.survives:
        how = t("layout.parity", label=array.label)
    else:
        how = t("layout.stripe", label=array.label)
    if layout.spares:
        how = t("layout.spares", layout.spares, how=how)
    bytes_ = array.capacity.usable_bytes
    size = t("figure.size", tb=t.tb(bytes_), tib=t.tib(bytes_))
    said = t("offered.array", drives=drives, how=how, size=size)
    return said if array.action == "new" else t(f"offered.{array.action}", array=said)


def _offered_besides(record: QuoteRecord, t: Texts) -> Iterator[str]:
    """Say what is offered beside servers."""
    for item in record.items:
        if item.kind == "parts":
            number = sum(part.quantity_all for part in item.pick)
            in_stock = not item.lead_days
            yield t("offered.parts_in_stock" if in_stock else "offered.parts", number)
        elif item.kind == "services":
            yield t("offered.services")
    totals = record.totals
    asked = {name for row in record.rows for name in row.cells}
    if totals.discount_pct and "discount_pct" in asked:
        yield t("offered.discount", pct=t.plain(totals.discount_pct))
    if "max_price" in asked and totals.net_per_build is not None:
        net: Decimal = totals.net_per_build
        yield t("offered.price", money=t.money(net, record.currency))
