"""Which columns has an enquiry: each described once, for files, form, notebooks and README.

A row of `COLUMNS` is enough for a new column; with a `Demand` in it, it takes part in the choice,
in refusals and on the page.
"""

import datetime as dt
from collections import Counter
from decimal import Decimal
from typing import Any

from pydantic import BeforeValidator

from quotelib.build.findings import ADVICE, CODES
from quotelib.build.slots import free_slots, left_words
from quotelib.catalogue import cells
from quotelib.catalogue.free_slots import FREE_SLOTS, SlotsWanted
from quotelib.catalogue.parts import Part
from quotelib.catalogue.price_list import PriceList
from quotelib.catalogue.quantities import ANY_MONEY, MONEY, PERCENT
from quotelib.enquiry.column import (
    COUNT,
    IOPS_AT_LEAST,
    LISTED,
    MB_S_AT_LEAST,
    MEMBERS,
    MS_AT_MOST,
    NAME,
    POSITIVE,
    SPARES,
    TB_AT_LEAST,
    WATTS_AT_MOST,
    Column,
    Considered,
    Demand,
    Setting,
    most_net,
    price_words,
    rate_demand,
)
from quotelib.enquiry.load import name_of
from quotelib.enquiry.there import OWNED, THERE
from quotelib.levels import LEVELS, NO_ARRAY, array_levels
from quotelib.text import both, count, date, either, money, sentence, size
from quotelib.units import TB, plain

_SKU = "the sku that must be used"
_MEDIA = {"hdd": "hard disks", "ssd": "flash"}
_OWN_WORDS = cells.text(500, foreign=True)
_SPANNED = [level.name for level in LEVELS.values() if level.spanned]
_SURVIVED = either(map(str, sorted({level.survives for level in LEVELS.values()})))


def _accept(cell: Any) -> tuple[str, ...]:
    items: tuple[str, ...] = cells.apply(cells.list_of(), cell)
    for item in items:
        if CODES.get(item) != "advise":
            why = f"is a {CODES[item]} finding" if item in CODES else "is not known"
            right = f"only these can be accepted: {either(ADVICE)}"
            raise cells.wrong(f"has {item!r} in its list, which {why}", right)
    return items


def _date(cell: Any) -> dt.date:
    text = str(cells.apply(NAME, cell))
    try:
        return dt.date.fromisoformat(text)
    except ValueError:
        raise cells.wrong("is not a date", "write it as YYYY-MM-DD, such as 2026-03-31") from None


def loose(prices: PriceList) -> dict[str, Part]:
    """Give every part that is sold by itself: what is part of a board is not."""
    files = (prices.drives, prices.controllers, prices.chassis, prices.accessories, prices.options)
    every = (part for file in files for part in file.values())
    return {part.sku: part for part in every if part.takes != "board"}


def _slots(value: tuple[SlotsWanted, ...]) -> str:
    return both(f"{one.count}{one.kind}" for one in value)


def _free(value: tuple[SlotsWanted, ...]) -> list[str]:
    return [f"{count(one.count, 'free slot')}{one.kind}" for one in value]


def _leaves(considered: Considered, setting: Setting) -> int | None:
    workshop = setting.workshop
    return None if workshop is None else workshop.leaves(considered.build, setting.builds)


def _leaves_words(day: int | None) -> str:
    return "not known" if day is None else date(dt.date.fromordinal(day))


def _any(survives: int) -> str:
    return f"any {survives}" if survives else "none"


def _level(cell: Any) -> Any:
    return cells.apply(cells.one_of(*LEVELS), cell)


