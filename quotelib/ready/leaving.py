"""On which day do items leave: parts, then the bench, then what runs by itself.

Each rule is common practice, no source, where nothing else is said:

* Lead days are calendar days, as a maker counts them; what arrives on a day without work is
  there on the next working day.
* The bench begins on the working day after that, does what ``minutes_per_day`` says, and leaves
  what is not done for the next working day. So one day's work that can begin today is done on the
  next working day.
* What runs by itself begins when the bench has ended, in all servers side by side, and runs
  through nights, weekends and holidays: nobody has to be there. Its hours count as whole days,
  since somebody has to see its end, and that on a working day.
* Loose parts leave on the day on which all of them are here.
"""

import datetime as dt
import math
from bisect import bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from quotelib.catalogue.terms import BenchTerms
from quotelib.ready.working_days import working_day

MOST_DAYS = 20 * 366
"""Nobody promises a day that is further away; ours."""
GROUPS = 4
"""Days on which equal servers leave, at most; ours: nobody plans by more."""


@dataclass(frozen=True, slots=True)
class Job:
    """Some equal things that leave a quote together, or one after the other.

    Parameters
    ----------
    lead_days : int
        Until all parts for them are here.
    number : int
        How many.
    minutes, once_minutes : Decimal
        At the bench: of each, and once for all of them.
    hours : float
        What runs by itself in each, at most.
    """

    lead_days: int
    number: int = 1
    minutes: Decimal = Decimal(0)
    once_minutes: Decimal = Decimal(0)
    hours: float = 0.0

    @property
    def all_minutes(self) -> Decimal:
        """Give the minutes at the bench for all of them."""
        return self.once_minutes + self.number * self.minutes


@dataclass(frozen=True, slots=True)
class Plan:
    """The days on which one delivery of some jobs is ready.

    Parameters
    ----------
    parts, bench, leaves : date
        On which all parts are here, the bench has ended, and it can leave.
    bench_days, by_itself : int
        Working days at the bench, and calendar days of what runs by itself.
    """

    parts: dt.date
    bench: dt.date
    leaves: dt.date
    bench_days: int
    by_itself: int


def together(ordered: dt.date, terms: BenchTerms, jobs: Sequence[Job]) -> Plan | None:
    """Say when all jobs can leave at once; None where nobody can say.

    All of it is built in one go, once everything is here: the longest wait for parts, then all
    minutes at the bench, then the longest of what runs by itself.
    """
    minutes = sum((job.all_minutes for job in jobs), Decimal(0))
    lead_days = max((job.lead_days for job in jobs), default=0)
    return _plan(ordered, terms, lead_days, minutes, max((j.hours for j in jobs), default=0.0))


def _plan(
    ordered: dt.date, terms: BenchTerms, lead_days: int, minutes: Decimal, hours: float
) -> Plan | None:
    bench_days = days_of(minutes, terms.minutes_per_day)
    if bench_days is None or max(lead_days, bench_days, hours / 24) > MOST_DAYS:
        return None
    by_itself, holidays = math.ceil(hours / 24), terms.holidays
    parts = working_day(ordered + dt.timedelta(days=lead_days), holidays)
    bench = working_day(parts, holidays, bench_days)
    leaves = working_day(bench + dt.timedelta(days=by_itself), holidays)
    return Plan(parts, bench, leaves, bench_days, by_itself)


def days_of(minutes: Decimal, minutes_per_day: int | None) -> int | None:
    """Count the working days that minutes at the bench fill; None where nobody says how many do."""
    if not minutes:
        return 0
    return None if minutes_per_day is None else math.ceil(Fraction(minutes) / minutes_per_day)


@dataclass(frozen=True, slots=True)
class Apart:
    """The days on which the things of one job leave, as the bench ends each of them.

    Parameters
    ----------
    bench : date
        On which the bench begins with them.
    used : Fraction
        Minutes of that day that other jobs have.
    """

    job: Job
    terms: BenchTerms
    bench: dt.date
    used: Fraction

    def leaves(self, which: int) -> dt.date:
        """Say when so many of them have left, counted from 1."""
        by_itself = dt.timedelta(days=math.ceil(self.job.hours / 24))
        return working_day(self.ended(which)[0] + by_itself, self.terms.holidays)

    def ended(self, which: int) -> tuple[dt.date, Fraction]:
        """Say when the bench has ended so many of them, and how many minutes of that day."""
        minutes = Fraction(self.job.once_minutes) + which * Fraction(self.job.minutes)
        if not minutes:
            return self.bench, self.used
        each = self.terms.minutes_per_day
        assert each is not None  # where there are minutes, `apart` has seen to it
        total = self.used + minutes
        days = max(math.ceil(total / each), 1)
        return working_day(self.bench, self.terms.holidays, days - 1), total - (days - 1) * each

    def groups(self) -> Iterator[tuple[int, dt.date]]:
        """Give on which days how many of them leave, on a few days in all.

        As soon as a quarter of them have, the second quarter, and so on; with each, all others
        that are ready on that day.
        """
        number, left = self.job.number, 0
        for part in range(1, GROUPS + 1):
            which = -(-number * part // GROUPS)
            if which <= left:
                continue
            day = self.leaves(which)
            # Later ones leave no earlier, so that those of this day end somewhere.
            ready = bisect_right(range(number), day, lo=which, key=lambda n: self.leaves(n + 1))
            yield ready - left, day
            left = ready


def apart(ordered: dt.date, terms: BenchTerms, jobs: Sequence[Job]) -> list[Apart]:
    """Say when each of some jobs leaves where none waits for another, in their order.

    The bench takes what has its parts first, in the order of the quote where several have them on
    the same day. None leaves later than `together`, which must be known.
    """
    found: dict[int, Apart] = {}
    free: tuple[dt.date, Fraction] | None = None
    here = [working_day(ordered + dt.timedelta(days=job.lead_days), terms.holidays) for job in jobs]
    for place in sorted(range(len(jobs)), key=here.__getitem__):
        job, parts = jobs[place], here[place]
        if not job.all_minutes:
            found[place] = Apart(job, terms, parts, Fraction(0))
            continue
        begins = working_day(parts, terms.holidays, 1), Fraction(0)
        if free is not None and free[0] >= begins[0]:
            begins = free
        found[place] = Apart(job, terms, *begins)
        free = found[place].ended(job.number)
    return [found[place] for place in range(len(jobs))]
