"""What does a comparison of controllers look like in a notebook: words, sortable table, chart."""

from collections.abc import Mapping
from typing import TYPE_CHECKING

from quotelib.catalogue.price_list import load_price_list
from quotelib.documents import controller_rows
from quotelib.documents.charts import Figure
from quotelib.documents.charts_controllers import controller_chart, drawable
from quotelib.documents.controller_section import others_of
from quotelib.documents.sections import Html, section
from quotelib.quote.comparison.compare import compare_controllers
from quotelib.quote.comparison.record import ControllerComparison
from quotelib.quote.enquiry import read_enquiry
from quotelib.quote.words import count

if TYPE_CHECKING:
    from ipywidgets import VBox


def compare(cells: Mapping[str, str], prices: str = "") -> ControllerComparison:
    """Set every controller of a price list against an enquiry.

    Parameters
    ----------
    cells : mapping of str to str
        The enquiry by column; blank ones are not given. Without an id and a customer it gets
        stand-ins.
    prices : str
        Folder of the price list; the starter list where blank.

    Returns
    -------
    ControllerComparison

    Raises
    ------
    InputError
        Where the price list or the enquiry cannot be read; a notebook shows its words only.
    """
    price_list = load_price_list(prices or None)
    given = {column: str(cell) for column, cell in cells.items() if str(cell).strip()}
    named = {"enquiry_id": "COMPARISON", "customer": "not named", **given}
    return compare_controllers(price_list, read_enquiry(named, price_list))


def words(comparison: ControllerComparison) -> Html:
    """Say what came of it."""
    return section("comparison_words", comparison=comparison)


def table(comparison: ControllerComparison, sort_by: str = "net", descending: bool = False) -> Html:
    """List every controller: those that fit first, sorted by a figure.

    Parameters
    ----------
    comparison : ControllerComparison
    sort_by : str
        ``net``, ``gb_s``, ``cache``, ``levels``, ``drives``, ``sku`` or ``kind``.
    descending : bool

    Returns
    -------
    Html

    Raises
    ------
    InputError
        For another `sort_by`.
    """
    return section(
        "comparison_table",
        comparison=comparison,
        rows=controller_rows.ordered(comparison, sort_by, descending),
        sorted_by=controller_rows.SORTS[sort_by][0],
        levels=controller_rows.levels,
        links=controller_rows.links,
    )


def sortable(comparison: ControllerComparison) -> "VBox":
    """Give the table with a field to sort it by."""
    import ipywidgets as widgets

    by = widgets.Dropdown(
        options=[(name, key) for key, (name, _) in controller_rows.SORTS.items()],
        value="net",
        description="Sort by",
    )
    turned = widgets.Checkbox(value=False, description="largest first", indent=False)
    shown = widgets.HTML()

    def show(_change: object = None) -> None:
        shown.value = table(comparison, by.value, turned.value).html

    for field in (by, turned):
        field.observe(show, names="value")
    show()
    return widgets.VBox([widgets.HBox([by, turned]), shown])


def chart(comparison: ControllerComparison) -> Figure | Html:
    """Draw price against what each controller lets through, or say why there is no chart."""
    drawn = controller_chart(comparison)
    if drawn is not None:
        return drawn
    fits = sum(row.fits for row in comparison.rows)
    known = len(drawable(comparison))
    said = f"{count(fits, 'controller')} {'meets' if fits == 1 else 'meet'} the enquiry"
    if known < fits:
        said += f", and {known} of them have links of known speed"
    return section("comparison_no_chart", said=said)


def others(comparison: ControllerComparison) -> Html:
    """Say why not the others, and what is not an array controller."""
    return others_of(comparison)


def where(comparison: ControllerComparison) -> Html:
    """Say where the controller of our choice goes, and what stays free beside it."""
    chosen = next((row for row in comparison.rows if row.chosen), None)
    placement = None if chosen is None or chosen.build is None else chosen.build.placement
    return section("comparison_where", placement=placement)
