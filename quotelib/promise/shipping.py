"""When does it leave: the date of a quote, what makes it, and what can leave before the rest."""

import datetime as dt
import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from decimal import Decimal
from typing import Literal, NamedTuple

from quotelib.bench.shown import BenchSheet
from quotelib.catalogue.parts import Part
from quotelib.catalogue.terms import BenchTerms
from quotelib.facts import Frozen, Measure, Reason
from quotelib.ready.leaving import MOST_DAYS, Apart, Job, apart, together
from quotelib.ready.stock import Missing, missing
from quotelib.ready.working_days import working_day
from quotelib.text import both, count, date

SHIP_BY = "ship_by"
"""Code of the hold where it cannot be shipped by the day it is wanted."""


class Delivery(Frozen):
    """So many of an item that leave on a day."""

    number: int
    date: dt.date


class ItemShipping(Frozen):
    """When one item leaves, if it need not wait for the others.

    Parameters
    ----------
    name
        As the page calls it; blank for the only server.
    number
        How many servers alike; 1 for loose parts.
    lead_days, waits_for, parts_on
        How long it waits for parts, for which (skus), and the working day on which all are here.
    minutes
        Bench time of all of it.
    unattended_hours
        What runs by itself in each, at most; None: nobody can say.
    deliveries
        As each is ready, on a few days in all; none where no day can be promised.
    """

    kind: Literal["server", "parts"]
    name: str
    number: int
    lead_days: int
    waits_for: tuple[str, ...]
    parts_on: dt.date
    minutes: Measure
    unattended_hours: float | None
    deliveries: tuple[Delivery, ...]

    @property
    def leaves(self) -> dt.date | None:
        """Give the day on which the last of it leaves."""
        return self.deliveries[-1].date if self.deliveries else None

    @property
    def words(self) -> str:
        """Say on which days how many leave: ``3 on 4 May 2026 and 1 on 6 May 2026``."""
        if len(self.deliveries) == 1:
            return date(self.deliveries[0].date)
        return both(f"{one.number} on {date(one.date)}" for one in self.deliveries)


class Shipping(Frozen):
    """What makes the date on which all of a quote leaves in one delivery.

    Parameters
    ----------
    ordered_on
        The day of an order from which it is counted: that of the quote.
    wanted_by, kept
        By when it is wanted, and whether that can be kept; None: no day was named.
    lead_days, parts_on
        The longest wait for parts, and the working day on which all are here.
    minutes, minutes_per_day, bench_days, bench_until
        Work at the bench, how much is done in a day, the working days it fills and the last.
    unattended_hours, unattended_days
        What runs by itself in the server that takes longest, at most, and as whole days.
    date
        None: nobody can say, and `why_none` says why.
    words
        All of it in sentences for the customer.
    """

    ordered_on: dt.date
    wanted_by: dt.date | None
    kept: bool | None
    lead_days: int
    parts_on: dt.date
    minutes: Measure
    minutes_per_day: int | None
    bench_days: int | None
    bench_until: dt.date | None
    unattended_hours: float | None
    unattended_days: int | None
    date: dt.date | None
    why_none: str
    items: tuple[ItemShipping, ...]
    words: tuple[str, ...]

    @property
    def apart(self) -> dt.date | None:
        """Give the day on which all have left where none waits for the others."""
        days = [item.leaves for item in self.items if item.leaves is not None]
        return max(days) if len(days) == len(self.items) else None


class Due(NamedTuple):
    """One item that is to leave; `unknown` says why nobody knows how long it runs by itself."""

    kind: Literal["server", "parts"]
    name: str
    needs: Mapping[Part, int]
    job: Job
    unknown: str = ""


def due_of(name: str, needs: Mapping[Part, int], bench: BenchSheet, *, may_erase: bool) -> Due:
    """Say what is due of some equal servers, by their bench sheet."""
    unknown = ""
    if not may_erase:
        unknown = "it has to be settled first whether the data on your drives must stay"
    elif bench.waits_unknown:
        unknown = "how long the change of your array takes is not known"
    once = bench.minutes_all - bench.builds * bench.minutes
    job = Job(0, bench.builds, bench.minutes, once, bench.unattended_high_hours)
    return Due("server", name, needs, job, unknown)


