"""Broken price lists: columns that a list may do without, customers, and terms of an offer."""

from collections.abc import Callable
from pathlib import Path

from tests.catalogue.breaking import (
    ACCESSORIES,
    CHASSIS,
    CONTROLLERS,
    DRIVES,
    SLOTS,
    TERMS_TOML,
    WORKLOADS,
    Broken,
    Edit,
    broken,
    put,
    terms,
)

CUSTOMERS = "customers.csv"
_BOARD, _CARD, _THROUGH, _MEZZ = 2, 3, 4, 5


def optional_columns() -> list[Broken]:
    """List what one cell of a column that may be missing cannot be."""
    wrong = [
        ("used", DRIVES, 2, "condition", "used", "'used' is not known; use new or refurbished"),
        ("last buy in words", DRIVES, 2, "last_buy", "May", "'May' is not a day; write a day of"),
        ("last buy without hyphens", CHASSIS, 2, "last_buy", "20260302", "is not a day"),
        ("last buy on no day", CHASSIS, 2, "last_buy", "2026-02-30", "such as 2026-03-02"),
        ("last buy long ago", CHASSIS, 2, "last_buy", "1026-03-02", "a day of 2000 to 2099"),
        ("replaced by nothing known", DRIVES, 2, "replaced_by", "GONE",
         "'GONE' is not a sku of this file; name one, or leave it blank"),
        ("replaced by another kind", CONTROLLERS, 3, "replaced_by", "BOX-4", "not a sku of this"),
        ("replaced by itself", DRIVES, 2, "replaced_by", "DISK-4T", "is its own sku; name the"),
        ("drive of 3 lanes", DRIVES, 5, "lanes", "3", "is not a lane count"),
        ("lanes of a sata drive", DRIVES, 2, "lanes", "4", "is given for a sata drive; only nvme"),
        ("link of an nvme drive", DRIVES, 5, "link_gbit_s", "12", "given for a nvme drive; only"),
        ("odd link of a drive", DRIVES, 3, "link_gbit_s", "10", "use 3, 6, 12, 22.5 or 24"),
        ("blocks of 520 bytes inside", DRIVES, 2, "physical_block_bytes", "520",
         "is not one of those in use; use 512 or 4096"),
        ("blocks smaller inside", DRIVES, 3, "physical_block_bytes", "512",
         "'512' are fewer than block_bytes (4096); give 4096, or leave it blank"),
        ("edge connector on a board", CONTROLLERS, _BOARD, "connector_lanes", "8",
         "are given, though it is mounted as board; leave them blank"),
        ("short edge connector", CONTROLLERS, _CARD, "connector_lanes", "4",
         "'4' are fewer than host_lanes (8); check both figures"),
        ("half a port", CONTROLLERS, _CARD, "ports", "7.5", "is not a whole number"),
        ("ten thousand ports", CONTROLLERS, _CARD, "ports", "10000", "is too large; give a whole"),
        ("imports of nobody", CONTROLLERS, _CARD, "imports", "Alder",
         "'Alder' is the family of no controller; name families from there"),
        ("grows what it cannot make", CONTROLLERS, _MEZZ, "grows", "5;6",
         "has 6 in it, which is not among its levels; list levels that it makes"),
        ("grows without an array", CONTROLLERS, _THROUGH, "grows", "0", "not among its levels"),
        ("backplane of glass", CHASSIS, 2, "backplane", "glass", "use direct or expander"),
        ("a million bays", CHASSIS, 2, "bays", "1000000", "give a whole number, 1 to 256"),
        ("endless sockets", CHASSIS, 2, "processor_sockets", "1e8", "a whole number, 0 to 64"),
        ("a slot shorter than its lanes", SLOTS, 2, "connector_lanes", "4",
         "'4' are fewer than lanes (8); check both figures"),
        ("a slot of 12 lanes", SLOTS, 2, "connector_lanes", "12", "is not a lane count"),
        ("a slot for a hundred processors", SLOTS, 2, "needs_processors", "100", "is too large"),
        ("slot 256", SLOTS, 2, "slot", "256", "is too large; give a whole number, 0 to 255"),
        ("for every 0 drives", ACCESSORIES, 2, "per", "0", "is too small; use build, drive, or"),
        ("for every half drive", ACCESSORIES, 2, "per", "0.5", "is not a whole number"),
        ("with nothing known", ACCESSORIES, 2, "with_", "GONE",
         "'GONE' is neither a drive, a controller, a chassis nor an option; name skus"),
        ("for drives on strings", ACCESSORIES, 2, "interfaces", "sata;scsi", "use sata; sas; nvme"),
        ("no operations at least", WORKLOADS, 2, "min_iops", "0", "is too small; give operations"),
        ("answers before asked", WORKLOADS, 2, "max_response_ms", "-1", "is negative"),
    ]  # fmt: skip
    return [
        broken(name, put(file, row, **{column: value}), (file, row, column.rstrip("_"), words))
        for name, file, row, column, value, words in wrong
    ]


