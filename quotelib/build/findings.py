"""What can be said of a build: every finding there is, by code, with its severity."""

from typing import Literal

from quotelib.facts import Reason

Severity = Literal["stop", "advise", "note"]


class Finding(Reason):
    """What a rule has to say of a build: a reason to stop it, to advise against it, or a note."""

    severity: Severity


ADVICE = {
    "no_redundancy": "no redundancy: the failure of one drive loses data",
    "loss_over_limit": "a chance of losing the array above the limit of the terms",
    "cache_unprotected": "a write-back cache without protection",
    "erases_data": "writing over the customer's drives: nothing on them is needed",
    "controller_unknown": "a controller for an array that nobody knows the maker of",
    "wide_group": "many large disks in one parity group",
    "chipset_parity": "parity worked out by the chipset and its driver",
    "memory_uneven": "memory modules that do not spread evenly over the processors",
    "expander_shared": "two controllers on one expander backplane",
}
"""What a person can say yes to, and in which words."""

_STOPS = {
    "level": ("level_not_offered",),
    "members": ("member_count", "bays_full", "too_many_drives", "ports_short", "power"),
    "action": ("cannot_grow", "cannot_replace"),
    "drive": ("bay_width", "bay_interface", "drive_link", "drive_mismatch"),
    "controller": ("no_socket", "no_slot", "board_elsewhere", "no_import"),
    "options": ("option_elsewhere", "sockets_full", "memory_full", "supplies_full"),
    "services": ("service_elsewhere",),
}
_NOTES = (
    "only_slot_used", "speed_capped", "supply_high", "tax_missing", "last_buy_near",
    "places_unknown", "length_unknown", "processors_unknown",
    "cable_missing", "cable_few", "backplane_split", "chipset_expander", "sas_slower",
    "start_4096", "start_size", "spin_up", "spare_reach", "sectors_mixed", "spans_many",
    "heavy", "sata_on_sas", "chipset_driver", "not_a_backup",
)  # fmt: skip

ABOUT = {code: column for column, codes in _STOPS.items() for code in codes}
"""Which column of an enquiry a stop is told beside."""
PART_CODES = frozenset(c for kind in ("drive", "controller", "options") for c in _STOPS[kind])
"""What stops parts whatever the layout."""

CODES: dict[str, Severity] = {
    **dict.fromkeys((code for codes in _STOPS.values() for code in codes), "stop"),
    **dict.fromkeys(ADVICE, "advise"),
    **dict.fromkeys(_NOTES, "note"),
}


def finding(code: str, what: str, change: str = "") -> Finding:
    """Make a finding; its severity follows from its code."""
    return Finding(code=code, severity=CODES[code], what=what, change=change)
