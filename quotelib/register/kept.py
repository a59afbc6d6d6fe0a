"""What do quotes keep of the stock: plain data, for those who have no register at hand."""

from collections import Counter
from collections.abc import Container
from typing import NamedTuple

Asked = tuple[str, str]
"""Number of an enquiry, and customer."""


class KeptBy(NamedTuple):
    """What one quote keeps."""

    asked: Asked
    ordered: bool
    parts: Counter[str]


class Kept(NamedTuple):
    """What every quote keeps, on a day."""

    quotes: tuple[KeptBy, ...]

    def but_for(self, own: Asked, anew: Container[Asked] = ()) -> Counter[str]:
        """Count what is kept from an enquiry: by others, and by no open quote that is asked anew.

        What is asked anew together takes nothing from each other, as it did the first time.
        """
        found: Counter[str] = Counter()
        for quote in self.quotes:
            if quote.asked != own and (quote.ordered or quote.asked not in anew):
                found += quote.parts
        return found
