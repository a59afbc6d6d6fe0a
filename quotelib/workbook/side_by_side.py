"""What is said of builds that stand side by side: the same facts of each, and charts of all."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from quotelib.documents.charts.drawing import BLUE, GREEN, ORANGE, PURPLE, SKY, bar, bars
from quotelib.predict.estimate import Estimate
from quotelib.promise.answer import Answer
from quotelib.promise.kept_builds import kept_builds
from quotelib.promise.record import QuoteRecord, Server
from quotelib.text import both, count, money, sentence, size, spoken, tb
from quotelib.units import TB, plain
from quotelib.workbook.results import chart

_COMPARED = {
    "host_iops", "response_ms", "host_mb_s", "read_mb_s", "write_mb_s", "rebuilding_iops",
    "rebuild_hours", "exposed_hours", "array_loss_pct", "loss_pct", "wear_years", "mean_watts",
    "energy_cost_year",
}  # fmt: skip
"""Keys of the estimates that tell builds apart; the rest stands with each build."""
_COLOURS = (BLUE, ORANGE, SKY, GREEN, PURPLE)


@dataclass(frozen=True, slots=True)
class Column:
    """A build in the comparison: its name, its record and what is said of it."""

    name: str
    record: QuoteRecord
    facts: Mapping[str, str]

    def rows(self) -> list[dict[str, str]]:
        """Give rows that ask for this build, with all that was asked of it."""
        quoted = self.record.as_quoted()
        return [{**row.cells, **pins} for row, pins in zip(self.record.rows, quoted, strict=True)]


def among(column: Column, others: Sequence[Column]) -> bool:
    """Tell whether a build is one of others already."""
    return any(column.facts == other.facts for other in others)


def spelled(load: str) -> str:
    """Write the cell of a workload for people: its name, then numbers of its own."""
    return load.replace(";", ", ")


def column_of(name: str, record: QuoteRecord) -> Column:
    """Put a record into a column of the comparison."""
    loads = dict.fromkeys(spelled(row.cells.get("workload", "")) for row in record.rows)
    facts = {"Workload": both(filter(None, loads)) or "none named"}
    for server in record.servers:
        facts |= _named(server.name, _server(server))
    totals, currency = record.totals, record.currency
    if totals.net_per_build is not None and totals.builds > 1:
        facts["Net, each server"] = money(totals.net_per_build, currency)
    facts["Net, in all"] = money(totals.net, currency)
    if totals.builds > 1:
        facts["Net, in all"] += f" for {totals.builds} servers"
    return Column(name, record, facts)


def beside(make: Callable[[], Answer], kept: Sequence[Column]) -> Answer:
    """Make an answer, and put builds that were kept beside it, for the customer to read."""
    found = make()
    if found.record is None:
        return found
    offered = column_of("As offered", found.record)
    others = [column for column in kept if not among(column, [offered])]
    if not others:
        return found
    compared = kept_builds([(column.name, column.facts) for column in (offered, *others)])
    return replace(found, record=found.record.model_copy(update={"compared": compared}))


def _server(server: Server) -> dict[str, str]:
    facts = {"Chassis": server.chassis}
    for array in server.arrays:
        told = {
            "Layout": array.words,
            "Drive": array.drive,
            "Controller": array.controller,
            "Usable, a server": size(array.capacity.usable_bytes),
            "Survives": f"any {count(array.survives, 'drive failure')}"
            if array.survives
            else "none",
        }
        facts |= _named(array.name, told | _estimates(array.estimates))
    facts |= _estimates(server.estimates)
    facts["Draw of a server, all drives active"] = f"{plain(server.watts)} W"
    against = (f.code for f in server.findings if f.severity == "advise" and not f.accepted)
    if said := both(map(spoken, dict.fromkeys(against))):
        facts["We advise against it"] = said
    facts["Lead time"] = count(server.lead_days, "day") if server.lead_days else "all in stock"
    return facts


def _survives(number: int) -> str:
    return f"any {count(number, 'drive failure')}" if number else "no drive failure"


def _named(name: str, facts: Mapping[str, str]) -> dict[str, str]:
    return {f"{name}: {label}" if name else label: value for label, value in facts.items()}


def _estimates(estimates: Iterable[Estimate]) -> dict[str, str]:
    told = [estimate for estimate in estimates if estimate.key in _COMPARED]
    return {sentence(e.name): e.shown + (e.shown_range and f" ({e.shown_range})") for e in told}


def charts_of(shown: Sequence[Column]) -> list[dict[str, Any]]:
    """Draw the sizes and prices of some builds."""
    colours = dict(zip((column.name for column in shown), _COLOURS, strict=False))
    records = [column.record for column in shown]
    sizes = [(size / TB, f"{tb(size)} TB") for size in (r.usable_bytes() for r in records)]
    nets = [(float(r.totals.net), money(r.totals.net, r.currency)) for r in records]
    drawn = {
        "sizes": ("Usable capacity of the builds", "TB (10¹² bytes)", sizes),
        "prices": ("Net price of the builds", records[0].currency, nets),
    }
    made = []
    for key, (title, axis, figures) in drawn.items():
        rows = [bar(name, *figure, name) for name, figure in zip(colours, figures, strict=True)]
        made.append(chart(key, bars(rows, title, axis, colours=colours, room=1.4)))
    return made
