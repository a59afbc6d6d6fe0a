"""Which columns has an enquiry: each described once, for files, form, notebooks and README.

A row of `COLUMNS` is enough for a new column; with a `Demand` in it, it takes part in the choice,
in refusals and on the page.
"""

from collections import Counter
from decimal import Decimal
from typing import Any

from pydantic import BeforeValidator

from quotelib.build.findings import ADVICE, CODES
from quotelib.catalogue import cells
from quotelib.enquiry.column import COUNT, LISTED, NAME, PERCENT, POSITIVE, Column
from quotelib.enquiry.needs import NEEDS
from quotelib.levels import LEVELS
from quotelib.text import both, either, sentence

OWNABLE = ("chassis", "controller", "drive")
_SKU = "the sku that must be used"
_OWN_WORDS = cells.text(500, foreign=True)


def _accept(cell: Any) -> tuple[str, ...]:
    items: tuple[str, ...] = cells.apply(cells.list_of(), cell)
    for item in items:
        if CODES.get(item) != "advise":
            why = f"is a {CODES[item]} finding" if item in CODES else "is not known"
            right = f"only these can be accepted: {either(ADVICE)}"
            raise cells.wrong(f"has {item!r} in its list, which {why}", right)
    return items


def _level(cell: Any) -> Any:
    return cells.apply(cells.one_of(*LEVELS), cell)


# fmt: off
# Name, label, help in the form; in the README what to write, what a blank cell means; reader.
_TABLE = (
    Column("enquiry_id", "Enquiry number", "Names the files; change it freely",
           "required; any text", "", _OWN_WORDS, "", "text", "quote", required=True),
    Column("customer", "Customer", "As it shall stand on the quote",
           "required; any text", "", _OWN_WORDS, "", "text", "quote", required=True),
    Column("currency", "Currency", "Of the quote",
           "ISO 4217 code with a rate in `terms.toml`", "the price list's currency",
           NAME, kind="select", of="quote",
           known=lambda prices: (prices.currencies, f"{LISTED}currencies")),
    Column("builds", "How many servers alike", "Blank: one",
           "how many alike", "1", POSITIVE, 1, of="server"),
    *NEEDS,
    Column("discount_pct", "Discount, %", "A larger volume discount counts instead",
           "percent; the larger of this and the volume discount counts", "none",
           PERCENT, Decimal(0), of="quote"),
    Column("tax_code", "Tax code", "Of the quote",
           "a code from `terms.toml`", "no tax", NAME, kind="select", of="quote",
           known=lambda prices: (prices.terms.tax, f"{LISTED}tax codes")),
    Column("note", "Note", "For us only: it is on no paper that leaves the house",
           "for us only; it stays in the record", "",
           cells.text(2000, foreign=True), "", "area", "quote"),
    Column("chassis", "Chassis", "", _SKU, "chosen", NAME, kind="pick", of="server",
           known=lambda prices: (prices.chassis, f"{LISTED}chassis")),
    Column("controller", "Controller", "", _SKU, "chosen", NAME, kind="pick",
           known=lambda prices: (prices.controllers, f"{LISTED}controllers")),
    Column("drive", "Drive", "", _SKU, "chosen", NAME, kind="pick",
           known=lambda prices: (prices.drives, f"{LISTED}drives")),
    Column("members", "Member drives", "Without hot spares",
           "drives in the array", "chosen", POSITIVE, said=lambda value, _: str(value)),
    Column("level", "RAID level", "",
           "a level: `none`, 0, 1, 5, 6, 10, 50 or 60", "chosen",
           BeforeValidator(_level), kind="pick",
           offers={level.name: (sentence(level.label), f"{level.words} Takes {level.takes_words}.")
                   for level in LEVELS.values()},
           said=lambda value, _: f"RAID {value}" if LEVELS[value].is_array else value),
    Column("spans", "Spans", "For RAID 50 and 60",
           "spans of level 50 or 60", "chosen", POSITIVE, said=lambda value, _: str(value)),
    Column("spares", "Hot spares", "Blank: none",
           "hot spares", "none", COUNT, said=lambda value, _: str(value)),
    Column("owned", "The customer has already", "Fit is checked, no price",
           "`chassis`, `controller`, `drive`, separated by `;`: the customer has it; its sku "
           "must be given", "we supply all", cells.list_of(*OWNABLE), (), "ticks",
           offers={role: (f"the {role} (choose it above)", "") for role in OWNABLE}),
    Column("accept", "Said yes to", "What we advise against and a person has said yes to",
           "codes of advice a person has said yes to, separated by `;`", "none",
           BeforeValidator(_accept), (), "ticks", "quote",
           offers={code: (words, "") for code, words in ADVICE.items()}),
    Column("options", "Options", "Skus, with a count where there are several: SKU*2; SKU",
           "skus from `options.csv` in each server, `SKU*2` for two, separated by `;`", "none",
           cells.counted(16), kind="text", of="server", many=True,
           known=lambda prices: (prices.options, f"{LISTED}options"),
           said=lambda value, _: both(f"{n} × {sku}" for sku, n in Counter(value).items())),
)
# fmt: on

COLUMNS = {column.name: column for column in _TABLE}
"""Every column by name, in the order of the file."""

PINS = ("chassis", "controller", "drive", "members", "level", "spans", "spares")
"""Columns that pin something of the build."""


def demand_columns() -> tuple[Column, ...]:
    """List the columns by which builds are judged."""
    return tuple(column for column in COLUMNS.values() if column.demand is not None)


def readme_table() -> str:
    """Write the table of columns for the README, in Markdown."""
    rows = ["| column | what to write | blank means |", "|---|---|---|"]
    rows += [f"| `{c.name}` | {c.write} | {c.blank} |" for c in COLUMNS.values()]
    return "\n".join(rows) + "\n"