SEVERAL = [
    broken(
        "imports twice",
        put(CONTROLLERS, _CARD, imports="Alder;Alder", family="Alder"),
        (CONTROLLERS, _CARD, "imports", "names 'Alder' twice; separate names by ';'"),
    ),
    broken(
        "grows no level",
        put(CONTROLLERS, _CARD, grows="5E"),
        (CONTROLLERS, _CARD, "grows", "has '5E' in its list, which is not known"),
        (CONTROLLERS, _CARD, "grows", "has 5E in it, which is not among its levels"),
    ),
    broken(
        "a column that only looks like the keeper's own",
        put(SLOTS, 2, xcolour="red"),
        (SLOTS, 1, "xcolour", "is not a known column; rename or remove it"),
    ),
]


def customers(text: str) -> Edit:
    """Write a file of customers."""
    return lambda folder: (folder / CUSTOMERS).write_text(text, "utf-8")


OF_CUSTOMERS = [
    broken(
        "a customer twice",
        customers("customer,tax_code\nA Mill,S\nA Mill,\n"),
        (CUSTOMERS, 3, "customer", "'A Mill' is there already, in row 2; give each row a customer"),
    ),
    broken(
        "a customer without a name",
        customers("customer,tax_id\n,GB 1\n"),
        (CUSTOMERS, 2, "customer", "is blank; write a few words"),
    ),
    broken(
        "a customer with a tax code of nowhere",
        customers("customer,tax_code\nA Mill,Q\n"),
        (CUSTOMERS, 2, "tax_code", "'Q' is a tax code that terms.toml has not; use S or ODD, or"),
    ),
    broken(
        "customers without the column",
        customers("name,tax_id\nA Mill,GB 1\n"),
        (CUSTOMERS, 1, "name", "is not a known column"),
        (CUSTOMERS, 1, "customer", "is a column that is missing"),
    ),
    broken(
        "an endless address",
        customers(f"customer,address\nA Mill,{'x' * 501}\n"),
        (CUSTOMERS, 2, "address", "is 501 characters long; use at most 500"),
    ),
]


def more_terms(table: str, line: str) -> Callable[[Path], object]:
    """Put a line into a table of the terms."""
    if table == "seller":
        return terms("[seller]\n", f"[seller]\n{line}\n")
    return terms("[risk]\n", f"[{table}]\n{line}\n\n[risk]\n")


def terms_of_offers() -> list[Broken]:
    """List what cannot stand in the optional tables of the terms."""
    wrong = [
        ("endless bank", "seller", f'bank = "{"x" * 501}"', "bank", "is 501 characters long"),
        ("delivery by a rule of nobody", "offer", 'delivery = "DDX Quay"', "delivery",
         "'DDX Quay' is no Incoterms 2020 rule with a place; write a rule (EXW, FCA,"),
        ("delivery to no place", "offer", 'delivery = "DAP"', "delivery", "such as DAP Marrow"),
        ("one exclusion", "offer", 'exclusions = "Nothing."', "exclusions",
         "'Nothing.' is not a list; put it between square brackets"),
        ("a blank condition", "offer", 'conditions = ["Yes.", " "]', "conditions.1", "is blank"),
        ("endless conditions", "offer", f"conditions = {['x'] * 201}", "conditions",
         "has 201 entries; use at most 200"),
        ("a reason for a rate that is not 0", "offer", 'tax_reasons = {S = "Sunny."}',
         "tax_reasons.S", "is a reason for no tax, yet the rate of S is 20 %; name a code"),
        ("a reason for no code", "offer", 'tax_reasons = {Q = "Quite."}', "tax_reasons.Q",
         "'Q' is a tax code that [tax] has not; name a code of [tax] at 0 %"),
        ("a reason of no words", "offer", "tax_reasons = 5", "tax_reasons", "is not a table"),
        ("no working day", "bench", "minutes_per_day = 0", "minutes_per_day", "is too small; give"),
        ("a holiday in words", "bench", 'holidays = ["Easter"]', "holidays.0", "is not a day"),
        ("a holiday with a time", "bench", "holidays = [2026-12-25T10:00:00]", "holidays.0",
         "is not a day; write a day of 2000 to 2099 as year, month and day"),
        ("one holiday", "bench", "holidays = 2026-12-25", "holidays", "is not a list; put it"),
        ("groups of one", "advice", "wide_group_members = 1", "wide_group_members",
         "is too small; give a whole number of members"),
        ("groups of nothing", "advice", "wide_group_tb = 0", "wide_group_tb", "is too small"),
        ("perhaps", "advice", 'chipset_parity = "yes"', "chipset_parity",
         "'yes' is neither true nor false; write true or false, without quotes"),
        ("one expander", "advice", "shared_expander = 1", "shared_expander",
         "is neither true nor false; write true or false"),
    ]  # fmt: skip
    return [
        broken(name, more_terms(table, line), (TERMS_TOML, None, f"{table}.{key}", words))
        for name, table, line, key, words in wrong
    ]


OPTIONAL = [*optional_columns(), *SEVERAL, *OF_CUSTOMERS, *terms_of_offers()]
