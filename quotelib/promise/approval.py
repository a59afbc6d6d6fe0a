"""Who said yes to what held a quote: for the seller's eyes only."""

import datetime as dt

from quotelib.facts import Frozen


class Approval(Frozen):
    """A person's yes to one thing that held a quote.

    Parameters
    ----------
    code, what
        Of the reason for which it was held.
    moment
        When, in UTC.
    note
        Why, in the person's own words; blank: they gave none.
    """

    code: str
    what: str
    by: str
    moment: dt.datetime
    note: str = ""
