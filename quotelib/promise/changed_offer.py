"""What is offered otherwise than before: parts, layouts, places, figures, delivery, terms."""

from collections import Counter
from collections.abc import Iterator, Mapping

from quotelib.catalogue.work import Service
from quotelib.predict.estimate import Estimate
from quotelib.pricing.lines import Line
from quotelib.promise.changed import Change, Kind
from quotelib.promise.changed_asked import paired
from quotelib.promise.record import QuoteRecord, Server
from quotelib.promise.shown import ArrayShown, arrays_called
from quotelib.text import count, date, runs, size, spoken
from quotelib.units import plain

_FIGURES = ("host_iops", "response_ms", "host_mb_s", "rebuild_hours", "array_loss_pct", "loss_pct")
"""What a customer was told of an array; all else follows from the same changes."""
_ROUNDING = 0.005
"""Figures are shown to three digits: what moves by less may be the same, rounded otherwise."""
_TERMS = {"payment": "Payment", "delivery": "Delivery", "warranty": "Warranty"}


def offered_otherwise(old: QuoteRecord, new: QuoteRecord) -> Iterator[Change]:
    """List what is offered otherwise: servers, what stands beside them, delivery, terms."""
    names = [server.name for server in old.servers]
    pairs = paired(names, [server.name for server in new.servers])
    before = dict(enumerate(old.by_server()))
    for at, (of, server) in enumerate(new.by_server()):
        if at in pairs:
            yield from _server(of, before[pairs[at]][1], server)
        else:
            yield _change("server", "", of or "server", "", server.proposal)
    for at, (of, server) in before.items():
        if at not in pairs.values():
            yield _change("server", "", of or "server", server.proposal, "")
    yield from _beside(old, new)
    if old.ship_date != new.ship_date:
        days = (date(day) if day else "" for day in (old.ship_date, new.ship_date))
        yield _change("delivery", "", "Ship date", *days)
    if old.valid_until != new.valid_until:
        yield _change("validity", "", "Valid until", date(old.valid_until), date(new.valid_until))
    for name, what in _TERMS.items():
        said = (getattr(record.offer_terms, name) or "" for record in (old, new))
        yield from _if_other("terms", "", what, *said)


def _change(kind: Kind, of: str, what: str, was: str, now: str) -> Change:
    return Change(group="offered", kind=kind, of=of, what=what, was=was, now=now)


def _if_other(kind: Kind, of: str, what: str, was: str, now: str) -> Iterator[Change]:
    if was != now:
        yield _change(kind, of, what, was, now)


def _server(of: str, old: Server, new: Server) -> Iterator[Change]:
    if old.builds != new.builds:
        many = (count(server.builds, "server") for server in (old, new))
        yield _change("server", of, "How many", *many)
    yield from _parts(of, _by_role(old), _by_role(new), _described(old, new))
    arrays = paired([a.name for a in old.arrays], [a.name for a in new.arrays])
    for at, (own, array) in enumerate(arrays_called(new.arrays)):
        name = ", ".join(filter(None, (of, own)))
        if at in arrays:
            yield from _array(name, old, new, arrays[at], at)
        else:
            yield _change("layout", of, own or "array", "", array.words)
    for at, (own, array) in enumerate(arrays_called(old.arrays)):
        if at not in arrays.values():
            yield _change("layout", of, own or "array", array.words, "")
    yield from _seats(of, old, new)
    watts = (f"{plain(server.watts)} W" for server in (old, new))
    yield from _if_other("figure", of, "Draw with all drives active", *watts)
    services = (_services(server) for server in (old, new))
    yield from _lines("service", of, "Service", *services)
    here = ("in stock" if not s.lead_days else count(s.lead_days, "day") for s in (old, new))
    yield from _if_other("delivery", of, "Parts reach us within", *here)


def _by_role(server: Server) -> dict[str, Counter[str]]:
    """Count parts of one server by what they are; drives are told with their arrays."""
    found: dict[str, Counter[str]] = {}
    for part in server.parts:
        if part.role != "drive":
            found.setdefault(part.role, Counter())[part.sku] += part.quantity
    for item in server.placement.accessories:
        found.setdefault(spoken(item.kind), Counter())[item.sku] += item.quantity
    return found


def _described(*servers: Server) -> dict[str, str]:
    parts = {part.sku: part.description for server in servers for part in server.parts}
    small = (item for server in servers for item in server.placement.accessories)
    return parts | {item.sku: item.description for item in small}


