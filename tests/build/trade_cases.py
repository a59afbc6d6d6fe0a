"""One minimal build for each rule of the trade, and what the message has to say."""

from quotelib.build.layout import Layout
from tests.build.fit_cases import RAID5, Case

MIRROR = Layout("1", 2)
SPARED = Layout("5", 3, spares=1)
TWO = "BOX-12 MEZZ DISK-8T CARD DISK-8T"

TRADE = [
    Case(
        "start_4096",
        "BOX-12 CARD DISK-8T",
        RAID5,
        (
            "the drives DISK-8T, the only ones here to start from, have blocks of 4096 bytes",
            "legacy start, many option ROMs and older hypervisors cannot start from them",
            "start by UEFI after asking for the system's own list, or add a boot option",
        ),
    ),
    Case(
        "start_size",
        "BOX-4 BOARD DISK-4T",
        MIRROR,
        # 2^32 blocks of 512 bytes are 2,199,023,255,552 bytes.
        (
            "the smallest volume to start from has 4.00 TB (3.63 TiB)",
            "a master boot record reaches 2.19 TB (2.00 TiB)",
            "set up GPT and start by UEFI, or add a boot option or a small volume",
        ),
    ),
    Case(
        "spin_up",
        "BOX-12 CARD DISK-8T",
        Layout("5", 12),
        # 200 + 12 x 11 + 15 + 2 = 349 W active; 12 x 11 x 1.5 = 198 W more, 132 to 264 W.
        (
            "if the 12 disks start at once the build draws about 547 W (481 to 613 W)",
            "more than the 546.9 W that carry it",
            "set staggered start, or choose larger supplies",
        ),
        {"BOX-12": {"supply_w": "546.9"}},
    ),
    Case(
        "sas_slower",
        "BOX-12 CARD DISK-8T",
        RAID5,
        (
            "DISK-8T has a link of 22.5 Gbit/s, CARD one of 12: it runs at 12 Gbit/s",
            "choose a controller with 22.5 Gbit/s",
        ),
        {"DISK-8T": {"link_gbit_s": "22.5"}},
    ),
    Case(
        "spans_many",
        "BOX-12 CARD DISK-8T",
        Layout("50", 27, 9),
        (
            "RAID 50 has 9 spans, and many controllers make 8 at most",
            "look up how many CARD makes, or choose fewer, wider ones",
        ),
        {"BOX-12": {"bays": "27"}, "CARD": {"max_drives": "32"}},
    ),
    Case(
        "chipset_expander",
        "BOX-4 BOARD DISK-4T",
        MIRROR,
        (
            "BOARD has SATA ports, and what is behind the expander of BOX-4 is reached by SAS",
            "ask which of its bays are wired to the board, or choose a SAS controller",
        ),
        {"BOX-4": {"backplane": "expander"}},
    ),
    Case(
        "expander_shared",
        TWO,
        RAID5,
        (
            "MEZZ and CARD would share the expander backplane of BOX-12",
            "put all arrays on one controller, choose a chassis with a direct backplane, or accept",
        ),
        {"BOX-12": {"backplane": "expander"}},
        terms={"shared_expander": True},
        more=(RAID5,),
    ),
    Case(
        "backplane_split",
        TWO,
        RAID5,
        (
            "MEZZ and CARD share the backplane of BOX-12",
            "divided between them where its connectors do, each with a cable of its own",
            "have that division checked before this is ordered, or use one controller",
        ),
        {"BOX-12": {"backplane": "direct"}},
        more=(RAID5,),
    ),
    Case(
        "cable_few",
        TWO,
        RAID5,
        ("1 cable set CABLE would come for the 6 drives on MEZZ and CARD, which take 2",
         "order 1 more apart"),
        more=(RAID5,),
    ),
    Case(
        "cable_few",
        TWO,
        Layout("5", 5),
        # 5 and 3 drives are one set of 8, but each controller takes one.
        ("1 cable set CABLE would come for the 8 drives on MEZZ and CARD, which take 2",),
        {"CABLE": {"per": "8"}},
        more=(RAID5,),
    ),
    Case(
        "length_unknown",
        "BOX-4 CARD DISK-4T",
        MIRROR,
        (
            "how long the connector of CARD and slot 1 of BOX-4 is",
            "whether CARD, a card of 16 lanes, goes into slot 1 with 8 lanes is not checked",
            "look it up before this is ordered",
        ),
        {"CARD": {"host_lanes": "16"}},
    ),
    Case(
        "length_unknown",
        "BOX-4 CARD DISK-4T",
        MIRROR,
        # Wired for 8 lanes, but nobody said that a connector of 16 goes in.
        ("how long the connector of slot 1 of BOX-4 is", "CARD, a card of 16 lanes"),
        {"CARD": {"connector_lanes": "16"}},
    ),
    Case(
        "length_unknown",
        "BOX-4 CARD DISK-4T",
        MIRROR,
        ("how long the connector of CARD", "CARD, a card of an unknown number of lanes"),
        {"CARD": {"host_lanes": ""}},
    ),
    Case(
        "spare_reach",
        "BOX-12 CARD DISK-8T CARD DISK-4T",
        SPARED,
        (
            "the hot spare DISK-8T of array 1 can stand in for members of its own, not for array 2",
            "(sas, not sata; blocks of 4096 bytes, not 512)",
            "an array without a spare stays degraded until a person comes: give it its own",
        ),
        more=(MIRROR,),
    ),
    Case(
        "spare_reach",
        "BOX-12 CARD DISK-4T MEZZ FLASH-1T",
        SPARED,
        ("the hot spare DISK-4T of array 1", "not for array 2 (on another controller; a disk, not"),
        more=(MIRROR,),
    ),
    Case(
        "spare_reach",
        "BOX-12 CARD DISK-4T CARD FLASH-1T",
        SPARED,
        ("can stand in for members of its own, for array 2 too where it is set up for both",),
        {"FLASH-1T": {"media": "hdd", "capacity_gb": "2000", "width_in": "3.5"}},
        more=(MIRROR,),
    ),
    Case(
        "spare_reach",
        "BOX-12 CARD DISK-4T CARD FLASH-1T",
        SPARED,
        ("for members of its own, not for array 2 (too small)",),
        {"FLASH-1T": {"media": "hdd", "capacity_gb": "6000", "width_in": "3.5"}},
        more=(MIRROR,),
    ),
    Case(
        "sectors_mixed",
        "BOX-12 CARD DISK-4T CARD FLASH-1T",
        SPARED,
        (
            "DISK-4T has physical blocks of 4096 bytes, FLASH-1T of 512, both shown as 512",
            "keep to one kind, or align everything to 4096 bytes",
        ),
        {
            "FLASH-1T": {"media": "hdd", "capacity_gb": "2000",
                         "width_in": "3.5", "physical_block_bytes": "512"},
            "DISK-4T": {"physical_block_bytes": "4096"},
        },
        more=(MIRROR,),
    ),
]  # fmt: skip
