"""What is there already and what is done with it: columns, and what they may say together."""

from collections.abc import Iterator, Mapping
from typing import Any

from quotelib.catalogue import cells
from quotelib.enquiry.column import COUNT, LISTED, NAME, Column

_ACTIONS = {
    "new": ("made anew", "Its drives are empty, or are emptied."),
    "keep": ("kept as it is", "With its data; the controller may change."),
    "grow": ("grown while it runs", "Drives are added to those it has."),
    "replace": ("given larger drives", "One after the other, each rebuilt from the rest."),
}

OWNABLE = ("chassis", "controller", "drive")

# fmt: off
OWNED = Column(
    "owned", "The customer has already", "Fit is checked, no price",
    "`chassis`, `controller`, `drive`, separated by `;`: the customer has it; its sku must be "
    "given", "we supply all", cells.list_of(*OWNABLE), (), "ticks", "row",
    offers={role: (f"the {role} (choose it above)", "") for role in OWNABLE},
)
THERE = (
    Column("action", "What is done with the array", "Blank: it is made anew",
           "`new`: made anew, which erases its members; `keep`: it stays with its data; `grow`: "
           "drives are added; `replace`: drives are exchanged one after the other", "`new`",
           cells.one_of(*_ACTIONS), kind="select", offers=_ACTIONS,
           said=lambda value, _: _ACTIONS[value][0]),
    Column("have_drives", "Drives that are there", "Of members and spares, members first",
           "how many of members and hot spares the customer has: with `grow` the number now, with "
           "`replace` how many stay", "all where `owned` has `drive`, else 0", COUNT,
           said=lambda value, _: str(value)),
    Column("from_controller", "Controller until now", "Where it is another one",
           "sku of the controller that made the array, where another one takes its place",
           "the same one, or not known", NAME, kind="select", page="Made by",
           known=lambda prices: (prices.controllers, f"{LISTED}controllers"),
           said=lambda value, _: str(value)),
    Column("from_drive", "Drives until now", "Where they are others",
           "sku of the drives that are there, where others are added or take their place",
           "the same ones", NAME, kind="select",
           known=lambda prices: (prices.drives, f"{LISTED}drives"),
           said=lambda value, _: str(value)),
)
# fmt: on

_WHAT = {"keep": "is kept", "grow": "grows", "replace": "gets other drives"}


def unclear(values: Mapping[str, Any]) -> Iterator[tuple[str, str, str]]:
    """Find what a row leaves open or says amiss of what is there: column, why, what is right."""
    action, owned = values.get("action") or "new", values.get("owned") or ()
    have, members = values.get("have_drives"), values.get("members")
    drives = None if members is None else members + (values.get("spares") or 0)
    if have is not None and drives is not None and have > drives:
        yield "have_drives", f"is more than members and spares, {drives}", "count them again"
    if have and not (values.get("drive") or values.get("from_drive")):
        yield "drive", "is blank, though have_drives is given", "say which drives they are"
    if action == "new":
        for name in ("from_controller", "from_drive"):
            if values.get(name):
                right = "say keep, grow or replace as action, or leave it blank"
                yield name, "is given for an array that is made anew", right
        return
    an_array = f"is blank, but an array that {_WHAT[action]} has"
    if not values.get("level"):
        yield "level", f"{an_array} one", "say which level it is"
    if action == "replace" and not have and not (values.get("drive") or values.get("from_drive")):
        right = "say which drives are replaced, or name the new ones in drive"
        yield "from_drive", "is blank, though drive is open: any size would do", right
    if action != "grow" and members is None:
        yield "members", f"{an_array} a number of them", "say how many member drives it has"
    if action == "keep":
        if "drive" not in owned:
            right = "add drive, and name it in its column"
            yield "owned", "does not say that the drives of a kept array are the customer's", right
        if have is not None and drives is not None and have < drives:
            yield (
                "have_drives",
                "leaves drives out, but a kept array has them all",
                "leave it blank",
            )
        if values.get("from_drive"):
            yield "from_drive", "is given, but a kept array keeps its drives", "leave it blank"
    if action == "grow" and have is None:
        yield "have_drives", f"{an_array} drives", "say how many it has now"
