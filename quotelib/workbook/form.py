"""What can be typed: the enquiry as fields, in the order of a conversation."""

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from quotelib.build.build import OWNABLE
from quotelib.build.levels import LEVELS
from quotelib.catalogue.price_list import PriceList
from quotelib.errors import Problem
from quotelib.quote.enquiry import ADVICE_CODES, COLUMNS
from quotelib.quote.facts import Reason
from quotelib.quote.words import count
from quotelib.units import plain
from quotelib.workbook.options import PART_PINS, State, counts
from quotelib.workbook.widgets import Field, box, option

LEFT_OPEN = "Left to us"
_NEED = (
    ("usable_tb", "number", "Usable capacity, TB", "At least; 1 TB is 10¹² bytes"),
    ("survive", "number", "Drive failures to survive", "Whichever drives fail: 0, 1 or 2"),
    ("builds", "number", "How many servers alike", "Blank: one"),
    ("host_iops", "number", "Operations a second", "At least, under the workload"),
    ("host_mb_s", "number", "Throughput, MB/s", "At least, under the workload"),
    ("max_loss_pct", "number", "Chance of data loss, %", "At most, over the years of the terms"),
    ("free_slots", "number", "Slots to keep free", "At least"),
    ("max_price", "number", "Budget for each server", "At most, without tax"),
    ("discount_pct", "number", "Discount, %", "A larger volume discount counts instead"),
)
"""Column, kind, label and help."""
_FIELD_OF = {
    "level_not_offered": "level",
    "member_count": "members",
    "bays_full": "members",
    "too_many_drives": "members",
    "bay_width": "drive",
    "bay_interface": "drive",
    "drive_link": "drive",
    "no_socket": "controller",
    "no_slot": "controller",
    "board_elsewhere": "controller",
    "power": "members",
}
"""Beside which field a finding is told."""
_HELP = {
    "members": "Without hot spares",
    "spans": "For RAID 50 and 60",
    "spares": "Blank: none",
}
_YES = {
    "erases_data": "writing over the customer's drives: nothing on them is needed",
    "no_redundancy": "no redundancy: the failure of one drive loses data",
    "loss_over_limit": "a chance of data loss above the limit of the terms",
    "cache_unprotected": "a write-back cache without protection",
}


