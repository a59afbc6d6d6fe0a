"""How is the offer put on its pages: sections filled from the record's offer, in its language."""

from collections.abc import Callable

from quotelib.documents.sections import Html, section
from quotelib.promise.offer import offer_of
from quotelib.promise.record import QuoteRecord
from quotelib.promise.texts import texts

_CLOSE = {46: "offer close closest", 19: "offer close"}
"""Above so many rows of tables the page is set more closely, so that it stays on two sheets."""


def offer_sections(record: QuoteRecord) -> Callable[[str], Html]:
    """Give what fills a section ``offer_NAME`` of the offer of a record."""
    offer = offer_of(record)
    t = texts(offer.language)

    def filled(name: str) -> Html:
        return section(f"offer_{name}", record=record, offer=offer, t=t)

    return filled


def price_sections(record: QuoteRecord) -> str:
    """Give the lines, sums and instalments of an offer for a screen of ours, in English."""
    read_here = record.model_copy(update={"language": "en"})
    offer, t = offer_of(read_here), texts("en")
    named = (("costs", False), ("instalments", True))
    filled = (
        section(f"offer_{name}", level=3, heading=head, record=read_here, offer=offer, t=t)
        for name, head in named
    )
    return "".join(one.html for one in filled)


def offer_kind(record: QuoteRecord) -> str:
    """Say to the style sheet what kind of page it is."""
    rows = offer_of(record).rows
    return next((kind for least, kind in _CLOSE.items() if rows > least), "offer")
