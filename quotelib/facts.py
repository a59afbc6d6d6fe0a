"""What are records made of: frozen models, exact figures as text, labels and reasons."""

from decimal import Decimal
from typing import Annotated

from pydantic import BaseModel, ConfigDict, PlainSerializer

from quotelib.units import plain

# Money and measures leave as text, so that no reader turns them into binary fractions.
Exact = Annotated[Decimal, PlainSerializer(lambda d: format(d, "f"), return_type=str)]
Measure = Annotated[Decimal, PlainSerializer(plain, return_type=str)]


class Frozen(BaseModel):
    """A model nobody changes, without fields nobody knows."""

    model_config = ConfigDict(frozen=True, extra="forbid")


class Fact(Frozen):
    """A label and its value in words."""

    label: str
    value: str


class Reason(Frozen):
    """Why not, or not yet: what is so, and what to change, or what comes nearest (or nothing).

    The code is that of a finding, or the column of a demand.
    """

    code: str
    what: str
    change: str = ""

    @property
    def words(self) -> str:
        """Say all of it."""
        return f"{self.what}; {self.change}" if self.change else self.what