# fmt: off
# Name, label, help in the form; in the README what to write, what a blank cell means; reader.
# A demand: what it needs, its sense, what a build gives; in words what was asked, what is given.
_NEEDS = (
    Column("usable_tb", "Usable capacity, TB", "At least; 1 TB is 10¹² bytes",
           "TB (10^12 bytes) after redundancy, at least",
           "only what `drive`, `members` and `level` give", TB_AT_LEAST, page="Usable capacity",
           said=lambda value, _: f"at least {plain(value)} TB",
           demand=Demand("build", "at least", lambda c, _: c.usable_bytes,
                         lambda value, _: f"at least {plain(value)} TB usable",
                         lambda c, _: size(c.usable_bytes),
                         lambda value, _: value * TB)),
    Column("workload", "Workload", "What the storage is for",
           "a name from `workloads.csv`; after semicolons what is otherwise with this customer: "
           "`name;read_pct=55;outstanding=64`", "none", NAME, kind="select", named=name_of,
           known=lambda prices: (prices.workloads, f"{LISTED}workloads")),
    Column("host_iops", "Operations a second", "At least, under the workload",
           "operations a second the workload needs, at least", "no demand",
           IOPS_AT_LEAST, page="Operations",
           said=lambda value, _: f"at least {value:,f} a second",
           demand=rate_demand("operations a second", lambda c: c.host_iops)),
    Column("host_mb_s", "Throughput, MB/s", "At least, under the workload",
           "MB/s (10^6 bytes) the workload needs, at least", "no demand",
           MB_S_AT_LEAST, page="Throughput",
           said=lambda value, _: f"at least {value:,f} MB/s",
           demand=rate_demand("MB/s", lambda c: c.host_mb_s)),
    Column("survive", "Drive failures to survive", f"Whichever drives fail: {_SURVIVED}",
           "drive failures to survive, whichever drives fail", "no demand",
           SPARES, page="Must survive",
           said=lambda value, _: f"any {count(value, 'drive failure')}",
           demand=Demand("build", "at least",
                         lambda c, _: min(a.layout.rule.survives for a in c.build.arrays),
                         lambda value, _: f"survival of any {count(value, 'drive failure')}",
                         lambda c, _: ", ".join(
                             f"{level.label}, which survives {_any(level.survives)}"
                             for level in (a.layout.rule for a in c.build.arrays)))),
    Column("max_loss_pct", "Chance of data loss, %", "At most, over {years} years",
           "chance of losing data over the years in `terms.toml`, percent, at most", "no demand",
           PERCENT, page="Chance of data loss",
           said=lambda value, setting: f"at most {plain(value)} % over {setting.years} years",
           demand=Demand("estimates", "at most", lambda c, _: c.loss_pct,
                         lambda value, _: f"a chance of data loss of at most {plain(value)} %",
                         lambda c, _: "not known" if c.loss_pct is None else f"{c.loss_pct:.3g} %",
                         lambda value, _: float(value))),
    Column("media", "Kind of drive", "Disks or flash",
           "`hdd` or `ssd`", "either", cells.one_of("hdd", "ssd"), kind="select",
           offers={"hdd": ("hard disks (hdd)", ""), "ssd": ("flash (ssd)", "")},
           said=lambda value, _: _MEDIA[value],
           demand=Demand("build", "is",
                         lambda c, _: next(iter({a.drive.media for a in c.build.arrays}), None),
                         lambda value, _: _MEDIA[value],
                         lambda c, _: ", ".join(
                             f"{_MEDIA[a.drive.media]} ({a.drive.sku})" for a in c.build.arrays))),
    Column("free_slots", "Slots to keep free", "At least: 1, or 1:full:16 with height and lanes",
           "card slots to stay free, at least; `1:full:16` for one of full height whose connector "
           "is 16 lanes long, several kinds separated by `;`", "no demand",
           FREE_SLOTS, kind="text", of="server", page="Slots kept free",
           said=lambda value, _: f"at least {_slots(value)}",
           demand=Demand("build", "serves", lambda c, _: free_slots(c.build),
                         lambda value, _: f"at least {both(_free(value))}",
                         lambda c, _: f"{c.build.slots_free} in {left_words(c.build)}")),
    Column("max_price", "Budget for each server", "At most, without tax",
           "net price of one build, in the row's currency, at most", "no demand",
           MONEY, of="server", page="Budget",
           said=lambda value, setting: f"at most {money(value, setting.currency)} net for each",
           demand=Demand("price", "at most", lambda c, _: c.net_of_builds,
                         lambda value, setting:
                         f"at most {setting.currency} {plain(value)} net a build",
                         lambda c, setting: price_words(c.net_of_builds or Decimal(0), setting),
                         most_net)),
)

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
    *_NEEDS,
    Column("discount_pct", "Discount, %", "A larger volume discount counts instead",
           "percent; the larger of this and the volume discount counts", "none",
           PERCENT, Decimal(0), of="quote"),
    Column("tax_code", "Tax code", "Of the quote",
           "a code from `terms.toml`", "as listed in `customers.csv`, else no tax",
           NAME, kind="select", of="quote",
           known=lambda prices: (prices.terms.tax, f"{LISTED}tax codes")),
    Column("note", "Note", "For us only: it is on no paper that leaves the house",
           "for us only; it stays in the record", "",
           cells.text(2000, foreign=True), "", "area", "row"),
    Column("chassis", "Chassis", "", _SKU, "chosen", NAME, kind="pick", of="server",
           known=lambda prices: (prices.chassis, f"{LISTED}chassis")),
    Column("controller", "Controller", "", _SKU, "chosen", NAME, kind="pick",
           known=lambda prices: (prices.controllers, f"{LISTED}controllers")),
    Column("drive", "Drive", "", _SKU, "chosen", NAME, kind="pick",
           known=lambda prices: (prices.drives, f"{LISTED}drives")),
    Column("members", "Member drives", "Without hot spares",
           "drives in the array", "chosen", MEMBERS, said=lambda value, _: str(value)),
    Column("level", "RAID level", "",
           f"a level: `{NO_ARRAY}`, {either(array_levels())}", "chosen",
           BeforeValidator(_level), kind="pick",
           offers={level.name: (sentence(level.label), f"{level.words} Takes {level.takes_words}.")
                   for level in LEVELS.values()},
           said=lambda value, _: f"RAID {value}" if LEVELS[value].is_array else value),
    Column("spans", "Spans", f"For RAID {both(_SPANNED)}",
           f"spans of level {either(_SPANNED)}", "chosen", MEMBERS,
           said=lambda value, _: str(value)),
    Column("spares", "Hot spares", "Blank: none",
           "hot spares", "none", SPARES, said=lambda value, _: str(value)),
    OWNED,
    Column("accept", "Said yes to", "What we advise against and a person has said yes to",
           "codes of advice a person has said yes to, separated by `;`", "none",
           BeforeValidator(_accept), (), "ticks", "row",
           offers={code: (words, "") for code, words in ADVICE.items()}),
    Column("options", "Options", "Skus, with a count where there are several: SKU*2; SKU",
           "skus from `options.csv` in each server, `SKU*2` for two, separated by `;`", "none",
           cells.counted(64, 1000), kind="text", of="server", many=True,
           known=lambda prices: (prices.options, f"{LISTED}options"),
           said=lambda value, _: both(f"{n} × {sku}" for sku, n in Counter(value).items())),
    Column("services", "Services", "Skus, with a count where there are several: SKU*2; SKU",
           "skus of chosen services from `services.csv`, `SKU*2` for two, separated by `;`",
           "only those always done", cells.counted(99, 1000), kind="text", of="row", many=True,
           known=lambda prices: ({s.sku: s for s in prices.services.values()
                                  if s.when == "chosen"}, f"{LISTED}services to choose from")),
    Column("redundant_supply", "Redundant supply", "With one supply less it must carry its load",
           "`yes`: it must carry its load with one supply less, so that it takes two or more", "no",
           cells.one_of("yes"), kind="select", of="server", offers={"yes": ("yes", "")},
           said=lambda *_: "it carries its load with one supply less"),
    Column("max_watts", "Draw, W", "At most, all drives active",
           "watts with all drives active, at most", "no demand", WATTS_AT_MOST, of="server",
           page="Draw", said=lambda value, _: f"at most {plain(value)} W",
           demand=Demand("build", "at most", lambda c, _: c.build.watts,
                         lambda value, _: f"a draw of at most {plain(value)} W",
                         lambda c, _: f"{plain(c.build.watts)} W")),
    Column("server", "Server", "A name, where the quote has several",
           "a name; rows with the same one make one server", "the only one", NAME, "",
           "text", "row"),
    Column("array", "Array", "A name, where the server has several",
           "a name, where a server has several arrays", "the only one", NAME, "", "text", "row"),
    *THERE,
    Column("cores", "Processor cores", "At least, in each server",
           "processor cores in each server, at least: processors are chosen from `options.csv`",
           "no demand", COUNT, of="server", said=lambda value, _: f"at least {value}",
           demand=Demand("build", "at least", lambda c, _: c.build.total("cores"),
                         lambda value, _: f"at least {count(value, 'processor core')}",
                         lambda c, _: count(c.build.total("cores"), "core"))),
    Column("memory_gb", "Memory, GB", "At least, in each server",
           "GB of memory in each server, at least: modules are chosen from `options.csv`",
           "no demand", COUNT, of="server", page="Memory",
           said=lambda value, _: f"at least {value} GB",
           demand=Demand("build", "at least", lambda c, _: c.build.total("memory_gb"),
                         lambda value, _: f"at least {value} GB of memory",
                         lambda c, _: f"{c.build.total('memory_gb')} GB")),
    Column("max_response_ms", "Response time, ms", "At most, on average, under the workload",
           "mean time for one operation under the workload, milliseconds, at most", "no demand",
           MS_AT_MOST, page="Response time",
           said=lambda value, _: f"at most {plain(value)} ms on average",
           demand=rate_demand("ms an operation", lambda c: c.response_ms, "at most")),
    Column("max_lead_days", "Days until parts are here", "At most; blank: any",
           "days until what is not in stock reaches us, at most", "no demand",
           COUNT, of="server", page="Parts here within",
           said=lambda value, _: count(value, "day"),
           demand=Demand("build", "at most", lambda c, s: c.build.lead_days(s.builds),
                         lambda value, _: f"parts here within {count(value, 'day')}",
                         lambda c, s: count(c.build.lead_days(s.builds), "day"))),
    Column("condition", "Condition of parts", "Blank: new",
           "`any`: refurbished parts will do; `new`", "`new`, but for parts that are named",
           cells.one_of("new", "any"), kind="select", of="row",
           offers={"new": ("new", ""), "any": ("refurbished will do", "")},
           said=lambda value, _: "refurbished will do" if value == "any" else "new"),
    Column("parts", "Loose parts", "Skus, with a count where there are several: SKU*2; SKU",
           "skus of parts sold loose, from any file, `SKU*2` for two, separated by `;`", "none",
           cells.counted(9999, 100_000), kind="text", of="row", many=True,
           known=lambda prices: (loose(prices), f"{LISTED}parts sold loose")),
    Column("line", "Agreed besides", "In words, as it shall stand on the quote",
           "words for a line of your own: a trade-in, carriage, anything agreed", "none",
           cells.text(200, foreign=True), kind="text", of="row"),
    Column("line_quantity", "How often", "Blank: once", "how often that line counts", "1",
           POSITIVE, kind="number", of="row"),
    Column("line_price", "Price of one", "In the quote's currency; negative takes off",
           "price of one, in the quote's currency; negative for a trade-in; no discount is "
           "taken from it", "0", ANY_MONEY, kind="number", of="row"),
    Column("line_cost", "Cost of one, to us", "For the margin only",
           "what one costs us, in the quote's currency", "0", ANY_MONEY, kind="number",
           of="row"),
    Column("ship_by", "Wanted by", "A date, YYYY-MM-DD",
           "date by which all of it is to leave us, YYYY-MM-DD; where it cannot, the quote is held",
           "no date", BeforeValidator(_date), kind="text", of="quote",
           said=lambda value, _: date(value),
           demand=Demand("build", "at most", lambda c, s: _leaves(c, s),
                         lambda value, _: f"shipping by {date(value)}",
                         lambda c, s: _leaves_words(_leaves(c, s)),
                         lambda value, _: value.toordinal())),
    Column("customer_ref", "Customer's reference", "As it shall stand on the quote",
           "the customer's own reference", "theirs, where `customers.csv` has one, else none",
           cells.text(100, foreign=True), kind="text", of="quote",
           said=lambda value, _: str(value)),
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
