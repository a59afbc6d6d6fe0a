"""One minimal build for each finding, and what the message has to say."""

from dataclasses import dataclass, field

from quotelib.build.build import Build
from quotelib.build.layout import Layout
from tests.small_list import OPTIONS, TABLES, Tables, build, change, copy, price_list

RAID5 = Layout("5", 3)


@dataclass(frozen=True)
class Case:
    """One build and the one finding it has to have.

    Parameters
    ----------
    code : str
    names : str
        Chassis, controller and drive; a controller and a drive more for each layout more.
    layout : Layout
    words : tuple of str
        What the message has to say: the skus or figures involved, and what to change.
    changed : dict
        Cells by sku that differ from the small list.
    owned : str
    options : str
        Skus of the small list's options, each as often as it is wanted.
    redundant : bool
        Whether it has to carry its load with one supply less.
    terms : dict
        What the terms say under ``[advice]``.
    more : tuple of Layout
        Those of other arrays.
    """

    code: str
    names: str
    layout: Layout
    words: tuple[str, ...]
    changed: dict[str, dict[str, object]] = field(default_factory=dict)
    owned: str = ""
    options: str = ""
    redundant: bool = False
    terms: dict[str, object] = field(default_factory=dict)
    more: tuple[Layout, ...] = ()

    @property
    def build(self) -> Build:
        tables: Tables = copy({**TABLES, "options.csv": OPTIONS})
        for sku, cells in self.changed.items():
            change(tables, sku, **cells)
        more = {"options": self.options, "redundant": self.redundant}
        layouts = self.layout, *self.more
        return build(price_list(tables), self.names, *layouts, owned=self.owned, **more)


