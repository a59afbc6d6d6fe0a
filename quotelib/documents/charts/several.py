"""How are the charts of several arrays or servers shown: one below the other, each named."""

from collections.abc import Callable, Iterable

from markupsafe import Markup

from quotelib.documents.charts.drawing import Drawing
from quotelib.documents.sections import Html
from quotelib.promise.comparison import ControllerComparison
from quotelib.promise.record import QuoteRecord
from quotelib.promise.shown import ArrayShown

_FIGURE = Markup('<figure role="img" aria-label="{}">\n{}\n</figure>')


def by_array(
    record: QuoteRecord, chart: Callable[[ArrayShown, str], Drawing | None]
) -> Drawing | Html | None:
    """Draw each array of a record, given it and what to call it in a title.

    Returns
    -------
    Drawing, Html or None
        The only drawing, or all of them, or None where there is nothing to draw.
    """
    return _together(chart(array, of) for of, array in record.by_array())


def by_server(
    record: QuoteRecord, chart: Callable[[ControllerComparison, str], Drawing | None]
) -> Drawing | Html | None:
    """Draw a chart of the controllers of each server of a record, as `by_array` does."""
    return _together(chart(comparison, of) for of, comparison in record.by_compared())


def _together(drawings: Iterable[Drawing | None]) -> Drawing | Html | None:
    drawn = [drawing for drawing in drawings if drawing is not None]
    if len(drawn) < 2:
        return drawn[0] if drawn else None
    return Html("\n".join(_FIGURE.format(d.words, Markup(d.svg())) for d in drawn))
