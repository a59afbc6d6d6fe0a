"""Which days are working days: all but weekends and holidays."""

import datetime as dt
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

Holidays = tuple[dt.date, ...]
_WEEK = "1111100"


@lru_cache(maxsize=64)
def _calendar(holidays: Holidays) -> np.busdaycalendar:
    return np.busdaycalendar(weekmask=_WEEK, holidays=list(map(np.datetime64, holidays)))


def working_day(day: dt.date, holidays: Holidays, after: int = 0) -> dt.date:
    """Give the first working day from a day on, or one so many working days after that."""
    calendar = _calendar(holidays)
    found = np.busday_offset(np.datetime64(day), after, roll="forward", busdaycal=calendar)
    return dt.date.fromisoformat(str(found))


def last_working_day(day: dt.date, holidays: Holidays) -> dt.date:
    """Give the last working day up to a day."""
    calendar = _calendar(holidays)
    found = np.busday_offset(np.datetime64(day), 0, roll="backward", busdaycal=calendar)
    return dt.date.fromisoformat(str(found))


def working_days_until(first: dt.date, last: dt.date, holidays: Holidays) -> NDArray[np.int64]:
    """Count the working days after the first of two days, up to each day from it to the last."""
    ends = np.arange(np.datetime64(first), np.datetime64(last) + 1) + 1
    return np.busday_count(ends[0], ends, busdaycal=_calendar(holidays))


def working_days(first: dt.date, last: dt.date, holidays: Holidays) -> int:
    """Count the working days after the first of two days, up to the last."""
    day = dt.timedelta(days=1)
    return int(np.busday_count(first + day, last + day, busdaycal=_calendar(holidays)))