def shipping(
    ordered: dt.date, wanted_by: dt.date | None, terms: BenchTerms, due: Sequence[Due]
) -> Shipping | None:
    """Work out when items leave; None where nothing is sent."""
    if not due:
        return None
    waits = tuple(missing([one.needs for one in due]))
    jobs = [
        replace(one.job, lead_days=wait.lead_days) for one, wait in zip(due, waits, strict=True)
    ]
    why = next((one.unknown for one in due if one.unknown), "")
    plan = None if why else together(ordered, terms, jobs)
    minutes = sum((job.all_minutes for job in jobs), Decimal(0))
    if plan is None and not why:
        why = f"it is more than {MOST_DAYS // 366} years away"
        if terms.minutes_per_day is None and minutes:
            why = "our price list does not say how much our bench does in a day"
    leaving = apart(ordered, terms, jobs) if plan else [None] * len(jobs)
    made = zip(due, jobs, waits, leaving, strict=True)
    items = tuple(_item(*one, ordered, terms) for one in made)
    lead_days = max(job.lead_days for job in jobs)
    found = Shipping(
        ordered_on=ordered,
        wanted_by=wanted_by,
        kept=None if wanted_by is None else plan is not None and plan.leaves <= wanted_by,
        lead_days=lead_days,
        parts_on=_parts_on(ordered, lead_days, terms),
        minutes=minutes,
        minutes_per_day=terms.minutes_per_day,
        bench_days=plan and plan.bench_days,
        bench_until=plan and plan.bench,
        unattended_hours=None if why else max(job.hours for job in jobs),
        unattended_days=plan and plan.by_itself,
        date=plan and plan.leaves,
        why_none=why,
        items=items,
        words=(),
    )
    return found.model_copy(update={"words": tuple(_words(found, terms))})


def _parts_on(ordered: dt.date, lead_days: int, terms: BenchTerms) -> dt.date:
    return working_day(ordered + dt.timedelta(days=lead_days), terms.holidays)


def _item(
    due: Due,
    job: Job,
    wait: Missing,
    leaving: Apart | None,
    ordered: dt.date,
    terms: BenchTerms,
) -> ItemShipping:
    groups = leaving.groups() if leaving else ()
    return ItemShipping(
        kind=due.kind,
        name=due.name,
        number=job.number,
        lead_days=job.lead_days,
        waits_for=tuple(part.sku for part in wait.parts),
        parts_on=_parts_on(ordered, job.lead_days, terms),
        minutes=job.all_minutes,
        unattended_hours=None if due.unknown else job.hours,
        deliveries=tuple(Delivery(number=number, date=day) for number, day in groups),
    )


def _words(found: Shipping, terms: BenchTerms) -> Iterator[str]:
    if found.lead_days:
        days = count(found.lead_days, "day")
        yield f"Parts that are not in stock take {days} to reach us."
    else:
        yield "All parts are in stock today."
    if found.date is None:
        yield f"We promise no shipping date yet: {found.why_none}."
        return
    in_one = ", in one delivery" if len(found.items) > 1 or found.items[0].number > 1 else ""
    yield (
        f"Ordered on {date(found.ordered_on)}, it leaves us on {date(found.date)}{in_one}; a later "
        "order moves that day."
    )
    steps = [f"parts here on {date(found.parts_on)}"]
    if found.bench_days:
        steps.append(f"then {count(found.bench_days, 'working day')} at our bench")
    if found.unattended_hours:
        hours = math.ceil(found.unattended_hours)
        steps.append(f"then up to {hours} hours of tests, which run day and night")
    if len(steps) > 1:
        yield f"Of that: {', '.join(steps)}."
    if len(found.items) > 1:
        each = (f"{one.name} on {date(one.leaves)}" for one in found.items if one.leaves)
        yield f"Each as it is ready, in deliveries of its own: {both(each)}."
    elif len(found.items[0].deliveries) > 1:
        yield f"In several deliveries, as they are ready: {found.items[0].words}."
    years = {day.year for day in terms.holidays}
    if unknown := sorted({found.ordered_on.year, found.date.year} - years):
        named = both(map(str, unknown))
        yield f"No holidays of {named} are in our calendar yet: they can move the day."


def wanted_words(found: Shipping | None) -> str:
    """Say what is offered for the day by which something is wanted."""
    if found is None:
        return "nothing of this is built or sent by us, so that no day follows from it"
    if found.date is None:
        return f"no day can be promised yet: {found.why_none}"
    return f"leaves us on {date(found.date)}" + ("" if found.kept else " at the earliest")


def late(found: Shipping | None, wanted_by: dt.date | None, nearest: str) -> Iterator[Reason]:
    """Say why a quote is held that cannot be shipped by the day it is wanted.

    `nearest` says what else could be built, and when that would leave; blank: nothing was found.
    """
    if wanted_by is None or (found is not None and found.kept):
        return
    what, change = f"wanted by {date(wanted_by)}, but {wanted_words(found)}", "agree on another day"
    if found is not None and found.apart is not None and found.apart <= wanted_by:
        change = f"agree on several deliveries, the last on {date(found.apart)}, or on another day"
    elif nearest:
        change = f"{change}; {nearest}"
    yield Reason(code=SHIP_BY, what=what, change=change)


def leaves_words(found: Shipping, item: ItemShipping) -> str:
    """Say on a bench sheet when what is on it must leave."""
    if found.date is None:
        return f"no day is promised: {found.why_none}"
    if len(found.items) > 1:
        return f"{date(found.date)}, with all of the quote; by itself {item.words}"
    if len(item.deliveries) > 1:
        return f"{date(found.date)}; in several deliveries {item.words}"
    return date(found.date)
