"""Which days are working days: all but weekends and holidays."""

import datetime as dt
from functools import lru_cache

import numpy as np

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


def working_days(first: dt.date, last: dt.date, holidays: Holidays) -> int:
    """Count the working days after the first of two days, up to the last."""
    day = dt.timedelta(days=1)
    return int(np.busday_count(first + day, last + day, busdaycal=_calendar(holidays)))
