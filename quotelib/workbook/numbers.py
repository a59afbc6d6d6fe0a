"""What would be with other numbers of a workload: they may be changed, to try."""

from collections.abc import Callable, Mapping
from dataclasses import replace
from decimal import Decimal
from types import MappingProxyType

from markupsafe import escape

from quotelib.catalogue.price_list import PriceList
from quotelib.catalogue.tables import parse_row
from quotelib.catalogue.work import Workload
from quotelib.documents.batch.files import csv_text
from quotelib.errors import Problem
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
    "<p class='ql-warn'><strong>What if:</strong> these numbers are not those of the price list. "
    "The figures below follow them, and no quote can be written on them.</p>"
)


class WorkloadNumbers:
    """The numbers of the chosen workload, which may be changed to see what would be.

    A quote names a workload of the price list, so that changed numbers show what would be and
    nothing is promised on them until they stand in the price list.
    """

    def __init__(self, price_list: PriceList, changed: Callable[[], None]) -> None:
        self._list, self._changed, self._name = price_list, changed, ""
        self._told: Callable[[object], None] = lambda _: changed()
        self.fields = {
            name: Field(name=f"workload_{name}", kind="number", label=label, help=tip, asks=True)
            for name, (label, tip) in _NUMBERS.items()
        }
        for field in self.fields.values():
            field.observe(self._told, "value")
        self._says = html()
        label = "Row for workloads.csv"
        tip = "Put it into the price list to quote on these numbers; give it a name of its own"
        self._row = Field(name="workload_row", kind="copy", label=label, help=tip)
        tip = "Show the numbers of the price list again"
        back = button("Back to the list's numbers", tip, self.reset)
        self._edited = box([html(_EDITED), self._row, back], "ql-edited")
        numbers = box(self.fields.values(), "ql-fields", "ql-small")
        self.block = box([self._says, numbers, self._edited], "ql-workload")
        self.show("")

    @property
    def edited(self) -> bool:
        """Tell whether the numbers differ from the price list's."""
        return bool(self._name) and self._cells() != _cells_of(self._list.workloads[self._name])

    def show(self, name: str) -> None:
        """Show the numbers of a workload; blank hides them."""
        if name == self._name and name:
            return
        self._name = name if name in self._list.workloads else ""
        show(self.block, bool(self._name))
        self.reset(tell=False)

    def reset(self, tell: bool = True) -> None:
        """Go back to the numbers of the price list."""
        if self._name:
            workload = self._list.workloads[self._name]
            self._says.value = f"<p>{escape(workload.description)}</p>"
            fill(self.fields, _cells_of(workload), self._told)
        self._mark([])
        if tell:
            self._changed()

    def changed(self) -> dict[str, str]:
        """Give the numbers that differ from the price list's."""
        if not self.edited:
            return {}
        listed = _cells_of(self._list.workloads[self._name])
        return {name: text for name, text in self._cells().items() if text != listed[name]}

    def change(self, numbers: Mapping[str, str]) -> None:
        """Change some numbers, as somebody had; nobody is told."""
        if self._name:
            fill(self.fields, {n: t for n, t in numbers.items() if n in self.fields}, self._told)
            self._mark([])

    def price_list(self) -> tuple[PriceList, bool]:
        """Give the price list with the numbers as they stand, and whether they can be read."""
        if not self.edited:
            self._mark([])
            return self._list, True
        old = self._list.workloads[self._name]
        row = {"name": old.name, "description": old.description, **self._cells()}
        workload, problems = parse_row(Workload, "workload", None, row)
        self._mark(problems)
        if workload is None or problems:
            return self._list, False
        workloads = MappingProxyType({**self._list.workloads, old.name: workload})
        # Another content, so another fingerprint: no answer is mistaken for another's.
        mark = f"{self._list.fingerprint} with {sorted(row.items())}"
        return replace(self._list, workloads=workloads, fingerprint=mark), True

    def _cells(self) -> dict[str, str]:
        return {name: field.value.strip() for name, field in self.fields.items()}

    def _mark(self, problems: list[Problem]) -> None:
        for name, field in self.fields.items():
            field.error = ". ".join(f"{p.why}; {p.right}" for p in problems if p.column == name)
        show(self._edited, self.edited)
        if self.edited:
            own = (f"{self._name}_2", "Numbers changed while quoting")
            self._row.value = csv_text([*own, *self._cells().values()])


def _cells_of(workload: Workload) -> dict[str, str]:
    return {name: plain(Decimal(getattr(workload, name))) for name in _NUMBERS}
