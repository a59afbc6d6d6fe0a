"""Broken price lists: figures that no part has, and what is given away or left of nothing."""

from tests.catalogue.breaking import (
    ACCESSORIES,
    CHASSIS,
    CONTROLLERS,
    DRIVES,
    SERVICES,
    TERMS_TOML,
    WORKLOADS,
    Broken,
    broken,
    cell,
    put,
    terms,
)

_LARGE = "is too large; give"
_SMALL = "is too small; give"
_BOARD, _CARD, _THROUGH, _MEZZ = 2, 3, 4, 5


def out_of_bounds() -> list[Broken]:
    """List a figure beyond each end of each column."""
    wrong = [
        *((DRIVES, 2, "rpm", value, words) for value, words in (("1e9", _LARGE), ("9", _SMALL))),
        (DRIVES, 2, "seek_ms", "1e5", f"{_LARGE} milliseconds above 0, 0.01 to 1000"),
        (DRIVES, 2, "seek_ms", "1e-28", _SMALL),
        (DRIVES, 2, "read_mb_s", "1e14", f"{_LARGE} MB/s above 0, 0.1 to 1000000"),
        (DRIVES, 2, "write_mb_s", "1e-28", _SMALL),
        (DRIVES, 4, "read_iops", "1e14", f"{_LARGE} operations a second"),
        (DRIVES, 4, "write_iops", "1e-9", _SMALL),
        (DRIVES, 2, "bit_error_rate", "1e-28", _SMALL),
        (DRIVES, 2, "mttf_hours", "1e14", f"{_LARGE} hours above 0, 1 to 1e10"),
        (DRIVES, 4, "writes_per_day", "1e14", f"{_LARGE} full writes a day"),
        (DRIVES, 2, "warranty_years", "1e14", f"{_LARGE} years, 0 or 0.001 to 100"),
        (DRIVES, 2, "active_w", "1e-28", f"{_SMALL} watts, 0 or 0.001 to 1000"),
        (DRIVES, 2, "idle_w", "1001", f"{_LARGE} watts"),
        (DRIVES, 2, "mass_g", "1e14", f"{_LARGE} grams, 0 or 0.001 to 1000000"),
        (DRIVES, 2, "unit_cost", "1e14", f"{_LARGE} an amount of 0 or more, at most a million mil"),
        (DRIVES, 2, "unit_price", "1e-28", _SMALL),
        (CONTROLLERS, _CARD, "cache_mib", "1e9", f"{_LARGE} whole MiB, 0 to 1000000"),
        (CONTROLLERS, _CARD, "reserve_mib", "1e9", f"{_LARGE} whole MiB, 0 to 1000000"),
        (CONTROLLERS, _CARD, "max_drives", "1e9", _LARGE),
        (CONTROLLERS, _CARD, "max_mb_s", "1e14", f"{_LARGE} MB/s"),
        (CONTROLLERS, _CARD, "max_iops", "1e14", f"{_LARGE} operations a second"),
        (CONTROLLERS, _CARD, "watts", "1e14", f"{_LARGE} watts, 0 or 0.001 to 10000"),
        (CHASSIS, 2, "rack_units", "1000", f"{_LARGE} whole rack units, 1 to 100"),
        (CHASSIS, 2, "bays", "1000", f"{_LARGE} a whole number, 1 to 256"),
        (CHASSIS, 2, "mezzanine_sockets", "1000", f"{_LARGE} a whole number, 0 to 64"),
        (CHASSIS, 2, "supply_w", "1e14", f"{_LARGE} watts, 0 or 0.001 to 100000"),
        (ACCESSORIES, 2, "watts", "1e14", f"{_LARGE} watts"),
        (SERVICES, 2, "minutes", "1e14", f"{_LARGE} minutes, 0 or 0.001 to 100000"),
        (WORKLOADS, 2, "block_kib", "1e14", f"{_LARGE} KiB above 0, 0.001 to 1048576"),
        (WORKLOADS, 2, "block_kib", "1e-27", _SMALL),
        (WORKLOADS, 2, "writes_gb_per_day", "1e14", f"{_LARGE} GB a day"),
    ]
    optional = [
        (CHASSIS, 2, "memory_slots", "1e6", f"{_LARGE} a whole number, 0 to 1024"),
        (WORKLOADS, 2, "min_iops", "1e14", f"{_LARGE} operations a second above 0"),
        (WORKLOADS, 2, "max_response_ms", "1e-28", f"{_SMALL} milliseconds above 0"),
    ]
    return [
        *(
            broken(
                f"{column} of {value} in {file}",
                cell(file, row, column, value),
                (file, row, column, what),
            )
            for file, row, column, value, what in wrong
        ),
        *(
            broken(
                f"{column} of {value}",
                put(file, row, **{column: value}),
                (file, row, column, what),
            )
            for file, row, column, value, what in optional
        ),
    ]


def given_away() -> list[Broken]:
    """List what would win every choice."""
    free = [(DRIVES, 2), (CHASSIS, 2), (CONTROLLERS, _CARD), (CONTROLLERS, _MEZZ)]
    why = "'0' is 0, so that it would be chosen before all that costs something; give an amount"
    return [
        broken(
            f"{column} of {file}, row {row}", cell(file, row, column, "0"), (file, row, column, why)
        )
        for file, row in free
        for column in ("unit_cost", "unit_price")
    ]


OF_BOUNDS = [
    *out_of_bounds(),
    *given_away(),
    broken(
        "a reserve that takes the drive",
        cell(CONTROLLERS, _CARD, "reserve_mib", "1000000"),
        (CONTROLLERS, _CARD, "reserve_mib",
         "leaves nothing of the smallest drive, FLASH-1T of 960 GB; give the MiB that it keeps"),
    ),
    broken(
        "a list for the seller's name",
        terms('name = "Nobody at all"', "name = [1, 2]"),
        (TERMS_TOML, None, "seller.name", "is not text; put it between double quotes"),
    ),
    broken(
        "infinity for the seller's address",
        terms('address = "Nowhere (invented demo data)"', "address = inf"),
        (TERMS_TOML, None, "seller.address", "'Infinity' is not text; put it between double"),
    ),
    broken(
        "a date for the seller's contact",
        terms('contact = "none"', "contact = 2026-11-28"),
        (TERMS_TOML, None, "seller.contact", "'2026-11-28' is not text"),
    ),
    broken(
        "next to no rate",
        terms("EUR = 1.164", "EUR = 1e-28"),
        (TERMS_TOML, None, "rates.EUR", "is too small; give units per unit"),
    ),
]  # fmt: skip
