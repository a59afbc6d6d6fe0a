"""What is shown of a server's parts and of each of its arrays."""

from typing import Literal

from quotelib.build.layout import Action, Layout
from quotelib.build.speed import Speed
from quotelib.facts import Exact, Fact, Frozen
from quotelib.predict.estimate import Estimate
from quotelib.predict.shown import Outlook


class PartShown(Frozen):
    """One of the parts that make the server what it is: chassis, what takes a place, drives.

    The quantity is for one server and for all together; what is owned the customer has already.
    """

    role: str
    sku: str
    description: str
    quantity: int
    quantity_all: int
    owned: bool
    facts: tuple[Fact, ...]


class CapacityShare(Frozen):
    """Where a part of the raw capacity goes."""

    kind: Literal["usable", "redundancy", "spares", "reserve"]
    name: str
    bytes: int
    pct: float
    why: str


class Capacity(Frozen):
    """From the labels to what the customer's system shows."""

    label_bytes: int
    drive_bytes: int
    member_bytes: int
    raw_bytes: int
    usable_bytes: int
    usable_tb: Exact
    usable_tib: Exact
    shares: tuple[CapacityShare, ...]
    words: str


class LevelShown(Frozen):
    """What the drives of an array would give at another level."""

    level: str
    label: str
    members: int
    spans: int
    usable_bytes: int
    survives: int
    offered: bool
    proposed: bool


class ArrayLaid(Frozen):
    """How one array of a server is laid out and what it holds: all that takes no estimate.

    Parameters
    ----------
    name
        Blank for the only one.
    have_drives
        How many of its drives the customer has already.
    label, words
        Of the level, and of the whole layout.
    protection
        How the data is protected, and how it is not.
    """

    name: str
    action: Action
    controller: str
    drive: str
    have_drives: int
    layout: Layout
    strip_words: str
    label: str
    survives: int
    data_members: int
    words: str
    capacity: Capacity
    protection: tuple[str, ...]
    levels: tuple[LevelShown, ...]


class ArrayShown(ArrayLaid):
    """One array of a server, with what it will do.

    Parameters
    ----------
    speed
        Drives against links, controller and its place.
    outlook
        What the charts and sentences about it show.
    estimates
        Speed, rebuild, risk and wear.
    """

    speed: Speed
    outlook: Outlook
    estimates: tuple[Estimate, ...]
