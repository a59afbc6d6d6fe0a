"""What a quote costs otherwise than before, and why: parts that add up to the difference of nets.

What both have counts at the old quantity for what its unit price has moved by, and at the new unit
price for what its quantity has. Nothing is rounded: unit prices are at the minor unit already.
"""

from collections.abc import Iterable, Iterator
from decimal import Decimal
from typing import NamedTuple

from quotelib.pricing.lines import Line
from quotelib.pricing.money import exact
from quotelib.promise.changed import Change, Kind
from quotelib.promise.changed_asked import paired
from quotelib.promise.record import QuoteRecord
from quotelib.text import count, money
from quotelib.units import plain

_Key = tuple[str, str, int]


class _Item(NamedTuple):
    """What is sold under one heading, before and now; nothing where it is not there."""

    of: str
    old: tuple[Line, ...]
    new: tuple[Line, ...]
    builds: tuple[int, int]


def priced_otherwise(old: QuoteRecord, new: QuoteRecord) -> Iterator[Change]:
    """List what makes the difference of two totals, then what tax does."""
    if old.currency != new.currency:
        said = (money(r.totals.net, r.currency) for r in (old, new))
        yield _change("currency", "", "Total without tax, in another currency", said, None)
        return
    with exact():
        made = [*_lines(old, new), *_sums(old, new)]
        rest = new.totals.net - old.totals.net
        rest -= sum((change.amount for change in made if change.amount), Decimal(0))
        yield from made
        if rest:
            what = "What the older record's sums do not account for"
            yield _change("rest", "", what, ("", money(rest, new.currency)), rest)
        yield from _tax(old, new)


def _change(
    kind: Kind, of: str, what: str, said: Iterable[str], amount: Decimal | None, why: str = ""
) -> Change:
    """Say a change of price; `said` is what it was and what it is."""
    was, now = said
    return Change(
        group="price", kind=kind, of=of, what=what, was=was, now=now, amount=amount, why=why
    )


def _items(old: QuoteRecord, new: QuoteRecord) -> Iterator[_Item]:
    pairs = paired([s.name for s in old.servers], [s.name for s in new.servers])
    before = list(old.by_server())
    for at, (of, server) in enumerate(new.by_server()):
        then = before[pairs[at]][1] if at in pairs else None
        builds = (then.builds if then else 0, server.builds)
        yield _Item(of, then.lines if then else (), server.lines, builds)
    for at, (of, gone) in enumerate(before):
        if at not in pairs.values():
            yield _Item(of or "server", gone.lines, (), (gone.builds, 0))
    for kind, name in {i.kind: i.name for record in (old, new) for i in record.items}.items():
        was, now = (
            tuple(ln for item in record.items if item.kind == kind for ln in item.lines)
            for record in (old, new)
        )
        yield _Item(name.lower(), was, now, (1, 1))


def _by_key(lines: tuple[Line, ...]) -> dict[_Key, Line]:
    """Give lines by what they are for; lines agreed besides by their words, one after the other."""
    found: dict[_Key, Line] = {}
    for line in lines:
        words, number = "" if line.sku else line.description, 0
        while (key := (line.sku, words, number)) in found:
            number += 1
        found[key] = line
    return found


def _lines(old: QuoteRecord, new: QuoteRecord) -> Iterator[Change]:
    units: dict[_Key, list[tuple[Line, Line]]] = {}
    rest: list[Change] = []
    currency = new.currency
    for item in _items(old, new):
        before, after = _by_key(item.old), _by_key(item.new)
        for key in before:
            if key in after:
                units.setdefault(key, []).append((before[key], after[key]))
        rest += _numbers(item, before, after)
        gone = [line for key, line in before.items() if key not in after]
        come = [line for key, line in after.items() if key not in before]
        rest += _gone_and_come(item.of, gone, come)
    for pairs in units.values():
        was, now = pairs[0]
        if was.unit_price != now.unit_price:
            number = sum(one.quantity for one, _ in pairs)
            amount = sum((n.unit_price - w.unit_price) * w.quantity for w, n in pairs)
            each = (f"{money(line.unit_price, currency)} each" for line in (was, now))
            why = f"{number} of them" if number > 1 else ""
            yield _change("unit price", "", _called(now), each, Decimal(amount), why)
    yield from rest


def _called(line: Line) -> str:
    return f"{line.description} ({line.sku})" if line.sku else line.description


def _many(line: Line) -> str:
    return f"{line.quantity} × {_called(line)}"


def _numbers(item: _Item, before: dict[_Key, Line], after: dict[_Key, Line]) -> Iterator[Change]:
    """Tell what other quantities cost, at the price of now; more servers alike in one."""
    old_builds, new_builds = item.builds
    by_builds = Decimal(0)
    for key, was in before.items():
        now = after.get(key)
        if now is None or now.quantity == was.quantity:
            continue
        amount = (now.quantity - was.quantity) * now.unit_price
        if was.quantity * new_builds == now.quantity * old_builds:
            by_builds += amount
        else:
            what, numbers = _called(now), (str(was.quantity), str(now.quantity))
            yield _change("quantity", item.of, what, numbers, amount)
    if by_builds:
        many = (count(builds, "server") for builds in item.builds)
        yield _change("quantity", item.of, "How many alike", many, by_builds)


def _gone_and_come(of: str, gone: list[Line], come: list[Line]) -> Iterator[Change]:
    """Tell what is charged no more and what is new; one for one where they are of one kind."""
    for share in dict.fromkeys(line.share for line in (*gone, *come)):
        less = [line for line in gone if line.share == share]
        more = [line for line in come if line.share == share]
        if len(less) == len(more) == 1:
            was, now = less[0], more[0]
            said = (_many(line) for line in (was, now))
            yield _change("line", of, share, said, now.amount - was.amount)
            continue
        for line in less:
            yield _change("line", of, share, (_many(line), ""), -line.amount)
        for line in more:
            yield _change("line", of, share, ("", _many(line)), line.amount)


def _sums(old: QuoteRecord, new: QuoteRecord) -> Iterator[Change]:
    was, now = old.totals, new.totals
    if was.discount != now.discount or was.discount_pct != now.discount_pct:
        said = (f"{plain(t.discount_pct)} %, {money(t.discount, new.currency)}" for t in (was, now))
        why = "of another sum of lines" if was.discount_pct == now.discount_pct else ""
        yield _change("discount", "", "Discount", said, was.discount - now.discount, why)
    if was.freight != now.freight:
        said = (money(t.freight, new.currency) for t in (was, now))
        heavier = _mass(old) != _mass(new)
        why = "with what the goods weigh" if heavier else "what we charge for freight has changed"
        yield _change("freight", "", "Freight", said, now.freight - was.freight, why)


def _mass(record: QuoteRecord) -> Decimal:
    servers = (server.mass_kg * server.builds for server in record.servers)
    return sum((*servers, *(item.mass_kg for item in record.items)), Decimal(0))


def _tax(old: QuoteRecord, new: QuoteRecord) -> Iterator[Change]:
    was, now = old.totals, new.totals
    if (was.tax, was.tax_code, was.tax_pct) == (now.tax, now.tax_code, now.tax_pct):
        return
    said = (
        f"{money(t.tax, new.currency)}, code {t.tax_code}, {plain(t.tax_pct)} %"
        if t.tax_code
        else "none included"
        for t in (was, now)
    )
    same = (was.tax_code, was.tax_pct) == (now.tax_code, now.tax_pct)
    why = "of another total" if same else ""
    yield _change("tax", "", "Tax", said, now.tax - was.tax, why)
