"""How do drives form an array: layout, and the bytes that come of it."""

from collections.abc import Iterator
from dataclasses import dataclass

from quotelib.catalogue.parts import Controller, Drive
from quotelib.catalogue.work import Action
from quotelib.estimate.capacity import STRIP_KIB, drive_bytes, member_bytes
from quotelib.levels import LEVELS, Level
from quotelib.text import count


@dataclass(frozen=True, slots=True)
class Layout:
    """How the drives form an array.

    Parameters
    ----------
    level : str
        A name from the level table.
    members, spares : int
        Member drives, and hot spares beside them.
    spans : int
        1 for every level that is not spanned.
    strip_kib : int
        Strip size in kibibytes.
    """

    level: str
    members: int
    spans: int = 1
    spares: int = 0
    strip_kib: int = STRIP_KIB

    @property
    def rule(self) -> Level:
        """Give the level's row of the table."""
        return LEVELS[self.level]

    @property
    def drives(self) -> int:
        """Count members and hot spares."""
        return self.members + self.spares

    @property
    def data_members(self) -> int:
        """Count the members' worth of data."""
        return self.rule.data_members(self.members, self.spans)

    @property
    def words(self) -> str:
        """Say it: ``RAID 50 over 6 drives in 2 spans of 3, 1 hot spare``."""
        rule = self.rule
        text = f"{count(self.members, 'drive')} passed through"
        if rule.is_array:
            text = f"{rule.label} over {self.members} drives"
        if rule.spanned:
            text += f" in {self.spans} spans of {self.members // self.spans}"
        return f"{text}, {count(self.spares, 'hot spare')}" if self.spares else text


ALL_OF_THEM = 10**6
"""Drives the customer has, where it is all that the array takes."""


@dataclass(frozen=True, slots=True)
class Array:
    """Drives of one kind on one controller in one layout.

    Parameters
    ----------
    their_drives : int
        How many drives for it the customer has already; `ALL_OF_THEM`: as many as it takes.
    action : str
        What is done with it: ``new`` makes it and erases its members, ``keep`` leaves it as it is,
        ``grow`` adds members, ``replace`` exchanges members one after the other.
    name : str
        As the enquiry calls it; blank for the only one of its server.
    controller_before : Controller or None
        The one that runs it now, where that is another one and known.
    drive_before : Drive or None
        What the customer's drives are, where they are of another kind.
    """

    drive: Drive
    controller: Controller
    layout: Layout
    their_drives: int = 0
    action: Action = "new"
    name: str = ""
    controller_before: Controller | None = None
    drive_before: Drive | None = None

    @property
    def drives(self) -> int:
        """Count members and hot spares."""
        return self.layout.drives

    @property
    def have_drives(self) -> int:
        """Count the members and spares that the customer has already; members come first."""
        return min(self.their_drives, self.drives)

    @property
    def members_before(self) -> int:
        """Count the members that are the customer's already."""
        return min(self.their_drives, self.layout.members)

    @property
    def their_drive(self) -> Drive:
        """Give the kind of drive that the customer has."""
        return self.drive_before or self.drive

    def kinds(self) -> Iterator[tuple[Drive, int, bool]]:
        """List its kinds of drive: how many, and whether they are the customer's."""
        if self.have_drives:
            yield self.their_drive, self.have_drives, True
        if self.bought_drives:
            yield self.drive, self.bought_drives, False

    def span_of(self, member: int) -> int:
        """Say in which span a member is, both from 0: old ones stay in theirs, new ones fill up."""
        each, spans = self.layout.members // self.layout.spans, self.layout.spans
        before = self.members_before
        if self.action != "grow" or before == self.layout.members or self.spans_before != spans:
            return member // each
        old = before // spans  # each span grows
        return member // old if member < before else (member - before) // (each - old)

    @property
    def spans_before(self) -> int | None:
        """Count the spans before it grows, by whole ones or by as many members to each.

        None where it does not come of the members that are there by such equal steps.
        """
        layout, before = self.layout, self.members_before
        each = max(layout.members // layout.spans, 1)
        steps = ((before // each, before % each), (layout.spans, before % layout.spans))
        takes = layout.rule.takes
        return next((spans for spans, left in steps if not left and takes(before, spans)), None)

    @property
    def bought_drives(self) -> int:
        """Count the drives that are ours to deliver."""
        return self.drives - self.have_drives

    @property
    def fitted_drives(self) -> int:
        """Count the drives that are put in: of an array that stays, only those bought."""
        return self.drives if self.action == "new" else self.bought_drives

    @property
    def drive_bytes(self) -> int:
        """Count the bytes of one drive; of the smaller kind where there are two."""
        own = drive_bytes(self.drive.capacity_gb, int(self.drive.block_bytes))
        if self.drive_before is None or not self.have_drives:
            return own
        there = self.drive_before
        return min(own, drive_bytes(there.capacity_gb, int(there.block_bytes)))

    @property
    def member_bytes(self) -> int:
        """Count the bytes of one member that the array can use."""
        return member_bytes(self.drive_bytes, self.controller.reserve_mib, self.layout.strip_kib)

    @property
    def usable_bytes(self) -> int:
        """Count the bytes the customer's system sees."""
        return self.layout.data_members * self.member_bytes
