"""The day on which items leave, against a bench worked minute by minute and by hand."""

import datetime as dt
import math
from decimal import Decimal
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quotelib.catalogue.terms import BenchTerms
from quotelib.ready.leaving import GROUPS, MOST_DAYS, Job, apart, together

from .test_working_days import DAY, DAYS, HOLIDAYS, is_work, walked

MONDAY = dt.date(2026, 11, 30)
JOBS = st.builds(
    Job,
    lead_days=st.integers(0, 12),
    number=st.integers(1, 9),
    minutes=st.integers(0, 90).map(Decimal),
    once_minutes=st.sampled_from([Decimal(0), Decimal("17.5")]),
    hours=st.floats(0, 80),
)
ORDERS = st.lists(JOBS, min_size=1, max_size=4)
MINUTES = st.integers(20, 200)


def bench(minutes: int | None, holidays: tuple[dt.date, ...] = ()) -> BenchTerms:
    return BenchTerms.model_construct(minutes_per_day=minutes, holidays=holidays, soak_hours=None)


def as_the_issue_says(ordered: dt.date, terms: BenchTerms, jobs: list[Job]) -> dt.date:
    """Add up in the order of the words: parts, minutes day by day, hours, each to a working day."""
    day = walked(ordered + max(job.lead_days for job in jobs) * DAY, terms.holidays, 0)
    left = sum(float(job.once_minutes + job.number * job.minutes) for job in jobs)
    while left > 0:
        day += DAY
        if is_work(day, terms.holidays):
            left -= terms.minutes_per_day or 0
    hours = max(job.hours for job in jobs)
    while hours > 0:
        day, hours = day + DAY, hours - 24
    return walked(day, terms.holidays, 0)


@given(ordered=DAYS, holidays=HOLIDAYS, minutes=MINUTES, jobs=ORDERS)
def test_one_delivery_is_the_sum_of_what_takes_time(
    ordered: dt.date, holidays: tuple[dt.date, ...], minutes: int, jobs: list[Job]
) -> None:
    terms = bench(minutes, holidays)
    plan = together(ordered, terms, jobs)
    assert plan is not None
    assert plan.leaves == as_the_issue_says(ordered, terms, jobs)
    assert ordered <= plan.parts <= plan.bench <= plan.leaves
    assert all(is_work(day, holidays) for day in (plan.parts, plan.bench, plan.leaves))


def piece_by_piece(ordered: dt.date, terms: BenchTerms, jobs: list[Job]) -> list[list[dt.date]]:
    """Do every piece at the bench, one after the other, on a clock of days and minutes."""
    each, holidays = terms.minutes_per_day or 0, terms.holidays
    here = [walked(ordered + job.lead_days * DAY, holidays, 0) for job in jobs]
    day, spent = ordered, Decimal(0)
    found: list[list[dt.date]] = [[] for _ in jobs]
    for place in sorted(range(len(jobs)), key=lambda n: (here[n], n)):
        job = jobs[place]
        whole = dt.timedelta(days=math.ceil(job.hours / 24))
        if not job.once_minutes + job.number * job.minutes:
            found[place] = [walked(here[place] + whole, holidays, 0)] * job.number
            continue
        begins = walked(here[place], holidays, 1)
        if day < begins:
            day, spent = begins, Decimal(0)
        for number in range(job.number):
            left = job.minutes + (0 if number else job.once_minutes)
            while left > each - spent:
                left -= each - spent
                day, spent = walked(day, holidays, 1), Decimal(0)
            spent += left
            found[place].append(walked(day + whole, holidays, 0))
    return found


@given(ordered=DAYS, holidays=HOLIDAYS, minutes=MINUTES, jobs=ORDERS)
def test_each_by_itself_as_a_bench_works_them_off(
    ordered: dt.date, holidays: tuple[dt.date, ...], minutes: int, jobs: list[Job]
) -> None:
    terms = bench(minutes, holidays)
    plan = together(ordered, terms, jobs)
    assert plan is not None
    expected = piece_by_piece(ordered, terms, jobs)
    for job, found, days in zip(jobs, apart(ordered, terms, jobs), expected, strict=True):
        assert [found.leaves(n) for n in range(1, job.number + 1)] == days
        groups = list(found.groups())
        assert len(groups) <= GROUPS
        assert sum(number for number, _ in groups) == job.number
        assert all(a < b for (_, a), (_, b) in pairwise(groups))
        gone = 0
        for number, day in groups:
            gone += number
            assert days[gone - 1] <= day
            assert gone == job.number or days[gone] > day
        assert groups[-1][1] == days[-1] <= plan.leaves


