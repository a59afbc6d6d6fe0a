"""Does an answer say the same as the quote that was given: all but its date and its number."""

import hashlib
import json
import re
from collections import Counter
from typing import Any

from quotelib.promise.record import QuoteRecord

_OWN = {
    "format", "program_version", "price_list_fingerprint", "quote_number", "revision", "since",
    "changes",
}  # fmt: skip
"""What tells one revision, or one run, from another."""
# A date as a page may show it: 2026-11-28, 28 November 2026, 28. November 2026.
_DATE = re.compile(r"\d{4}-\d\d-\d\d|\b\d{1,2}(?:\.|er)?\s+[^\W\d_]{3,}\s+\d{4}\b")


def content(record: QuoteRecord) -> str:
    """Take the SHA-256 of what a record says apart from when and under which number, hexadecimal.

    Dates count only where the enquiry names them. Who said yes to something does not count: that
    stays so as long as the answer is the same.
    """
    data = record.model_dump(mode="json", exclude=_OWN)
    data["internal"].pop("approvals", None)
    rows = data.pop("rows")
    text = json.dumps([rows, undated(data)], sort_keys=True, ensure_ascii=False)
    return hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()


def undated(data: Any) -> Any:
    """Leave the dates out of texts, alone or in whatever holds them."""
    if isinstance(data, dict):
        return {key: undated(value) for key, value in data.items()}
    if isinstance(data, list):
        return [undated(one) for one in data]
    return _DATE.sub("a date", data) if isinstance(data, str) else data


def sold(record: QuoteRecord) -> Counter[str]:
    """Count what is sold of each sku, services included."""
    lines = [line for server in record.servers for line in server.lines]
    lines += [line for item in record.items for line in item.lines]
    found: Counter[str] = Counter()
    for line in lines:
        if line.sku:
            found[line.sku] += line.quantity
    return found
