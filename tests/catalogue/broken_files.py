"""Broken price lists: references that lead nowhere, and files that are not what they should be."""

from tests.catalogue.breaking import (
    ACCESSORIES,
    CHASSIS,
    DRIVES,
    SERVICES,
    SLOTS,
    TERMS_TOML,
    WORKLOADS,
    broken,
    cell,
    whole,
    wider,
    without_column,
)

REFERENCES = [
    broken(
        "sku twice in a file",
        cell(SERVICES, 3, "sku", "ASSEMBLE"),
        (SERVICES, 3, "sku", "'ASSEMBLE' is there already, in row 2; give each row a sku"),
    ),
    broken(
        "sku of another file",
        cell(SERVICES, 2, "sku", "DISK-4T"),
        (SERVICES, 2, "sku", "'DISK-4T' is a sku of drives.csv too; give every part a sku"),
    ),
    broken(
        "slot twice",
        cell(SLOTS, 4, "slot", "1"),
        (SLOTS, 4, "slot", "'1' is there already, in row 3; give each row a slot of its own"),
    ),
    broken(
        "workload twice",
        whole(WORKLOADS, lambda data: data + data.splitlines(keepends=True)[1]),
        (WORKLOADS, 3, "name", "'files' is there already, in row 2"),
    ),
    broken(
        "board controller nowhere",
        cell(CHASSIS, 2, "board_controller", "BORED"),
        (CHASSIS, 2, "board_controller", "'BORED' is not in controllers.csv; name a sku from"),
    ),
    broken(
        "board controller is a card",
        cell(CHASSIS, 2, "board_controller", "CARD"),
        (CHASSIS, 2, "board_controller", "'CARD' is mounted as card; name a controller whose"),
    ),
    broken(
        "slot of no chassis",
        cell(SLOTS, 2, "chassis_sku", "BOX-5"),
        (SLOTS, 2, "chassis_sku", "'BOX-5' is not in chassis.csv; name a sku from there"),
    ),
    broken(
        "needed by nobody known",
        cell(ACCESSORIES, 2, "needed_by", "CARD;GONE;MEZZ"),
        (
            ACCESSORIES,
            2,
            "needed_by",
            "'GONE' is neither a drive, a controller, a chassis nor an op",
        ),
    ),
    broken(
        "needed by a service",
        cell(ACCESSORIES, 2, "needed_by", "ASSEMBLE"),
        (
            ACCESSORIES,
            2,
            "needed_by",
            "'ASSEMBLE' is neither a drive, a controller, a chassis nor",
        ),
    ),
    broken(
        "reference from a row that is wrong anyway",
        lambda folder: (
            cell(ACCESSORIES, 2, "needed_by", "GONE")(folder),
            cell(ACCESSORIES, 2, "unit_price", "x")(folder),
        ),
        (ACCESSORIES, 2, "unit_price", "'x' is not a number"),
        (ACCESSORIES, 2, "needed_by", "'GONE' is neither a drive"),
    ),
    broken(
        "reference to a row that is wrong is not dangling",
        cell(DRIVES, 4, "unit_price", "x"),  # FLASH-1T, which the adapter lists
        (DRIVES, 4, "unit_price", "'x' is not a number"),
    ),
]

