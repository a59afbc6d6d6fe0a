"""When can a build under consideration leave, if it were ordered today and alone on the bench.

The rest of its quote can only make that later: other servers take from the same stock and have
minutes at the same bench, and an array that grows or changes its drives runs longer than is counted
here, where nothing is estimated that asks for a rebuild. So a build that is too late by this is
too late in any quote, and none that can be in time is lost.
"""

import datetime as dt
import math
from collections.abc import Hashable
from dataclasses import dataclass, field
from decimal import Decimal
from functools import lru_cache

from quotelib.build.build import Build
from quotelib.catalogue.price_list import PriceList
from quotelib.catalogue.terms import BenchTerms
from quotelib.catalogue.work import Service
from quotelib.pricing.lines import times
from quotelib.ready.leaving import Job, together
from quotelib.ready.unattended import most_hours


@dataclass(frozen=True)
class Workshop:
    """What it takes to say when a server leaves.

    Parameters
    ----------
    ordered : date
        The day of the order.
    services : tuple of (Service, int)
        What is done, and how often: once, or as often as it was chosen.
    """

    ordered: dt.date
    terms: BenchTerms
    services: tuple[tuple[Service, int], ...]
    _minutes: dict[Hashable, Decimal] = field(default_factory=dict, compare=False, repr=False)
    _days: dict[Hashable, int | None] = field(default_factory=dict, compare=False, repr=False)

    def leaves(self, build: Build, builds: int) -> int | None:
        """Give the day on which so many of a build leave, as its ordinal; None: nobody can say."""
        kind = (
            build.actions,
            tuple((a.action, a.fitted_drives, a.layout.rule.is_array) for a in build.arrays),
            tuple((p.part.takes, build.is_fitted(p), p.count) for p, _ in build.controllers()),
            builds,
        )
        if kind not in self._minutes:
            self._minutes[kind] = self.minutes(build, builds)
        whole_days = math.ceil(most_hours(build, self.terms.soak_hours) / 24)
        key = build.lead_days(builds), self._minutes[kind], whole_days
        if key not in self._days:
            job = Job(key[0], 1, key[1], hours=24 * whole_days)
            plan = together(self.ordered, self.terms, [job])
            self._days[key] = None if plan is None else plan.leaves.toordinal()
        return self._days[key]

    def minutes(self, build: Build, builds: int) -> Decimal:
        """Add up the minutes at the bench for some equal builds, and what is done once for them."""
        total = Decimal(0)
        for service, asked in self.services:
            number = asked * times(service, build)
            if service.per == "quote" and service.when == "always":
                number = int(not service.actions or bool(number))
            total += service.minutes * number * (1 if service.per == "quote" else builds)
        return total


@lru_cache(maxsize=8)
def workshop(price_list: PriceList, ordered: dt.date, chosen: tuple[str, ...]) -> Workshop:
    """Give what a price list says of the bench, with the services chosen by sku."""
    asked = (
        (service, chosen.count(service.sku) if service.when == "chosen" else 1)
        for service in price_list.services.values()
    )
    done = tuple((service, number) for service, number in asked if number and service.minutes)
    return Workshop(ordered, price_list.terms.bench, done)
