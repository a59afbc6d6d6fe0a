"""Which estimates has a quote: those of each array, and those of the whole server."""

from collections.abc import Iterator

from quotelib.predict.estimate import Estimate
from quotelib.predict.exposure import rebuild_estimates, risk_estimates
from quotelib.predict.forecast import Forecast
from quotelib.predict.power import power_estimates
from quotelib.predict.speed import speed_estimates
from quotelib.predict.wear import wear_estimates


def array_estimates(o: Forecast) -> Iterator[Estimate]:
    """List the estimates of an array, in the order of the page."""
    for listed in (speed_estimates, rebuild_estimates, risk_estimates, wear_estimates):
        yield from listed(o)


server_estimates = power_estimates
"""All that concerns the whole server, so far."""
