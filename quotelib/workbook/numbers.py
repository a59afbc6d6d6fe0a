"""The numbers of the chosen workload: they may be changed to what a customer's own are."""

from collections.abc import Callable
from decimal import Decimal

from markupsafe import escape

from quotelib.catalogue.price_list import PriceList
from quotelib.catalogue.work import Workload
from quotelib.enquiry.load import cell_of, name_of, numbers_of, wrong_numbers
from quotelib.units import plain
from quotelib.workbook.widgets import Field, box, button, fill, html, show

_NUMBERS = {
    "read_pct": ("Reads, %", "The rest are writes"),
    "random_pct": ("Random, %", "The rest are in sequence"),
    "block_kib": ("Block, KiB", "Of one operation"),
    "outstanding": ("Outstanding", "Operations at a time"),
    "writes_gb_per_day": ("Written a day, GB", "By the customer's programs"),
}
_EDITED = (
    "<p class='ql-warn'><strong>This customer's own numbers</strong>, not those of the price "
    "list: the figures follow them, and so does the quote, which names them.</p>"
)


class WorkloadNumbers:
    """The numbers of the workload that a row names, and what it states otherwise."""

    def __init__(self, price_list: PriceList, changed: Callable[[], None]) -> None:
        self._list, self._changed, self._name = price_list, changed, ""
        self._told: Callable[[object], None] = lambda _: self._take()
        self.fields = {
            name: Field(name=f"workload_{name}", kind="number", label=label, help=tip, asks=True)
            for name, (label, tip) in _NUMBERS.items()
        }
        for field in self.fields.values():
            field.observe(self._told, "value")
        self._says = html()
        tip = "Show the numbers of the price list again"
        back = button("Back to the list's numbers", tip, self.reset)
        self._edited = box([html(_EDITED), back], "ql-edited")
        numbers = box(self.fields.values(), "ql-fields", "ql-small")
        self.block = box([self._says, numbers, self._edited], "ql-workload")
        self.show("")

    @property
    def cell(self) -> str:
        """Give the cell of the row: the workload, and the numbers that differ from the list's."""
        if not self._name:
            return ""
        listed = self._listed()
        own = {name: text for name, text in self._cells().items() if text != listed[name]}
        return cell_of(self._name, own)

    @property
    def edited(self) -> bool:
        """Tell whether a number differs from the list's."""
        return bool(numbers_of(self.cell))

    def show(self, cell: str) -> None:
        """Show the numbers of a row's workload; blank hides them. Nobody is told."""
        name = name_of(cell)
        self._name = name if name in self._list.workloads else ""
        show(self.block, bool(self._name))
        if self._name:
            description = self._list.workloads[self._name].description
            self._says.value = f"<p>{escape(description)}</p>"
            own = {n: text for n, text in numbers_of(cell).items() if n in self.fields}
            fill(self.fields, {**self._listed(), **own}, self._told)
        self._mark()

    def reset(self) -> None:
        """Go back to the numbers of the price list."""
        self.show(self._name)
        self._changed()

    def _take(self) -> None:
        self._mark()
        self._changed()

    def _listed(self) -> dict[str, str]:
        return _cells_of(self._list.workloads[self._name])

    def _cells(self) -> dict[str, str]:
        return {name: field.value.strip() for name, field in self.fields.items()}

    def _mark(self) -> None:
        """Say what is wrong beside each number, and of them all that they are not the list's."""
        cell = self.cell
        own = numbers_of(cell)
        wrong = wrong_numbers(self._list.workloads[self._name], own) if own else {}
        for name, field in self.fields.items():
            field.error = "; ".join(wrong.get(name, ()))
        show(self._edited, bool(own))


def _cells_of(workload: Workload) -> dict[str, str]:
    return {name: plain(Decimal(getattr(workload, name))) for name in _NUMBERS}
