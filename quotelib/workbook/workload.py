"""What does a workload mean: its numbers, shown and open to a "what if"."""

from collections.abc import Callable, Mapping
from dataclasses import replace
from types import MappingProxyType
from typing import Any

from quotelib.catalogue.parts import Workload
from quotelib.catalogue.price_list import PriceList
from quotelib.catalogue.tables import parse_row
from quotelib.errors import Problem
from quotelib.workbook.widgets import Field, box, button, html

_NUMBERS = {
    "read_pct": ("Reads, %", "The rest are writes"),
    "random_pct": ("Random, %", "The rest are in sequence"),
    "block_kib": ("Block, KiB", "Of one operation"),
    "outstanding": ("Outstanding", "Operations at a time"),
    "writes_gb_per_day": ("Written a day, GB", "By the customer's programs"),
}


class WorkloadNumbers:
    """The numbers of the chosen workload, which may be changed to see what would be.

    A quote names a workload of the price list, so that changed numbers show what would be and
    nothing is promised on them until they stand in the price list.

    Parameters
    ----------
    price_list : PriceList
    changed : callable
        Told when a number is changed.
    """

    def __init__(self, price_list: PriceList, changed: Callable[[], None]) -> None:
        self._list = price_list
        self._changed = changed
        self._quiet = False
        self._name = ""
        self.fields = {
            name: Field(name=f"workload_{name}", kind="number", label=label, help=help_text)
            for name, (label, help_text) in _NUMBERS.items()
        }
        for field in self.fields.values():
            field.observe(self._told, "value")
        self._says = html()
        self._row = Field(
            name="workload_row",
            kind="copy",
            label="Row for workloads.csv",
            help="Put it into the price list to quote on these numbers; give it a name of its own",
        )
        tip = "Show the numbers of the price list again"
        back = button("Back to the list's numbers", tip, self.reset)
        self._edited = box([html(_EDITED), self._row, back], "ql-edited")
        self.block = box(
            [self._says, box(list(self.fields.values()), "ql-fields", "ql-small"), self._edited],
            "ql-workload",
        )
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
        self.block.layout.display = None if self._name else "none"
        self.reset(tell=False)

    def reset(self, tell: bool = True) -> None:
        """Go back to the numbers of the price list."""
        self._quiet = True
        try:
            if self._name:
                workload = self._list.workloads[self._name]
                self._says.value = f"<p>{_escape(workload.description)}</p>"
                for name, text in _cells_of(workload).items():
                    self.fields[name].value = text
        finally:
            self._quiet = False
        self._mark([])
        if tell:
            self._changed()

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

    def _told(self, _: Mapping[str, Any]) -> None:
        if not self._quiet:
            self._changed()

    def _mark(self, problems: list[Problem]) -> None:
        for name, field in self.fields.items():
            texts = [f"{p.why}; {p.right}" for p in problems if p.column == name]
            field.error = ". ".join(texts)
        self._edited.layout.display = None if self.edited else "none"
        if self.edited:
            cells = self._cells()
            self._row.value = ",".join(
                (
                    f"{self._name}_2",
                    "Numbers changed while quoting",
                    *(cells[name] for name in _NUMBERS),
                )
            )


_EDITED = (
    "<p class='ql-warn'><strong>What if:</strong> these numbers are not those of the price list. "
    "The figures below follow them, and no quote can be written on them.</p>"
)


def _cells_of(workload: Workload) -> dict[str, str]:
    from quotelib.units import plain

    return {
        "read_pct": plain(workload.read_pct),
        "random_pct": plain(workload.random_pct),
        "block_kib": plain(workload.block_kib),
        "outstanding": str(workload.outstanding),
        "writes_gb_per_day": plain(workload.writes_gb_per_day),
    }


def _escape(text: str) -> str:
    from markupsafe import escape

    return str(escape(text))
