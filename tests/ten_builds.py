"""Ten very different builds of the starter price list, by name: the cells that ask for each."""

SIX: dict[str, dict[str, str]] = {
    "card, RAID 5, twelve drives": {
        "chassis": "CHS-2U-12L",
        "controller": "CTL-RB2-12G-CD",
        "drive": "DRV-HDD-16T-SATA",
        "members": "12",
        "level": "5",
    },
    "mezzanine, RAID 60, two spans, two spares": {
        "chassis": "CHS-4U-24L",
        "controller": "CTL-RB2-12G-MZ",
        "drive": "DRV-HDD-16T-SAS-4K",
        "members": "12",
        "level": "60",
        "spans": "2",
        "spares": "2",
        "note": "Zwei Spannen, zwei Reserveplatten.",
    },
    "board, RAID 1, the customer's chassis": {
        "chassis": "CHS-2U-8L",
        "controller": "CTL-BOARD-8",
        "drive": "DRV-HDD-4T-SATA",
        "members": "2",
        "level": "1",
        "owned": "chassis",
    },
    "passed through": {
        "chassis": "CHS-2U-12L",
        "controller": "CTL-PT-12G-CD",
        "drive": "DRV-HDD-8T-SAS",
        "members": "10",
        "level": "none",
        "accept": "no_redundancy;loss_over_limit",
    },
    "NVMe, full-height card without a choice of bracket": {
        "chassis": "CHS-1U-8N",
        "controller": "CTL-RF8-TRI-CD",
        "drive": "DRV-SSD-3840-NVME-RD",
        "members": "8",
        "level": "6",
        "builds": "14",
    },
    "adapters, RAID 50, the customer's twelve drives, three builds": {
        "chassis": "CHS-2U-12L",
        "controller": "CTL-RB2-12G-CD",
        "drive": "DRV-SSD-1920-SATA-RD",
        "members": "10",
        "level": "50",
        "spans": "2",
        "spares": "2",
        "owned": "drive",
        "accept": "erases_data",
        "builds": "3",
        "note": "A note of some length, as somebody wrote it down on the telephone in a hurry.",
    },
}
TWELVE = tuple(name for name, cells in SIX.items() if int(cells["members"]) <= 12)

MORE: dict[str, dict[str, str]] = {
    "cache without protection": {
        "chassis": "CHS-2U-8L",
        "controller": "CTL-RU1-12G-CD",
        "drive": "DRV-HDD-8T-SAS",
        "members": "6",
        "level": "10",
        "accept": "cache_unprotected",
    },
    "the customer's controller": {
        "chassis": "CHS-2U-12L",
        "controller": "CTL-RF8-12G-CD",
        "drive": "DRV-HDD-8T-SAS",
        "members": "4",
        "level": "6",
        "owned": "controller",
    },
    "twenty-four drives": {
        "chassis": "CHS-2U-24S",
        "controller": "CTL-RF8-12G-MZ",
        "drive": "DRV-HDD-600-SAS-10K",
        "members": "22",
        "level": "10",
        "spares": "2",
    },
    "board, no array": {
        "chassis": "CHS-1U-4L",
        "controller": "CTL-BOARD-6",
        "drive": "DRV-HDD-2T-SATA",
        "members": "1",
        "level": "none",
        "accept": "no_redundancy;loss_over_limit",
    },
}
ALL = SIX | MORE
