"""What stands on the quote page: one function a section, in the order of the conversation."""

from collections import Counter

from quotelib.documents.sections import Html, section
from quotelib.quote.record import QuoteRecord


def letterhead(record: QuoteRecord) -> Html:
    """Say who offers, to whom, under which number, until when."""
    return section("letterhead", record=record)


def asked(record: QuoteRecord) -> Html:
    """Say what the customer asked for."""
    return section("asked", record=record)


def proposal(record: QuoteRecord) -> Html:
    """Say what we propose, in words and as a list of the main parts."""
    return section("proposal", record=record)


def findings(record: QuoteRecord) -> Html:
    """Say what to know before ordering."""
    return section("findings", record=record)


def capacity(record: QuoteRecord) -> Html:
    """Say what the customer's system will show, and why."""
    return section("capacity", record=record)


def protection(record: QuoteRecord) -> Html:
    """Say how the data is protected."""
    return section("protection", record=record)


def outlook(record: QuoteRecord) -> Html:
    """Say what it will do, in a buyer's words."""
    return section("outlook", record=record)


def estimates(record: QuoteRecord) -> Html:
    """List every estimate with its range."""
    return section("estimates", record=record)


_COMMON = 3
"""An input that so many estimates share is named once for all of them."""


def appendix(record: QuoteRecord) -> Html:
    """Say what each estimate rests on: formula, inputs, source."""
    counts = Counter(fact for e in record.estimates for fact in e.inputs)
    common = [fact for fact, count in counts.items() if count >= _COMMON]
    sources = list(dict.fromkeys(s for e in record.estimates for s in e.source.split("; ") if s))
    return section("appendix", record=record, common=common, sources=sources)


def costs(record: QuoteRecord) -> Html:
    """List the lines and the totals."""
    return section("costs", record=record)


def alternatives(record: QuoteRecord) -> Html:
    """Say what else would meet the enquiry."""
    return section("alternatives", record=record)


def room(record: QuoteRecord) -> Html:
    """Say where the controller sits, what stays free, and what keeping a slot free costs."""
    return section("room", record=record)


def upgrade(record: QuoteRecord) -> Html:
    """Say what is the customer's already and what happens to data; empty where nothing is."""
    return section("upgrade", record=record)


def next_steps(record: QuoteRecord) -> Html:
    """Say what happens next, with cautions and terms."""
    return section("next_steps", record=record)
