"""How do drives form an array: layout, and the bytes that come of it."""

from dataclasses import dataclass

from quotelib.catalogue.parts import Controller, Drive
from quotelib.catalogue.work import Action
from quotelib.estimate.capacity import drive_bytes, member_bytes
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
    strip_kib: int = 256

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


@dataclass(frozen=True, slots=True)
class Array:
    """Drives of one kind on one controller in one layout.

    Parameters
    ----------
    have_drives : int
        How many of members and spares the customer has already.
    action : str
        What is done with it: ``new`` makes it and erases its members.
    name : str
        As the enquiry calls it; blank for the only one of its server.
    """

    drive: Drive
    controller: Controller
    layout: Layout
    have_drives: int = 0
    action: Action = "new"
    name: str = ""

    @property
    def drives(self) -> int:
        """Count members and hot spares."""
        return self.layout.drives

    @property
    def bought_drives(self) -> int:
        """Count the drives that are ours to deliver."""
        return self.drives - self.have_drives

    @property
    def drive_bytes(self) -> int:
        """Count the bytes of one drive."""
        return drive_bytes(self.drive.capacity_gb, int(self.drive.block_bytes))

    @property
    def member_bytes(self) -> int:
        """Count the bytes of one member that the array can use."""
        return member_bytes(self.drive_bytes, self.controller.reserve_mib, self.layout.strip_kib)

    @property
    def usable_bytes(self) -> int:
        """Count the bytes the customer's system sees."""
        return self.layout.data_members * self.member_bytes