STOPS = [
    Case(
        "level_not_offered",
        "BOX-12 MEZZ DISK-8T",
        Layout("6", 4),
        ("MEZZ offers RAID 0, 1, 5, 10 or 50, not RAID 6", "choose another level"),
    ),
    Case(
        "level_not_offered",
        "BOX-12 THROUGH DISK-8T",
        RAID5,
        ("THROUGH makes no array, not RAID 5", "another controller"),
    ),
    Case(
        "level_not_offered",
        "BOX-12 CARD DISK-8T",
        Layout("none", 3),
        ("CARD is an array controller", "choose a pass_through or chipset controller"),
    ),
    Case(
        "member_count",
        "BOX-12 CARD DISK-8T",
        Layout("50", 5, 2),
        ("RAID 50 takes two or more equal spans of three", "use 6 members", "or choose RAID 0"),
    ),
    Case(
        "member_count",
        "BOX-12 CARD DISK-8T",
        Layout("5", 9, 3),
        ("RAID 5 takes 3 or more members in one span", "use 1 span", "or choose RAID 50 for 9"),
    ),
    Case(
        "member_count",
        "BOX-12 CARD DISK-8T",
        Layout("50", 9, 2),
        ("not 9 members in 2 spans", "use 3 spans or 10 members, or choose RAID 0"),
    ),
    Case(
        "member_count",
        "BOX-4 BOARD DISK-4T",
        Layout("1", 3),
        ("RAID 1 takes exactly 2 members", "not 3 members", "use 2 members", "or choose RAID 0"),
    ),
    Case(
        "member_count",
        "BOX-4 BOARD DISK-4T",
        Layout("0", 1),
        ("RAID 0 takes 2 or more members, not 1 member; use 2 members",),
    ),
    Case(
        "bays_full",
        "BOX-12 CARD DISK-8T",
        Layout("5", 12, spares=1),
        ("13 drives (1 of them spares)", "the 12 bays of BOX-12", "choose a larger chassis"),
    ),
    Case(
        "bay_width",
        "BOX-8 MEZZ DISK-4T",
        RAID5,
        ("DISK-4T is 3.5 inches wide", "BOX-8 are 2.5", "choose a 2.5-inch drive"),
        {"BOX-8": {"mezzanine_sockets": 1}},
    ),
    Case(
        "bay_width",
        "BOX-12 CARD FLASH-1T",
        RAID5,
        ("FLASH-1T is 2.5 inches wide", "no adapter is sold", "choose a 3.5-inch drive"),
        {"ADAPTER": {"needed_by": "BOX-12"}},
    ),
    Case(
        "bay_interface",
        "BOX-12 CARD FLASH-NV",
        RAID5,
        ("bays of BOX-12 take sata or sas", "FLASH-NV is nvme", "chassis with nvme bays"),
        {"ADAPTER": {"needed_by": "FLASH-NV"}, "CARD": {"nvme_gen": 4}},
    ),
    Case(
        "drive_link",
        "BOX-4 BOARD DISK-8T",
        Layout("1", 2),
        ("BOARD has no sas link", "DISK-8T", "choose a drive with sata"),
        {"BOX-4": {"bay_interfaces": "sata;sas"}},
    ),
    Case(
        "too_many_drives",
        "BOX-12 MEZZ DISK-8T",
        Layout("5", 9),
        ("MEZZ runs at most 8 drives, not 9", "choose a larger controller"),
    ),
    Case(
        "ports_short",
        "BOX-12 CARD DISK-8T",
        Layout("6", 8, spares=1),
        ("CARD has 8 ports, its drives on the direct backplane of BOX-12 need 9", "an expander"),
        {"CARD": {"ports": 8}, "BOX-12": {"backplane": "direct"}},
    ),
    Case(
        "ports_short",
        "BOX-NV THROUGH FLASH-NV",
        Layout("none", 5),
        ("THROUGH has 16 ports, its drives on the direct backplane of BOX-NV need 20",),
        {"THROUGH": {"ports": 16}, "BOX-NV": {"backplane": "direct"}},
    ),
    Case(
        "no_socket",
        "BOX-4 MEZZ DISK-4T",
        RAID5,
        ("MEZZ needs a mezzanine socket and BOX-4 has none", "choose a card version"),
    ),
    Case(
        "no_slot",
        "BOX-4 BARE DISK-4T",
        RAID5,
        ("BARE", "full-height bracket", "BOX-4 has only low-height slots", "choose a chassis"),
        {"BARE": {"cache_mib": 0}},
    ),
    Case(
        "no_slot",
        "BOX-8 CARD FLASH-1T",
        RAID5,
        ("CARD", "BOX-8 has no slot", "mezzanine version"),
    ),
    Case(
        "board_elsewhere",
        "BOX-12 BOARD DISK-4T",
        Layout("1", 2),
        ("BOARD is part of another chassis' board, not of BOX-12", "choose a mezzanine or card"),
    ),
    Case(
        "board_elsewhere",
        "BOX-4 MEZZ DISK-4T",
        Layout("1", 2),
        ("MEZZ is part of another chassis' board", "use BOARD, which is on its board"),
        {"MEZZ": {"mounting": "board"}},
    ),
    Case(
        "power",
        "BOX-12 CARD DISK-8T",
        Layout("5", 12),
        # 200 + 12 x 11 + 15 + 2 (cache protection module)
        ("draws 349 W", "BOX-12 gives 348.9 W", "choose fewer or more frugal drives"),
        {"BOX-12": {"supply_w": "348.9"}},
    ),
    Case(
        "power",
        "BOX-12 CARD DISK-8T",
        RAID5,
        # 200 + 3 x 11 + 15 + 2 + 95
        ("draws 345 W", "the supply of BOX-12 gives 344 W", "with a larger supply"),
        {"BOX-12": {"supply_w": "344"}},
        options="CPU-8",
    ),
    Case(
        "power",
        "BOX-12 CARD DISK-8T",
        RAID5,
        ("the supply of BOX-12 gives 0 W with one less", "add a supply"),
        redundant=True,
    ),
    Case(
        "power",
        "BOX-12 MEZZ DISK-8T",
        RAID5,
        # 200 + 3 x 11 + 12 + 4 x 95 + 6: more than one supply gives, less than two
        ("draws 631 W", "the 2 supplies of BOX-12 give 600 W with one less", "add a supply"),
        {"BOX-12": {"supply_bays": 2}},
        options="CPU-8 CPU-8 CPU-8 CPU-8 PSU-600",
        redundant=True,
    ),
    Case(
        "power",
        "BOX-12 CARD DISK-8T",
        RAID5,
        ("supplies that share a load must be equal, not 600 W and 800 W", "supplies of 600 W"),
        {"BOX-12": {"supply_bays": 2}},
        options="PSU-800",
    ),
    Case(
        "power",
        "BOX-12 CARD DISK-8T",
        RAID5,
        ("the 0 supplies of BOX-12 give 0 W",),
        {"BOX-12": {"supplies": 0}},
    ),
    Case(
        "supplies_full",
        "BOX-12 CARD DISK-8T",
        RAID5,
        ("BOX-12 has no free supply bays, too few for 1 × PSU-600", "fewer of them or a chassis"),
        options="PSU-600",
    ),
    Case(
        "sockets_full",
        "BOX-12 CARD DISK-8T",
        RAID5,
        ("BOX-12 has 1 free processor socket, too few for 1 × CPU-8 and 1 × CPU-16",),
        {"BOX-12": {"processor_sockets": 1}},
        options="CPU-8 CPU-16",
    ),
    Case(
        "memory_full",
        "BOX-12 CARD DISK-8T",
        RAID5,
        ("BOX-12 has 2 free memory slots, too few for 3 × MEM-16", "a chassis with more"),
        {"BOX-12": {"memory_slots": 2}},
        options="MEM-16 MEM-16 MEM-16",
    ),
    Case(
        "option_elsewhere",
        "BOX-4 BOARD DISK-4T",
        Layout("1", 2),
        ("CPU-16 is made for BOX-12, not for BOX-4", "choose such a chassis or another option"),
        options="CPU-16",
    ),
    Case(
        "no_slot",
        "BOX-4 CARD DISK-4T",
        Layout("1", 2),
        ("BOX-4 has 1 slot, too few that suit CARD and BOOT-CARD together",),
        options="BOOT-CARD",
    ),
]

