"""What of a record the page has."""

from quotelib.promise.record import QuoteRecord


def as_on_the_page(record: QuoteRecord) -> QuoteRecord:
    """Leave the comparison of controllers out: it takes long, and the page shows it nowhere."""
    servers = (one.model_copy(update={"controllers": None}) for one in record.servers)
    return record.model_copy(update={"servers": tuple(servers)})