def _parts(
    of: str,
    old: Mapping[str, Counter[str]],
    new: Mapping[str, Counter[str]],
    described: Mapping[str, str],
) -> Iterator[Change]:
    def named(sku: str, number: int) -> str:
        many = f"{number} × " if number > 1 else ""
        return f"{many}{described[sku]} ({sku})"

    for role in {**old, **new}:
        before, after = old.get(role, Counter()), new.get(role, Counter())
        gone = [sku for sku in before if sku not in after]
        come = [sku for sku in after if sku not in before]
        if len(gone) == len(come) == 1:
            was, now = named(gone[0], before[gone[0]]), named(come[0], after[come[0]])
            yield _change("part", of, role, was, now)
            gone, come = [], []
        for sku in gone:
            yield _change("part", of, role, named(sku, before[sku]), "")
        for sku in come:
            yield _change("part", of, role, "", named(sku, after[sku]))
        for sku in before:
            if sku in after and before[sku] != after[sku]:
                what = f"{role} {described[sku]} ({sku})"
                yield _change("count", of, what, str(before[sku]), str(after[sku]))


def _array(of: str, before: Server, after: Server, was_at: int, at: int) -> Iterator[Change]:
    old, new, described = before.arrays[was_at], after.arrays[at], _described(before, after)
    drives = (f"{described.get(a.drive, 'drive')} ({a.drive})" for a in (old, new))
    yield from _if_other("part", of, "drive", *drives)
    same = {s.sku for s in before.parts} >= {old.controller, new.controller}
    if same and old.controller != new.controller:
        yield _change("part", of, "runs on", old.controller, new.controller)
    yield from _if_other("layout", of, "layout", old.words, new.words)
    held = (size(a.capacity.usable_bytes) for a in (old, new))
    if old.capacity.usable_bytes != new.capacity.usable_bytes:
        yield _change("capacity", of, "usable capacity", *held)
    places = (s.placement.bays_of(place) for s, place in ((before, was_at), (after, at)))
    yield from _if_other("place", of, "its bays", *map(runs, places))
    yield from _figures(of, old, new)


def _figures(of: str, old: ArrayShown, new: ArrayShown) -> Iterator[Change]:
    before = {one.key: one for one in old.estimates}
    for one in new.estimates:
        was = before.get(one.key)
        if was is not None and one.key in _FIGURES and _moved(was, one):
            yield _change("figure", of, one.name, f"about {was.shown}", f"about {one.shown}")


def _moved(old: Estimate, new: Estimate) -> bool:
    """Tell whether a figure is another one outside of rounding."""
    if old.shown == new.shown:
        return False
    if old.value is None or new.value is None:
        return old.value is not new.value
    return abs(old.value - new.value) > _ROUNDING * max(abs(old.value), abs(new.value))


def _seats(of: str, old: Server, new: Server) -> Iterator[Change]:
    """Tell parts that stay and sit elsewhere."""
    before, after = (
        {sku: [s.where for s in server.placement.seats if s.sku == sku]
         for sku in (seat.sku for seat in server.placement.seats)}
        for server in (old, new)
    )  # fmt: skip
    # On another board it is told with the chassis.
    if old.chassis != new.chassis:
        before = {sku: [w for w in ws if not w.startswith("on the board")]
                  for sku, ws in before.items()}  # fmt: skip
    for sku in before:
        pairs = zip(before[sku], after.get(sku, []), strict=False)
        for was, now in pairs:
            yield from _if_other("place", of, sku, was, now)


def _services(server: Server) -> dict[str, tuple[str, int]]:
    """Count what is done for each of some equal servers."""
    done = (line for line in server.lines if line.share == Service.share)
    return {ln.sku: (ln.description, ln.quantity // max(server.builds, 1)) for ln in done}


def _beside(old: QuoteRecord, new: QuoteRecord) -> Iterator[Change]:
    """Tell what stands beside servers."""
    kinds = {item.kind: item.name for record in (old, new) for item in record.items}
    for kind, name in kinds.items():
        lines = [
            {_key(ln, place): (ln.description, ln.quantity)
             for item in record.items if item.kind == kind
             for place, ln in enumerate(item.lines)}
            for record in (old, new)
        ]  # fmt: skip
        yield from _lines("service" if kind in {"services", "once"} else "line", "", name, *lines)


def _key(line: Line, place: int) -> str:
    return line.sku or f"{place} {line.description}"


def _lines(
    kind: Kind,
    of: str,
    what: str,
    old: Mapping[str, tuple[str, int]],
    new: Mapping[str, tuple[str, int]],
) -> Iterator[Change]:
    for key in {**old, **new}:
        was, now = (_line(key, side) for side in (old, new))
        yield from _if_other(kind, of, what, was, now)


def _line(key: str, lines: Mapping[str, tuple[str, int]]) -> str:
    if key not in lines:
        return ""
    description, number = lines[key]
    return f"{number} × {description}"