ADVICE_AND_NOTES = [
    Case(
        "wide_group",
        "BOX-12 CARD DISK-8T",
        Layout("6", 9),
        ("9 disks DISK-8T stand in one parity group, more than 8 of 8 TB", "level with spans"),
        terms={"wide_group_members": "8", "wide_group_tb": "8"},
    ),
    Case(
        "chipset_parity",
        "BOX-4 BOARD DISK-4T",
        RAID5,
        ("BOARD is a chipset controller: RAID 5 on it", "or an array controller"),
        {"BOARD": {"levels": "0;1;5"}},
        terms={"chipset_parity": True},
    ),
    Case(
        "no_redundancy",
        "BOX-4 BOARD DISK-4T",
        Layout("0", 2),
        ("an array without redundancy", "choose RAID 1, 5, 6 or 10", "or accept the risk"),
    ),
    Case(
        "no_redundancy",
        "BOX-4 BOARD DISK-4T",
        Layout("none", 2),
        ("no array", "choose RAID 1, 5, 6 or 10"),
    ),
    Case(
        "memory_uneven",
        "BOX-12 CARD DISK-8T",
        RAID5,
        (
            "3 memory modules cannot be spread evenly over 2 processors",
            "choose a multiple of 2, or accept",
        ),
        options="CPU-8 CPU-8 MEM-16 MEM-16 MEM-16",
    ),
    Case(
        "places_unknown",
        "BOX-12 CARD DISK-8T",
        RAID5,
        ("nobody has stated how many memory slots BOX-12 has", "whether 1 × MEM-16 find room"),
        options="MEM-16",
    ),
    Case(
        "cache_unprotected",
        "BOX-12 BARE DISK-8T",
        RAID5,
        ("write-back cache of BARE has no protection", "choose a controller with battery or flash"),
    ),
    Case(
        "erases_data",
        "BOX-12 CARD DISK-8T",
        RAID5,
        ("must the data on the customer's 3 drives DISK-8T stay?", "Building this erases it"),
        owned="drive",
    ),
    Case(
        "erases_data",
        "BOX-12 THROUGH DISK-8T",
        Layout("none", 1),  # no array, but the bench's test load writes all the same
        ("the customer's 1 drive DISK-8T",),
        owned="drive",
    ),
    Case(
        "heavy",
        "BOX-12 CARD DISK-8T",
        Layout("5", 12),
        # 16000 + 180 + 12 x 720 + 200 + 120 + 12 x 100 = 26,340 g, shown rounded up
        ("weighs 26.4 kg", "23 kg", "lift it with two people"),
    ),
    Case(
        "sata_on_sas",
        "BOX-12 CARD DISK-4T",
        RAID5,
        ("run at the SATA rate (6 Gbit/s) on CARD", "SAS rate (12 Gbit/s)"),
    ),
    Case(
        "chipset_driver",
        "BOX-4 BOARD DISK-4T",
        Layout("1", 2),
        ("BOARD is made by a driver", "hypervisors often lack", "choose an array controller"),
    ),
    Case(
        "not_a_backup",
        "BOX-12 CARD DISK-8T",
        RAID5,
        ("an array is not a backup", "keep copies elsewhere and test restoring them"),
    ),
    Case(
        "not_a_backup",
        "BOX-4 BOARD DISK-4T",
        Layout("none", 1),
        ("a set of drives is not a backup", "keep copies elsewhere and test restoring them"),
    ),
]
