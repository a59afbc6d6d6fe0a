"""What does the bench get: a part of the sheet for each server, and one for loose parts."""

from collections.abc import Iterator, Sequence
from typing import Any

from markupsafe import Markup

from quotelib.documents.sections import Html, section
from quotelib.measured.jobs import trials
from quotelib.promise.record import QuoteRecord
from quotelib.text import sentence

_BUILT = ("data_first", "rule", "plan", "pick", "steps", "settings", "acceptance", "sign_off",
          "time", "returned")  # fmt: skip
_SENT = ("rule", "pick", "steps", "sign_off")
_SHEET = Markup('<div class="sheet">\n{}{}\n</div>')


def bench_sheets(record: QuoteRecord) -> Html:
    """Fill the sheet of each server, then of loose parts; several are headed and begin a page."""
    sheets = list(_sheets(record))
    several = len(sheets) > 1
    return Html("\n".join(_sheet(*sheet, several=several) for sheet in sheets))


def _sheets(record: QuoteRecord) -> Iterator[tuple[str, Sequence[str], dict[str, Any]]]:
    every = [one for one in trials(record) if one.jobs]
    for of, server in record.by_server():
        own = [one for one in every if one.server is server]
        values = {"bench": server.bench, "chassis": server.chassis, "trials": own}
        yield of or "the server", _BUILT, values
    for item in record.items:
        if item.bench is not None:
            yield item.name, _SENT, {"bench": item.bench}


def _sheet(name: str, parts: Sequence[str], values: dict[str, Any], *, several: bool) -> str:
    head = Markup('<h2 class="named">{}</h2>\n').format(sentence(name)) if several else ""
    level = 3 if several else 2
    filled = "\n".join(section(f"bench_{part}", level=level, **values).html for part in parts)
    return _SHEET.format(head, Markup(filled))
