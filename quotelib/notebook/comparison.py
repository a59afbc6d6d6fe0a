"""What does a comparison of controllers look like in a notebook: words, sortable table, chart."""

from collections.abc import Callable, Mapping
from typing import Any

from quotelib.catalogue.price_list import load_price_list
from quotelib.documents.charts import Drawing, controller_chart, drawable
from quotelib.documents.sections import Html, section
from quotelib.enquiry.enquiry import read_enquiry
from quotelib.errors import InputError, Problem
from quotelib.promise.compared import ControllerComparison, ControllerRow
from quotelib.promise.controllers import compare_controllers
from quotelib.text import count, either

SORTS: dict[str, tuple[str, Callable[[ControllerRow], Any]]] = {
    "net": ("net price", lambda row: row.net),
    "gb_s": ("GB/s of the tightest link", lambda row: row.tightest_gb_s),
    "cache": ("cache", lambda row: row.cache_mib),
    "levels": ("number of levels", lambda row: len(row.levels)),
    "drives": ("most drives", lambda row: row.max_drives),
    "sku": ("sku", lambda row: row.sku),
    "kind": ("kind", lambda row: row.kind_words),
}
"""What a table can be sorted by: its words, and the figure of a row."""


def compare(cells: Mapping[str, str], prices: str = "") -> ControllerComparison:
    """Set every controller of a price list (the starter's where blank) against an enquiry.

    Blank cells are not given; without an id and a customer it gets stand-ins. Raises InputError
    where either cannot be read, of which a notebook shows the words only.
    """
    price_list = load_price_list(prices or None)
    given = {column: str(cell) for column, cell in cells.items() if str(cell).strip()}
    named = {"enquiry_id": "COMPARISON", "customer": "not named", **given}
    return compare_controllers(price_list, read_enquiry(named, price_list))


def words(comparison: ControllerComparison) -> Html:
    """Say what came of it."""
    return section("notebook_comparison_words", comparison=comparison)


def ordered(
    comparison: ControllerComparison, sort_by: str, descending: bool
) -> list[ControllerRow]:
    """Sort the rows: those that fit first, within them by a figure; what has none comes last.

    Raises InputError for a figure that is not among `SORTS`.
    """
    if sort_by not in SORTS:
        right = f"use {either(SORTS)}"
        raise InputError([Problem("table", None, "sort_by", sort_by, "is no such figure", right)])
    figure = SORTS[sort_by][1]
    rows = [row for row in comparison.rows if figure(row) is not None]
    rows.sort(key=figure, reverse=descending)
    rows += [row for row in comparison.rows if figure(row) is None]
    return sorted(rows, key=lambda row: not row.fits)


def table(comparison: ControllerComparison, sort_by: str = "net", descending: bool = False) -> Html:
    """List every controller as `ordered` sorts them."""
    rows, by = ordered(comparison, sort_by, descending), SORTS[sort_by][0]
    return section("notebook_comparison_table", comparison=comparison, rows=rows, sorted_by=by)


def sortable(comparison: ControllerComparison) -> Any:
    """Give the table with a field to sort it by, as one widget."""
    import ipywidgets as widgets

    names = [(name, key) for key, (name, _) in SORTS.items()]
    by = widgets.Dropdown(options=names, value="net", description="Sort by")
    turned = widgets.Checkbox(value=False, description="largest first", indent=False)
    shown = widgets.HTML()

    def show(_change: object = None) -> None:
        shown.value = table(comparison, by.value, turned.value).html

    for field in (by, turned):
        field.observe(show, names="value")
    show()
    return widgets.VBox([widgets.HBox([by, turned]), shown])


def chart(comparison: ControllerComparison) -> Drawing | Html:
    """Draw price against what each controller lets through, or say why there is no chart."""
    drawn = controller_chart(comparison)
    if drawn is not None:
        return drawn
    fits = sum(row.fits for row in comparison.rows)
    known = len(drawable(comparison))
    said = f"{count(fits, 'controller')} {'meets' if fits == 1 else 'meet'} the enquiry"
    if known < fits:
        said += f", and {known} of them have links of known speed"
    return section("notebook_comparison_no_chart", said=said)


def others(comparison: ControllerComparison) -> Html:
    """Say why not the others, and what is not an array controller."""
    return section("controllers_others", comparison=comparison)


def where(comparison: ControllerComparison) -> Html:
    """Say where the controller of our choice goes, and what stays free beside it."""
    said = next((row.where for row in comparison.rows if row.chosen), ())
    return section("notebook_comparison_where", where=said)
