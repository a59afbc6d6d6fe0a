"""What of a record the page has."""

from quotelib.promise.record import QuoteRecord


def as_on_the_page(record: QuoteRecord) -> QuoteRecord:
    """Leave out what the page has not, or has beside it: controllers, what was considered."""
    left_out = {"controllers": None, "considered": None}
    servers = (one.model_copy(update=left_out) for one in record.servers)
    return record.model_copy(update={"servers": tuple(servers)})
