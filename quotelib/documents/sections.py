"""How is a part of a document made: a Jinja template a section, filled from the record."""

from decimal import Decimal
from functools import cache
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from quotelib import resources
from quotelib.quote.estimate_facts import number
from quotelib.units import TB, TIB, plain


class Html:
    """A piece of a page.

    Parameters
    ----------
    html : str
        Finished HTML: everything that came from data is escaped in it already.
    """

    def __init__(self, html: str) -> None:
        self.html = html

    def _repr_html_(self) -> str:
        return self.html

    def __repr__(self) -> str:
        """Give the text without tags, for places that cannot show HTML."""
        return " ".join(Markup(self.html).striptags().split())


@cache
def _environment() -> Environment:
    environment = Environment(
        loader=FileSystemLoader(resources.templates() / "sections"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters.update(
        about=lambda value: number(value, 2),
        amount=lambda value: f"{value:,f}",
        plain=lambda value: plain(Decimal(value)),
        tb=lambda value: f"{value / TB:,.2f}",
        tib=lambda value: f"{value / TIB:,.2f}",
        date=lambda value: f"{value.day} {value:%B %Y}",
    )
    return environment


def section(name: str, **values: Any) -> Html:
    """Fill a section's template.

    Parameters
    ----------
    name : str
        Of a file ``templates/sections/NAME.html.j2``.
    **values
        What the template shows.

    Returns
    -------
    Html
    """
    return Html(_environment().get_template(f"{name}.html.j2").render(**values))
