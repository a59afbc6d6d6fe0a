"""Broken price lists: a cell that is wrong, or cells that contradict each other."""

from tests.catalogue.breaking import (
    ACCESSORIES,
    CHASSIS,
    CONTROLLERS,
    DRIVES,
    SERVICES,
    SLOTS,
    WORKLOADS,
    Broken,
    broken,
    cell,
)


def numbers() -> list[Broken]:
    """List what is no number, or not one of these."""
    wrong = [
        ("decimal comma", DRIVES, 2, "unit_price", "99,50",
         "'99,50' has a comma in it; write decimals with a point"),
        ("thousands comma", DRIVES, 2, "unit_price", "1,299.50", "leave thousands unmarked"),
        ("underscore", DRIVES, 2, "capacity_gb", "4_000", "'4_000' is not a number; give whole"),
        ("not a number", CHASSIS, 3, "unit_cost", "NaN", "'NaN' is not a number; give an amount"),
        ("infinity", ACCESSORIES, 2, "unit_price", "Infinity", "'Infinity' is not a number"),
        ("full-width digits", DRIVES, 2, "unit_price", "１２３", "'１２３' is not a number"),
        ("arabic digits", SERVICES, 2, "unit_price", "٤٥", "is not a number"),
        ("currency sign", DRIVES, 2, "unit_price", "£99", "is not a number"),
        ("negative price", CONTROLLERS, 3, "unit_price", "-400",
         "'-400' is negative; give an amount of 0 or more"),
        ("negative mass", CHASSIS, 2, "mass_g", "-1", "is negative; give grams, 0 or 0.001 to"),
        ("absurd exponent", DRIVES, 2, "unit_price", "1e300", "is out of any plausible range"),
        ("endless digits", DRIVES, 2, "unit_price", "1." + "3" * 40, "out of any plausible range"),
        ("blank price", DRIVES, 2, "unit_price", "", "is blank; give an amount of 0 or more"),
        ("half a gigabyte", DRIVES, 2, "capacity_gb", "1.5",
         "'1.5' is not a whole number; give whole gigabytes as advertised"),
        ("no capacity", DRIVES, 2, "capacity_gb", "0", "is too small"),
        ("block of 520", DRIVES, 3, "block_bytes", "520", "use 512 or 4096"),
        ("width of 5.25", DRIVES, 3, "width_in", "5.25", "use 2.5 or 3.5"),
        ("certain errors", DRIVES, 2, "bit_error_rate", "1",
         "'1' is too large; give errors per bit read, such as 1e-15"),
        ("no life at all", DRIVES, 2, "mttf_hours", "0", "give hours above 0, 1 to 1e10"),
        ("three lanes", SLOTS, 2, "lanes", "3", "is not a lane count; use 1, 2, 4, 8 or 16"),
        ("generation 9", SLOTS, 2, "gen", "9", "is too large; give a generation from 1 to 7"),
        ("slot -1", SLOTS, 2, "slot", "-1", "is negative; give a whole number, 0 to 255"),
        ("host of 12 lanes", CONTROLLERS, 3, "host_lanes", "12", "is not a lane count"),
        ("odd link rate", CONTROLLERS, 3, "sas_gbit_s", "10", "use 3, 6, 12, 22.5 or 24"),
        ("no bays", CHASSIS, 2, "bays", "0", "is too small"),
        ("half a day", DRIVES, 2, "lead_days", "0.5", "is not a whole number; give whole days"),
        ("negative stock", DRIVES, 2, "stock", "-2", "is negative; give a whole number"),
        ("read share of 130 %", WORKLOADS, 2, "read_pct", "130", "percentage from 0 to 100"),
        ("nothing outstanding", WORKLOADS, 2, "outstanding", "0", "is too small"),
        ("block of nothing", WORKLOADS, 2, "block_kib", "0", "give KiB above 0"),
    ]  # fmt: skip
    return [
        broken(name, cell(file, row, column, value), (file, row, column, words))
        for name, file, row, column, value, words in wrong
    ]