FILES = [
    broken(
        "missing file",
        lambda folder: (folder / CHASSIS).unlink(),
        (CHASSIS, None, "", "is missing; put chassis.csv into"),
    ),
    broken(
        "missing terms",
        lambda folder: (folder / TERMS_TOML).unlink(),
        (TERMS_TOML, None, "", "is missing; put terms.toml into"),
    ),
    broken(
        "folder in place of a file",
        lambda folder: ((folder / SLOTS).unlink(), (folder / SLOTS).mkdir()),
        (SLOTS, None, "", "cannot be read"),
    ),
    broken(
        "empty file",
        whole(DRIVES, lambda data: b""),
        (DRIVES, 1, "", "is empty or has no header row; start it with a header row: sku,"),
    ),
    broken(
        "blank first line",
        whole(SLOTS, lambda data: b"\n" + data),
        (SLOTS, 1, "", "is empty or has no header row"),
    ),
    broken(
        "header alone",
        whole(CHASSIS, lambda data: data.splitlines(keepends=True)[0]),
        (CHASSIS, None, "", "lists nothing; give it at least one row"),
        (SLOTS, 2, "chassis_sku", "'BOX-4' is not in chassis.csv"),
        (SLOTS, 3, "chassis_sku", "'BOX-12' is not in chassis.csv"),
        (SLOTS, 4, "chassis_sku", "'BOX-12' is not in chassis.csv"),
        (SLOTS, 5, "chassis_sku", "'BOX-NV' is not in chassis.csv"),
        (ACCESSORIES, 4, "needed_by", "'BOX-4' is neither"),
        (ACCESSORIES, 4, "needed_by", "'BOX-12' is neither"),
        (ACCESSORIES, 4, "needed_by", "'BOX-8' is neither"),
    ),
    broken(
        "no header row",
        whole(SLOTS, lambda data: b"".join(data.splitlines(keepends=True)[1:])),
        (SLOTS, 1, "", "has no known column name in its first row; start it with a header row"),
    ),
    broken(
        "semicolons between columns",
        whole(SLOTS, lambda data: data.replace(b",", b";")),
        (SLOTS, 1, "", "has one single column; separate columns by commas"),
    ),
    broken(
        "tabs between columns",
        whole(SLOTS, lambda data: data.replace(b",", b"\t")),
        (SLOTS, 1, "", "has one single column; separate columns by commas"),
    ),
    broken(
        "not UTF-8",
        whole(DRIVES, lambda data: data.replace(b"DISK-8T,Disk", b"DISK-8T,Gr\xfc\xdfe")),
        (DRIVES, 3, "", "has a byte (0xfc) that is not UTF-8; save the file as UTF-8"),
    ),
    broken(
        "UTF-16",
        whole(SLOTS, lambda data: data.decode().encode("utf-16")),
        (SLOTS, 1, "", "has a byte (0xff) that is not UTF-8"),
    ),
    broken(
        "NUL",
        whole(DRIVES, lambda data: data.replace(b"DISK-8T,Disk", b"DISK-8T,Di\0sk")),
        (DRIVES, 3, "", "has a NUL character in it"),
    ),
    broken(
        "unbalanced quote",
        whole(DRIVES, lambda data: data.replace(b"DISK-8T,Disk", b'DISK-8T,"Disk')),
        (DRIVES, 3, "", "is not well-formed CSV"),
    ),
    broken(
        "text after a closing quote",
        whole(SLOTS, lambda data: data.replace(b"BOX-4,1,3", b'"BOX-4"x,1,3')),
        (SLOTS, 2, "", "is not well-formed CSV"),
    ),
    broken(
        "too many cells",
        whole(DRIVES, lambda data: data.replace(b"DISK-8T,Disk", b"DISK-8T,Disk, 8 TB")),
        (DRIVES, 3, "", "has 25 cells under 24 columns; put a cell that has a comma in it between"),
    ),
    broken(
        "too few cells",
        whole(SLOTS, lambda data: data.replace(b"BOX-4,1,3,8,low", b"BOX-4,1,3")),
        (SLOTS, 2, "", "has only 3 cells under 5 columns; leave unused cells blank"),
    ),
    broken(
        "unknown column",
        wider(SLOTS, "colour"),
        (SLOTS, 1, "colour", "'colour' is not a known column; rename or remove it; known are"),
    ),
    broken(
        "column without a name",
        wider(SLOTS, ""),
        (SLOTS, 1, "", "is a column without a name"),
    ),
    broken(
        "renamed column",
        whole(SERVICES, lambda data: data.replace(b"unit_price", b"price")),
        (SERVICES, 1, "price", "is not a known column"),
        (SERVICES, 1, "unit_price", "is a column that is missing; add it to the header row"),
    ),
    broken(
        "missing column",
        without_column(DRIVES, "active_w"),
        (DRIVES, 1, "active_w", "is a column that is missing; add it to the header row"),
    ),
    broken(
        "missing column that a rule of its own asks for",
        without_column(CHASSIS, "bay_interfaces"),
        (CHASSIS, 1, "bay_interfaces", "is a column that is missing"),
    ),
    broken(
        "missing key column",  # nothing that points into the file is called dangling
        without_column(CHASSIS, "sku"),
        (CHASSIS, 1, "sku", "is a column that is missing"),
    ),
    broken(
        "column twice",
        whole(SLOTS, lambda data: data.replace(b",lanes,", b",gen,")),
        (SLOTS, 1, "gen", "is there more than once; keep one of them"),
        (SLOTS, 1, "lanes", "is a column that is missing"),
    ),
    broken(
        "wrong column and wrong cell",  # both in one go
        lambda folder: (
            cell(DRIVES, 2, "unit_price", "free")(folder),
            without_column(DRIVES, "idle_w")(folder),
        ),
        (DRIVES, 1, "idle_w", "is a column that is missing"),
        (DRIVES, 2, "unit_price", "'free' is not a number"),
    ),
]
