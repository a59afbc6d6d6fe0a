"""Which columns say what a build must do: each with the demand it is judged by, but the load."""

from decimal import Decimal

from quotelib.catalogue import cells
from quotelib.enquiry.column import AT_LEAST, COUNT, LISTED, NAME, PERCENT, Column
from quotelib.enquiry.demands import Demand, price_words, rate_demand
from quotelib.text import count, money, size
from quotelib.units import TB, plain

# fmt: off
# Name, label, help in the form; in the README what to write, what a blank cell means; reader.
# A demand: what it needs, its sense, what a build gives; in words what was asked, what is given.
NEEDS = (
    Column("usable_tb", "Usable capacity, TB", "At least; 1 TB is 10¹² bytes",
           "TB (10^12 bytes) after redundancy, at least",
           "only what `drive`, `members` and `level` give", AT_LEAST, page="Usable capacity",
           said=lambda value, _: f"at least {plain(value)} TB",
           demand=Demand("build", "at least", lambda c: c.usable_bytes,
                         lambda value, _: f"at least {plain(value)} TB usable",
                         lambda c, _: size(c.usable_bytes),
                         lambda value, _: value * TB)),
    Column("workload", "Workload", "What the storage is for",
           "a name from `workloads.csv`", "none", NAME, kind="select",
           known=lambda prices: (prices.workloads, f"{LISTED}workloads")),
    Column("host_iops", "Operations a second", "At least, under the workload",
           "operations a second the workload needs, at least", "no demand",
           AT_LEAST, page="Operations",
           said=lambda value, _: f"at least {value:,f} a second",
           demand=rate_demand("IO/s", lambda c: c.host_iops)),
    Column("host_mb_s", "Throughput, MB/s", "At least, under the workload",
           "MB/s (10^6 bytes) the workload needs, at least", "no demand",
           AT_LEAST, page="Throughput",
           said=lambda value, _: f"at least {value:,f} MB/s",
           demand=rate_demand("MB/s", lambda c: c.host_mb_s)),
    Column("survive", "Drive failures to survive", "Whichever drives fail: 0, 1 or 2",
           "drive failures to survive, whichever drives fail", "no demand",
           COUNT, page="Must survive",
           said=lambda value, _: f"any {count(value, 'drive failure')}",
           demand=Demand("build", "at least",
                         lambda c: min(a.layout.rule.survives for a in c.build.arrays),
                         lambda value, _: f"survival of any {count(value, 'drive failure')}",
                         lambda c, _: ", ".join(
                             f"{level.label}, which survives any {level.survives}"
                             for level in (a.layout.rule for a in c.build.arrays)))),
    Column("max_loss_pct", "Chance of data loss, %", "At most, over {years} years",
           "chance of losing data over the years in `terms.toml`, percent, at most", "no demand",
           PERCENT, page="Chance of data loss",
           said=lambda value, setting: f"at most {plain(value)} % over {setting.years} years",
           demand=Demand("estimates", "at most", lambda c: c.loss_pct,
                         lambda value, _: f"a chance of data loss of at most {plain(value)} %",
                         lambda c, _: "not known" if c.loss_pct is None else f"{c.loss_pct:.3g} %",
                         lambda value, _: float(value))),
    Column("media", "Kind of drive", "Disks or flash",
           "`hdd` or `ssd`", "either", cells.one_of("hdd", "ssd"), kind="select",
           offers={"hdd": ("hard disks (hdd)", ""), "ssd": ("flash (ssd)", "")},
           said=lambda value, _: "hard disks" if value == "hdd" else "flash",
           demand=Demand("build", "is",
                         lambda c: next(iter({a.drive.media for a in c.build.arrays}), None),
                         lambda value, _: f"{value} drives",
                         lambda c, _: ", ".join(
                             f"{a.drive.sku}, which is {a.drive.media}" for a in c.build.arrays))),
    Column("free_slots", "Slots to keep free", "At least",
           "card slots to stay free, at least", "no demand",
           COUNT, of="server", page="Slots kept free",
           said=lambda value, _: f"at least {value}",
           demand=Demand("build", "at least", lambda c: c.build.slots_free,
                         lambda value, _: f"at least {count(value, 'free slot')}",
                         lambda c, _: f"{c.build.slots_free} in {c.build.chassis.sku}")),
    Column("max_price", "Budget for each server", "At most, without tax",
           "net price of one build, in the row's currency, at most", "no demand",
           AT_LEAST, of="server", page="Budget",
           said=lambda value, setting: f"at most {money(value, setting.currency)} net for each",
           demand=Demand("price", "at most", lambda c: c.net,
                         lambda value, setting:
                         f"at most {setting.currency} {plain(value)} net a build",
                         lambda c, setting: price_words(c.net or Decimal(0), setting),
                         lambda value, setting: value * setting.builds)),
)
# fmt: on
"""In the order of the file."""
