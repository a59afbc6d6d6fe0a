"""Working days against a walk from day to day, and against a calendar's worked examples."""

import datetime as dt

from hypothesis import given
from hypothesis import strategies as st

from quotelib.ready.working_days import (
    last_working_day,
    working_day,
    working_days,
    working_days_until,
)

DAY = dt.timedelta(days=1)
DAYS = st.dates(dt.date(2024, 1, 1), dt.date(2028, 12, 31))
HOLIDAYS = st.lists(DAYS, max_size=40).map(tuple)


def is_work(day: dt.date, holidays: tuple[dt.date, ...]) -> bool:
    return day.isoweekday() <= 5 and day not in holidays


def walked(day: dt.date, holidays: tuple[dt.date, ...], after: int) -> dt.date:
    while not is_work(day, holidays):
        day += DAY
    for _ in range(after):
        day += DAY
        while not is_work(day, holidays):
            day += DAY
    return day


@given(day=DAYS, holidays=HOLIDAYS, after=st.integers(0, 60))
def test_a_walk_from_day_to_day_comes_to_the_same(
    day: dt.date, holidays: tuple[dt.date, ...], after: int
) -> None:
    found = working_day(day, holidays, after)
    assert found == walked(day, holidays, after)
    first = walked(day, holidays, 0)
    assert working_days(first, found, holidays) == after


@given(day=DAYS, holidays=HOLIDAYS, after=st.integers(0, 30))
def test_counted_day_by_day_it_is_the_same(
    day: dt.date, holidays: tuple[dt.date, ...], after: int
) -> None:
    end = day + after * DAY
    found = working_days_until(day, end, holidays)
    assert len(found) == after + 1
    assert [int(n) for n in found] == [
        sum(is_work(day + n * DAY, holidays) for n in range(1, upto + 1))
        for upto in range(after + 1)
    ]
    last = last_working_day(day, holidays)
    assert is_work(last, holidays) and last <= day
    assert not any(is_work(last + n * DAY, holidays) for n in range(1, (day - last).days + 1))


@given(day=DAYS, holidays=HOLIDAYS, more=HOLIDAYS, after=st.integers(0, 60))
def test_more_holidays_make_nothing_earlier(
    day: dt.date, holidays: tuple[dt.date, ...], more: tuple[dt.date, ...], after: int
) -> None:
    assert working_day(day, holidays, after) <= working_day(day, (*holidays, *more), after)


def test_around_christmas_2026_by_hand() -> None:
    # 24 December 2026 is a Thursday (any calendar); Friday and Monday are holidays.
    holidays = (dt.date(2026, 12, 25), dt.date(2026, 12, 28))
    thursday = dt.date(2026, 12, 24)
    assert thursday.isoweekday() == 4
    assert working_day(thursday, holidays) == thursday
    assert working_day(thursday + DAY, holidays) == dt.date(2026, 12, 29)
    assert working_day(thursday, holidays, 1) == dt.date(2026, 12, 29)
    assert working_day(thursday + 2 * DAY, holidays, 3) == dt.date(2027, 1, 1)