def words_and_lists() -> list[Broken]:
    """List what is not one of the known words."""
    wrong = [
        ("tape", DRIVES, 2, "media", "tape", "'tape' is not known; use hdd or ssd"),
        ("upper case", DRIVES, 2, "interface", "SATA", "is not known; use sata, sas or nvme"),
        ("unknown kind", CONTROLLERS, 3, "kind", "hba", "use chipset, pass_through or raid"),
        ("unknown mounting", CONTROLLERS, 3, "mounting", "glued", "use board, mezzanine or card"),
        ("unknown level", CONTROLLERS, 3, "levels", "0;1;5E",
         "has '5E' in its list, which is not known; use 0; 1; 5; 6; 10; 50; 60"),
        ("levels with a bar", CONTROLLERS, 3, "levels", "0|1",
         "has '0|1' in its list, which is not known; use 0; 1; 5"),
        ("level twice", CONTROLLERS, 3, "levels", "0;1;1", "names '1' twice"),
        ("unknown bracket", CONTROLLERS, 3, "brackets", "half", "use low; full"),
        ("unknown protection", CONTROLLERS, 3, "cache_protection", "hope",
         "use none, battery or flash"),
        ("unknown bay link", CHASSIS, 3, "bay_interfaces", "sata;scsi", "'scsi' in its list"),
        ("unknown height", SLOTS, 2, "height", "tall", "use low or full"),
        ("unknown accessory", ACCESSORIES, 2, "kind", "sticker", "use cable, cache_protection"),
        ("per rack", ACCESSORIES, 2, "per", "rack", "use build, drive, or how many"),
        ("per hour", SERVICES, 2, "per", "hour", "use build, drive, controller, array or quote"),
        ("blank description", DRIVES, 2, "description", "", "is blank; write a few words"),
        ("endless description", DRIVES, 2, "description", "x" * 501, "is 501 characters long"),
        ("blank sku", SERVICES, 2, "sku", "", "is blank; give every part a sku of its own"),
        ("two skus in one", SERVICES, 2, "sku", "A;B", "is not usable as a sku; use at most 80"),
    ]  # fmt: skip
    return [
        broken(name, cell(file, row, column, value), (file, row, column, words))
        for name, file, row, column, value, words in wrong
    ]


IMPOSSIBLE = [
    broken(
        "card without brackets",
        cell(CONTROLLERS, 3, "brackets", ""),
        (CONTROLLERS, 3, "brackets", "are blank for a card; list low, full or low;full"),
    ),
    broken(
        "brackets on a mezzanine",
        cell(CONTROLLERS, 5, "brackets", "low"),
        (CONTROLLERS, 5, "brackets", "though it is mounted as mezzanine; leave them blank"),
    ),
    broken(
        "levels on a pass-through adapter",
        cell(CONTROLLERS, 4, "levels", "0;1"),
        (CONTROLLERS, 4, "levels", "listed for a pass-through adapter, which makes no array"),
    ),
    broken(
        "array controller without levels",
        cell(CONTROLLERS, 3, "levels", ""),
        (CONTROLLERS, 3, "levels", "are blank, though its kind is raid; list them"),
    ),
    broken(
        "controller without any link",
        cell(CONTROLLERS, 2, "sata_gbit_s", ""),
        (CONTROLLERS, 2, "sata_gbit_s", "nothing can be attached to it; give the rate of at least"),
    ),
    broken(
        "sas drive with blank rates",
        lambda folder: [
            cell(DRIVES, 3, column, "")(folder) for column in ("read_mb_s", "write_mb_s")
        ],
        (DRIVES, 3, "read_mb_s", "is blank; give MB/s above 0"),
        (DRIVES, 3, "write_mb_s", "is blank; give MB/s above 0"),
    ),
    broken(
        "disk without speed",
        cell(DRIVES, 2, "rpm", ""),
        (DRIVES, 2, "rpm", "is blank for a disk; give its speed, such as 7200"),
    ),
    broken(
        "disk without seek time",
        cell(DRIVES, 2, "seek_ms", ""),
        (DRIVES, 2, "seek_ms", "is blank for a disk; give its average seek time"),
    ),
    broken(
        "flash that turns",
        cell(DRIVES, 4, "rpm", "7200"),
        (DRIVES, 4, "rpm", "'7200' is given for flash, which does not turn; leave it blank"),
    ),
    broken(
        "flash without random rates",
        lambda folder: [
            cell(DRIVES, 4, column, "")(folder) for column in ("read_iops", "write_iops")
        ],
        (DRIVES, 4, "read_iops", "is blank for flash; give its 4 KiB random rate"),
        (DRIVES, 4, "write_iops", "is blank for flash"),
    ),
    broken(
        "bays without links",
        cell(CHASSIS, 2, "bay_interfaces", ""),
        (CHASSIS, 2, "bay_interfaces", "are blank, though it has bays; list sata, sas or nvme"),
    ),
    broken(
        "supply below base",
        cell(CHASSIS, 2, "supply_w", "99"),
        (CHASSIS, 2, "base_w", "'100' is more than supply_w gives; check both figures"),
    ),
]
