"""What does it draw, warm and cost to run: power, heat, energy."""

from collections.abc import Iterator

from quotelib.catalogue.parts import Terms
from quotelib.estimate.estimate import Estimate, not_known
from quotelib.estimate.running.cost import cost_per_year
from quotelib.estimate.running.power import (
    heat_btu_per_hour,
    kwh_per_year,
    mean_watts,
    supply_share,
)
from quotelib.pricing.money import to_minor
from quotelib.quote.estimate_facts import facts, number, one
from quotelib.quote.look import Outlook
from quotelib.quote.outlook_record import EstimateFacts
from quotelib.units import plain

_BASIS = (
    "Base, controller and accessories as the price list states them, plus the drives between idle "
    "and active by the share of time they work. Low end: drives idle; high end: all active."
)


def power_estimates(o: Outlook, terms: Terms) -> Iterator[EstimateFacts]:
    """List the estimates of power, per server."""
    build, drive = o.build, o.build.drive
    drives = build.layout.drives
    full = float(build.watts)
    idle = full - drives * max(float(drive.active_w - drive.idle_w), 0.0)
    busy = one(o.mixed.drive_utilisation)
    # An unknown load counts as a full one: heat and supply must be enough.
    share = min(busy, 1.0) if busy == busy else 1.0
    mean = one(mean_watts(idle, full, share))
    inputs = (
        ("all drives active", f"{plain(build.watts)} W"),
        ("drives idle", f"{number(idle)} W"),
        ("share of time the drives work", f"{100 * share:.0f} %"),
    )
    sheet = "the price list's figures"
    made = Estimate("mean power under your workload", mean, "W", idle, full, _BASIS, sheet, inputs)
    yield facts("mean_watts", "power", made)
    low, value, high = (one(heat_btu_per_hour(w)) for w in (idle, mean, full))
    basis = "All power ends as heat: 3.412 BTU/h a watt."
    made = Estimate("heat", value, "BTU/h", low, high, basis, "NIST SP 811", inputs)
    yield facts("heat_btu_h", "power", made)
    low, value, high = (one(kwh_per_year(w)) for w in (idle, mean, full))
    basis = "Mean power over 8760 hours; cooling and the supply's own losses come on top."
    made = Estimate("energy in a year", value, "kWh", low, high, basis, "arithmetic", inputs)
    yield facts("kwh_year", "power", made)
    low, value, high = (
        100 * one(supply_share(w, float(build.chassis.supply_w))) for w in (idle, mean, full)
    )
    supply = (("supply", f"{plain(build.chassis.supply_w)} W"), *inputs)
    basis = "Power divided by what the supply is rated for."
    made = Estimate("share of the supply in use", value, "%", low, high, basis, sheet, supply)
    yield facts("supply_pct", "power", made, 2)
    yield facts("energy_cost_year", "power", _cost(idle, mean, full, terms, inputs))


def _cost(
    idle: float, mean: float, full: float, terms: Terms, inputs: tuple[tuple[str, str], ...]
) -> Estimate:
    name = "energy cost of a year"
    tariff = None if terms.electricity is None else terms.electricity.price_per_kwh
    if tariff is None:
        why = "not known: the price list's terms state no electricity price."
        return not_known(name, terms.currency, why, source="arithmetic", inputs=inputs)
    low, value, high = (
        float(to_minor(terms.currency, cost_per_year(watts, tariff)))
        for watts in (idle, mean, full)
    )
    stated = (("tariff", f"{terms.currency} {plain(tariff)} a kWh"), *inputs)
    basis = "Energy of a year times the stated tariff, in the price list's currency."
    return Estimate(name, value, terms.currency, low, high, basis, "arithmetic", stated)
