"""How is a part of a document made: a Jinja template a section, filled from the record."""

from collections import Counter
from collections.abc import Iterable, Sequence
from decimal import Decimal
from functools import cache
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from quotelib import resources, text
from quotelib.documents.barcodes import barcode
from quotelib.facts import Fact
from quotelib.measured.jobs import command, devices_words
from quotelib.predict.estimate import Estimate
from quotelib.units import plain

_WORDS = (
    text.amount, text.both, text.count, text.date, text.either, text.figure, text.gb_s,
    text.mark, text.percent, text.plural, text.sentence, text.signed, text.size, text.spoken,
    text.tb, text.tib, text.whole,
)  # fmt: skip
_COMMON = 3
"""An input that so many estimates share is named once for all of them."""


class Html:
    """A piece of a page: finished HTML, in which everything that came from data is escaped."""

    def __init__(self, html: str) -> None:
        self.html = html

    def _repr_html_(self) -> str:
        return self.html

    def __repr__(self) -> str:
        """Give the text without tags, for places that cannot show HTML."""
        return " ".join(Markup(self.html).striptags().split())


def _shared(estimates: Iterable[Estimate]) -> list[Fact]:
    """Find the inputs that many estimates share."""
    counts = Counter(fact for estimate in estimates for fact in estimate.inputs)
    return [fact for fact, number in counts.items() if number >= _COMMON]


def _alike(rows: Iterable[Any], attribute: str) -> list[tuple[str, list[Any]]]:
    """Put together the rows of which the same is said, in the order in which it comes first."""
    found: dict[str, list[Any]] = {}
    for row in rows:
        found.setdefault(getattr(row, attribute), []).append(row)
    return list(found.items())


@cache
def _environment() -> Environment:
    environment = Environment(
        loader=FileSystemLoader(resources.templates() / "sections"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters.update({words.__name__: words for words in _WORDS})
    environment.filters.update(alike=_alike, barcode=barcode, shared=_shared)
    environment.filters.update(command=command, devices_words=devices_words)
    environment.filters["plain"] = lambda value: plain(Decimal(value))
    return environment


def section(name: str, *, level: int = 2, heading: bool = True, **values: Any) -> Html:
    """Fill a section's template.

    Parameters
    ----------
    name : str
        Of a file ``templates/sections/NAME.html.j2``.
    level : int
        Of its heading, from 1; headings within it are one or two levels further down.
    heading : bool
        Whether it has its own heading.
    **values
        What the template shows: ``record``, in most.
    """

    def head(words: str) -> Markup:
        return _heading(words if heading else "", level)

    def sub(words: str, down: int = 1) -> Markup:
        return _heading(text.sentence(words), level + down)

    template = _environment().get_template(f"{name}.html.j2")
    return Html(template.render(head=head, sub=sub, **values))


def _heading(words: str, level: int) -> Markup:
    return Markup("<h{0}>{1}</h{0}>").format(level, words) if words else Markup("")


def table(
    rows: Sequence[Sequence[str]],
    heads: Sequence[str],
    numbers: Sequence[str] = (),
    *,
    caption: str = "",
    fine: str = "",
) -> Html:
    """List rows, a cell for each head; columns whose heads are in `numbers` stand to the right.

    The caption is said above the rows, with how many there are; `fine` where there are none.
    """
    return section(
        "notebook_table", rows=rows, heads=heads, numbers=numbers, caption=caption, fine=fine
    )