class Form:
    """The fields of one enquiry.

    Parameters
    ----------
    price_list : PriceList
        What there is to choose from.
    changed : callable
        Told the column that somebody has changed.
    store, session : str
        Where, and for which opening of the page, the browser keeps what is typed.
    """

    def __init__(
        self, price_list: PriceList, changed: Callable[[str], None], store: str, session: str
    ) -> None:
        self._changed = changed
        self._quiet = False
        self._kept = {"store": store, "session": session}
        self.fields: dict[str, Field] = {}
        self._make(price_list)

    def _make(self, price_list: PriceList) -> None:
        terms = price_list.terms
        self._field("customer", "text", "Customer", "As it shall stand on the quote")
        self._field("enquiry_id", "text", "Enquiry number", "Names the files; change it freely")
        for name, kind, label, help_text in _NEED:
            self._field(name, kind, label, help_text)
        years = plain(terms.risk.years)
        self.fields["max_loss_pct"].help = f"At most, over {years} years"
        workloads = [option(w.name, f"{w.name}") for w in price_list.workloads.values()]
        self._field("workload", "select", "Workload", "What the storage is for", workloads)
        media = [option("hdd", "hard disks (hdd)"), option("ssd", "flash (ssd)")]
        self._field("media", "select", "Kind of drive", "Disks or flash", media)
        currencies = [option(c, c) for c in price_list.currencies if c != terms.currency]
        own = f"{terms.currency}, the price list's"
        self._field("currency", "select", "Currency", "Of the quote", currencies, blank=own)
        taxes = [option(code, f"{code}: {plain(pct)} %") for code, pct in terms.tax.items()]
        self._field("tax_code", "select", "Tax code", "Of the quote", taxes, blank="no tax")
        self._field("note", "area", "Note", "For us only: it is on no paper that leaves the house")
        parts = [option(name, label, detail) for name, label, detail in _parts(price_list)]
        for pin in PART_PINS:
            chosen = [item for item in parts if item["value"] in _skus(price_list, pin)]
            self._field(pin, "pick", pin.capitalize(), "", chosen)
        levels = [
            option(n, v.label, f"{v.words} Takes {v.takes_words}.") for n, v in LEVELS.items()
        ]
        for item in levels:
            item["label"] = item["label"].capitalize() if item["value"] == "none" else item["label"]
        self._field("level", "pick", "RAID level", "", levels)
        self._field("members", "number", "Member drives", _HELP["members"])
        self._field("spans", "number", "Spans", _HELP["spans"])
        self._field("spares", "number", "Hot spares", _HELP["spares"])
        owned = [option(role, f"the {role} (choose it above)") for role in OWNABLE]
        self._field("owned", "ticks", "The customer has already", "Fit is checked, no price", owned)
        accept = [option(code, _YES.get(code, code)) for code in ADVICE_CODES]
        help_text = "What we advise against and a person has said yes to"
        self._field("accept", "ticks", "Said yes to", help_text, accept)
        for field in self.fields.values():
            field.observe(self._told, "value")

    def _field(
        self,
        name: str,
        kind: str,
        label: str,
        help_text: str,
        options: Sequence[dict[str, str]] = (),
        blank: str = "",
    ) -> None:
        first = [option("", blank or LEFT_OPEN)] if kind in {"select", "pick"} else []
        self.fields[name] = Field(
            name=name,
            kind=kind,
            label=label,
            help=help_text,
            options=[*first, *options],
            **self._kept,
        )

    def _told(self, change: Mapping[str, Any]) -> None:
        if not self._quiet:
            self._changed(change["owner"].name)

    def cells(self) -> dict[str, str]:
        """Give every cell as it stands, blank ones too."""
        return {name: self.fields[name].value for name in COLUMNS}

    def given(self) -> dict[str, str]:
        """Give the cells that are filled."""
        return {name: value for name, value in self.cells().items() if value.strip()}

    def fill(self, cells: Mapping[str, str], *, only: Sequence[str] = COLUMNS) -> None:
        """Put cells into the fields, blank where there is none; told as one change."""
        self._quiet = True
        try:
            for name in only:
                self.fields[name].value = str(cells.get(name, ""))
        finally:
            self._quiet = False

    def say(self, problems: Sequence[Problem]) -> None:
        """Put each problem beside its field, and clear those that are mended."""
        words: dict[str, list[str]] = {}
        for problem in problems:
            text = f"{problem.why[:1].upper()}{problem.why[1:]}; {problem.right}."
            if problem.value and problem.column in self.fields:
                text = f"{problem.value!r} {problem.why}; {problem.right}."
            words.setdefault(problem.column, []).append(text)
        for name, field in self.fields.items():
            field.error = " ".join(words.get(name, []))

    def refuse(self, reasons: Sequence[Reason]) -> None:
        """Tell beside the fields why nothing can be built or nothing meets what was asked."""
        words: dict[str, list[str]] = {}
        for reason in reasons:
            name = _FIELD_OF.get(reason.code, reason.code)
            words.setdefault(name, []).append(f"{reason.words[:1].upper()}{reason.words[1:]}.")
        for name, field in self.fields.items():
            field.error = " ".join(words.get(name, []))

    def choices(self, pin: str, judged: Mapping[str, tuple[State, str]]) -> None:
        """Strike out the options of a pin that are impossible, and say which numbers are left."""
        field = self.fields[pin]
        if field.kind == "pick":
            field.options = [
                item
                if item["value"] not in judged
                else {
                    **item,
                    "state": judged[item["value"]][0],
                    "reason": judged[item["value"]][1],
                }
                for item in field.options
            ]
            return
        left = counts({value: state for value, (state, _) in judged.items()})
        field.help = f"{_HELP[pin]}; possible: {left or 'none'}"

    def label(self, name: str) -> str:
        """Give a field's label; its name where there is no such field."""
        return str(self.fields[name].label) if name in self.fields else name.replace("_", " ")

    def new_session(self, session: str) -> None:
        """Keep what is typed from now on under another opening of the page."""
        for field in self.fields.values():
            field.session = session

    def block(self, *names: str, layout: str = "ql-fields") -> Any:
        """Lay fields out side by side."""
        return box([self.fields[name] for name in names], layout)


def _skus(price_list: PriceList, pin: str) -> set[str]:
    kinds = {
        "chassis": price_list.chassis,
        "controller": price_list.controllers,
        "drive": price_list.drives,
    }
    return set(kinds[pin])


def _parts(price_list: PriceList) -> list[tuple[str, str, str]]:
    """List sku, name and description of every part that can be pinned."""
    made = []
    for chassis in price_list.chassis.values():
        room = f"{count(chassis.bays, 'bay')}, {count(len(chassis.slots), 'slot')}"
        made.append((chassis.sku, chassis.sku, f"{chassis.description}; {room}"))
    for controller in price_list.controllers.values():
        made.append((controller.sku, controller.sku, controller.description))
    for drive in price_list.drives.values():
        made.append((drive.sku, drive.sku, drive.description))
    return made
