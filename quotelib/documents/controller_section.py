"""What does a comparison of controllers look like in a page: table, chart, and the others."""

from quotelib.documents import controller_rows
from quotelib.documents.charts import Figure
from quotelib.documents.charts_controllers import controller_chart
from quotelib.documents.sections import Html, section
from quotelib.quote.comparison.record import ControllerComparison
from quotelib.quote.record import QuoteRecord


def fitting(record: QuoteRecord) -> Html:
    """Set the controllers that fit side by side, by price; empty where nothing was compared."""
    comparison = record.controllers
    if comparison is None or not comparison.rows:
        return Html("")
    return section(
        "controllers",
        comparison=comparison,
        fitting=[row for row in controller_rows.ordered(comparison) if row.fits],
        levels=controller_rows.levels,
        links=controller_rows.links,
        why_not=controller_rows.why_not,
    )


def chart(record: QuoteRecord) -> Figure | Html:
    """Draw price against what each controller lets through, where there are two to compare."""
    drawn = None if record.controllers is None else controller_chart(record.controllers)
    return drawn or Html("")


def others(record: QuoteRecord) -> Html:
    """Say why not the others, and what is not an array controller."""
    return Html("") if record.controllers is None else others_of(record.controllers)


def others_of(comparison: ControllerComparison) -> Html:
    """Say it of a comparison without a record."""
    return section(
        "controllers_others",
        refused=controller_rows.refused(comparison),
        explained=controller_rows.explained(comparison),
    )
