"""What else does an offer say: what to know, how it is delivered and paid, cautions, next steps."""

from collections.abc import Iterator

from quotelib.facts import Frozen
from quotelib.promise.offer_asked import lacking_words, server_names
from quotelib.promise.record import FindingShown, QuoteRecord
from quotelib.promise.shown import PartShown
from quotelib.promise.texts import Texts

_CAUTIONS = ("data", "kept_data", "supply", "static", "lifting", "lithium")
"""What can hurt a customer, the gravest first."""


class Term(Frozen):
    """What is agreed on one thing, a sentence after the other."""

    name: str
    words: tuple[str, ...]


class Known(Frozen):
    """Something to know before an order; of advice whether somebody has agreed to it."""

    kind: str
    label: str
    words: str


def left_out(record: QuoteRecord, t: Texts) -> tuple[str, ...]:
    """Say what is not included, apart from what the terms exclude."""
    if not record.lacks:
        # A record of before says it in words only.
        said = record.not_included if t.language == "en" else ()
        return tuple(words for words in said if words not in record.offer_terms.exclusions)
    return tuple(lacking_words(record.lacks, t))


def to_know(record: QuoteRecord, t: Texts) -> Iterator[Known]:
    """Say each finding once, advice first, in the customer's words."""
    every = [found for server in record.servers for found in server.findings]
    every.sort(key=lambda found: found.severity != "advise")
    for found in {found.code: found for found in every}.values():
        alike = [one for one in every if one.code == found.code]
        yield _known(found, t, accepted=all(one.accepted for one in alike))


def _known(found: FindingShown, t: Texts, *, accepted: bool) -> Known:
    key = f"finding.{found.code}"
    words = t(key) if key in t.by_key else found.words
    kind = "note" if found.severity != "advise" else "agreed" if accepted else "open"
    return Known(kind=kind, label=t(f"known.{kind}"), words=words)


def terms(record: QuoteRecord, t: Texts) -> Iterator[Term]:
    """Say what is agreed: validity, delivery, payment, warranty, what is excluded."""
    seller, said = record.seller, record.offer_terms
    yield Term(name=t("terms.validity"), words=(t("terms.valid", date=t.date(record.valid_until)),))
    delivery = [t("terms.incoterms", rule=said.delivery)] if said.delivery else []
    if _sends(record):
        yield Term(name=t("terms.delivery"), words=(*delivery, *_shipping(record, t)))
    payment = [said.payment] if said.payment else []
    payment += [t("terms.bank", bank=seller.bank)] if seller.bank else []
    if payment:
        yield Term(name=t("terms.payment"), words=tuple(payment))
    if warranty := tuple(_warranty(record, t)):
        yield Term(name=t("terms.warranty"), words=warranty)
    if said.exclusions:
        yield Term(name=t("terms.exclusions"), words=said.exclusions)
    if said.conditions:
        yield Term(name=t("terms.conditions"), words=said.conditions)


def _sends(record: QuoteRecord) -> bool:
    return bool(record.servers) or any(item.pick for item in record.items)


def _shipping(record: QuoteRecord, t: Texts) -> Iterator[str]:
    if record.ship_date is None:
        yield t("terms.on_order")
    else:
        yield t("terms.ship_date", date=t.date(record.ship_date))
        yield from _in_parts(record, t)
    late = [server.lead_days for server in record.servers]
    days = max(late + [item.lead_days for item in record.items], default=0)
    yield t("terms.lead", days) if days else t("terms.in_stock")


def _in_parts(record: QuoteRecord, t: Texts) -> Iterator[str]:
    """Say what can leave before the rest."""
    items = record.shipping.items if record.shipping else ()
    if len(items) > 1:
        names = [*server_names(record, t)]
        names += [t(f"items.{item.kind}") for item in items[len(names) :]]
        each = (
            t("terms.each_on", name=name, date=t.date(item.leaves))
            for name, item in zip(names, items, strict=True)
            if item.leaves is not None
        )
        yield t("terms.each", list=t.listed(each))
    elif items and len(items[0].deliveries) > 1:
        each = (
            t("terms.delivery_of", n=t.whole(one.number), date=t.date(one.date))
            for one in items[0].deliveries
        )
        yield t("terms.deliveries", list=t.listed(each))


def _parts(record: QuoteRecord) -> Iterator[PartShown]:
    """Give every part that is sold."""
    every = [part for server in record.servers for part in server.parts]
    every += [part for item in record.items for part in item.pick]
    yield from (part for part in every if not part.owned)


def _warranty(record: QuoteRecord, t: Texts) -> Iterator[str]:
    """Say part by part how long it is, then what the seller's terms say of it."""
    by_years: dict[str, dict[str, None]] = {}
    for part in _parts(record):
        if part.warranty_years is not None:
            years = t("terms.years", _whole(part), years=t.plain(part.warranty_years))
            by_years.setdefault(years, {})[part.description] = None
    for years, named in by_years.items():
        yield t("terms.warranty_of", years=years, parts="; ".join(named))
    used = dict.fromkeys(p.description for p in _parts(record) if p.condition != "new")
    if used:
        yield t("terms.refurbished", parts="; ".join(used))
    if record.offer_terms.warranty:
        yield record.offer_terms.warranty
    elif by_years:
        yield t("terms.no_warranty")


def _whole(part: PartShown) -> int:
    """Give the number that the word for years goes by: 1 only for just one year."""
    years = part.warranty_years
    return 1 if years == 1 else 2


def cautions(record: QuoteRecord, t: Texts) -> tuple[str, ...]:
    """Say in short what can hurt, by what is sold; the annex says it in full."""
    sheets = [server.bench for server in record.servers]
    loose = [item.bench for item in record.items if item.bench is not None]
    met = {caution.hazard for sheet in (*sheets, *loose) for caution in sheet.cautions}
    actions = {array.action for _, array in record.by_array()}
    found = {
        "data": "new" in actions,
        "kept_data": bool(actions - {"new"}),
        "supply": bool(record.servers),
        "static": bool(record.servers or loose),
        "lifting": bool(record.servers) or "lifting" in met,
        "lithium": "lithium" in met,
    }
    return tuple(t(f"caution.{name}") for name in _CAUTIONS if found[name])


def next_steps(record: QuoteRecord, t: Texts) -> Iterator[str]:
    """Say what happens next."""
    if record.draft:
        yield t("next.draft")
    else:
        yield t("next.order", contact=record.seller.contact, date=t.date(record.valid_until))
    if not record.servers:
        yield t("next.parts") if _sends(record) else t("next.dates")
        return
    builds = sum(server.builds for server in record.servers)
    if any(server.placement.chassis_owned for server in record.servers):
        yield t("next.backup")
        yield t("next.fit", builds)
    else:
        yield t("next.build", builds)
    yield t("next.receive", builds)
