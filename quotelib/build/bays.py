"""What is in each bay: members, hot spares, drives passed through, or nothing."""

from collections.abc import Iterator
from typing import Literal

from quotelib.build.build import Build
from quotelib.facts import Frozen

BayUse = Literal["member", "spare", "passed_through", "empty"]


class Bay(Frozen):
    """One bay.

    Parameters
    ----------
    bay : int
        Its number, from 1.
    use : str
        ``member`` of an array, hot ``spare``, ``passed_through`` (no array) or ``empty``.
    array : int or None
        Place of the array among those of the server, from 0; None where it is empty.
    span : int or None
        Which span the member is in, from 1; 1 throughout where the level is not spanned.
    owned : bool
        Whether the drive in it is the customer's.
    """

    bay: int
    use: BayUse
    array: int | None
    span: int | None
    owned: bool = False


def fill(build: Build) -> Iterator[Bay]:
    """Fill bays: members of all arrays from the first on, hot spares of all in the last.

    Members that are in the customer's chassis already keep the first bays; a drive that takes the
    place of another takes its bay.
    """
    filled: dict[int, Bay] = {}
    spares = sum(array.layout.spares for array in build.arrays)
    first, later = 1, build.chassis.bays - spares + 1
    drives = [(at, drive) for at, array in enumerate(build.arrays) for drive in range(array.drives)]

    def comes_later(one: tuple[int, int]) -> bool:
        at, drive = one
        array = build.arrays[at]
        there = array.layout.members if array.action == "replace" else array.members_before
        return not build.chassis_owned or drive >= there

    for at, drive in sorted(drives, key=comes_later):
        array = build.arrays[at]
        spare, owned = drive >= array.layout.members, drive < array.have_drives
        is_array = array.layout.rule.is_array
        use: BayUse = "spare" if spare else "member" if is_array else "passed_through"
        span = array.span_of(drive) + 1 if use == "member" else None
        bay = later if spare else first
        filled[bay] = Bay(bay=bay, use=use, array=at, span=span, owned=owned)
        first, later = first + (not spare), later + spare
    for bay in range(1, build.chassis.bays + 1):
        yield filled.get(bay) or Bay(bay=bay, use="empty", array=None, span=None)