@given(ordered=DAYS, holidays=HOLIDAYS, more=HOLIDAYS, minutes=MINUTES, jobs=ORDERS, data=st.data())
def test_what_takes_longer_leaves_no_earlier(
    ordered: dt.date,
    holidays: tuple[dt.date, ...],
    more: tuple[dt.date, ...],
    minutes: int,
    jobs: list[Job],
    data: st.DataObject,
) -> None:
    place = data.draw(st.integers(0, len(jobs) - 1))
    one = jobs[place]
    slower = Job(
        one.lead_days + data.draw(st.integers(0, 9)),
        one.number + data.draw(st.integers(0, 3)),
        one.minutes + data.draw(st.integers(0, 50)),
        one.once_minutes,
        one.hours + data.draw(st.floats(0, 50)),
    )
    longer = [*jobs[:place], slower, *jobs[place + 1 :]]
    before = together(ordered, bench(minutes, holidays), jobs)
    after = together(ordered, bench(minutes, (*holidays, *more)), longer)
    faster = together(ordered, bench(minutes + 30, holidays), jobs)
    assert before and after and faster
    assert faster.leaves <= before.leaves <= after.leaves


@pytest.mark.parametrize(
    ("job", "expected"),
    [
        (Job(0), MONDAY),  # loose parts, all in stock
        (Job(5), dt.date(2026, 12, 7)),  # here on a Saturday
        (Job(0, 1, Decimal(420)), dt.date(2026, 12, 1)),  # one whole day of the bench
        (Job(0, 1, Decimal("420.01")), dt.date(2026, 12, 2)),
        (Job(0, 1, Decimal(420), hours=24.0), dt.date(2026, 12, 2)),
        (Job(0, 1, Decimal(420), hours=24.1), dt.date(2026, 12, 3)),
        (Job(0, 3, Decimal(420), hours=24.0), dt.date(2026, 12, 4)),
        (Job(0, 4, Decimal(420), hours=24.0), dt.date(2026, 12, 7)),  # the soak ends on Saturday
        (Job(0, 10, Decimal(133), hours=44.7), dt.date(2026, 12, 7)),  # enquiry 23 of the day
        (Job(4, 1, Decimal(1), hours=72.0), dt.date(2026, 12, 10)),
    ],
)
def test_days_by_hand(job: Job, expected: dt.date) -> None:
    plan = together(MONDAY, bench(420), [job])
    assert plan is not None and plan.leaves == expected


def test_without_minutes_in_a_day_only_what_needs_none_has_a_date() -> None:
    assert together(MONDAY, bench(None), [Job(0, 1, Decimal(1))]) is None
    plan = together(MONDAY, bench(None), [Job(3)])
    assert plan is not None and plan.leaves == dt.date(2026, 12, 3)


def test_nobody_promises_what_is_decades_away() -> None:
    assert together(MONDAY, bench(1), [Job(0, MOST_DAYS, Decimal(1))]) is not None
    assert together(MONDAY, bench(1), [Job(0, MOST_DAYS + 1, Decimal(1))]) is None
    assert together(MONDAY, bench(1), [Job(0, 10**6, Decimal(10**4))]) is None
    assert together(MONDAY, bench(1), [Job(0, hours=24.0 * (MOST_DAYS + 1))]) is None


def test_a_million_alike_are_grouped_in_no_time() -> None:
    job = Job(0, 10**6, Decimal(1))
    (found,) = apart(MONDAY, bench(10_000), [job])
    groups = list(found.groups())
    assert sum(number for number, _ in groups) == 10**6 and len(groups) == GROUPS
