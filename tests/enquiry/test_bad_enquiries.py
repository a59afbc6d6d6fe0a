"""Does every broken enquiry get the message it needs, and the good row beside it its quote.

Each entry of the corpus breaks one row, or the file, in one way and names every problem that
has to be told for it, and no other.
"""

import csv
import io
from pathlib import Path

import pytest

from quotelib.catalogue.price_list import PriceList
from quotelib.enquiry.columns import COLUMNS
from quotelib.enquiry.reading import read_enquiries
from quotelib.errors import InputError

GOOD = {"enquiry_id": "GOOD-1", "customer": "Somebody", "usable_tb": "4"}
BASE = {"enquiry_id": "E-1", "customer": "Somebody else", "usable_tb": "4"}

# Name, cells that differ from a sound row, and (column, words) of every problem.
ROWS: list[tuple[str, dict[str, str], list[tuple[str, str]]]] = [
    ("blank id", {"enquiry_id": ""}, [("enquiry_id", "is blank; write a few words")]),
    ("id of spaces", {"enquiry_id": "   "}, [("enquiry_id", "is blank")]),
    ("endless id", {"enquiry_id": "x" * 501}, [("enquiry_id", "is 501 characters long; use at")]),
    ("blank customer", {"customer": ""}, [("customer", "is blank; write a few words")]),
    ("no size, no pins", {"usable_tb": ""},
     [("usable_tb", "is blank, and drive, members and level are not all given; say how many TB")]),
    ("no size, pins incomplete", {"usable_tb": "", "drive": "DISK-4T", "level": "5"},
     [("usable_tb", "is blank, and drive, members and level are not all given")]),
    ("negative size", {"usable_tb": "-4"}, [("usable_tb", "is negative; give TB, 0 or 0.000001")]),
    ("size with a comma", {"usable_tb": "4,5"},
     [("usable_tb", "'4,5' has a comma in it; write decimals with a point")]),
    ("size with its unit", {"usable_tb": "4 TB"}, [("usable_tb", "'4 TB' is not a number")]),
    ("size of NaN", {"usable_tb": "nan"}, [("usable_tb", "'nan' is not a number")]),
    ("size of infinity", {"usable_tb": "inf"}, [("usable_tb", "'inf' is not a number")]),
    ("size in full width", {"usable_tb": "４"}, [("usable_tb", "'４' is not a number")]),
    ("unheard-of size", {"usable_tb": "1e99"}, [("usable_tb", "out of any plausible range")]),
    ("any drive in place of any other", {"action": "replace", "level": "5", "members": "4",
                                          "chassis": "BOX-12", "owned": "chassis"},
     [("from_drive", "is blank, though drive is open: any size would do; say which drives")]),
    ("unknown drive", {"drive": "DISK-4"},
     [("drive", "'DISK-4' is not among the price list's drives; use DISK-4T, DISK-8T, FLASH")]),
    ("drive in lower case", {"drive": "disk-4t"}, [("drive", "is not among the price list's")]),
    ("unknown chassis", {"chassis": "BOX-5"},
     [("chassis", "'BOX-5' is not among the price list's chassis; use BOX-4, BOX-12, BOX-8")]),
    ("unknown controller", {"controller": "CARDS"},
     [("controller", "is not among the price list's controllers; use BOARD, CARD")]),
    ("a drive as controller", {"controller": "DISK-4T"},
     [("controller", "'DISK-4T' is not among the price list's controllers")]),
    ("unknown workload", {"workload": "chess"},
     [("workload", "'chess' is not among the price list's workloads; use files")]),
    ("unknown currency", {"currency": "SEK"},
     [("currency", "'SEK' is not among the price list's currencies; use GBP, EUR, JPY or KWD")]),
    ("currency in lower case", {"currency": "eur"}, [("currency", "use GBP, EUR, JPY or KWD")]),
    ("unknown tax code", {"tax_code": "X"},
     [("tax_code", "'X' is not among the price list's tax codes; use S or ODD")]),
    ("tape", {"media": "tape"}, [("media", "'tape' is not known; use hdd or ssd")]),
    ("level with its word", {"level": "RAID5"},
     [("level", "'RAID5' is not known; use 0, 1, 5, 6, 10, 50, 60 or none")]),
    ("level 3", {"level": "3"}, [("level", "'3' is not known; use 0, 1, 5")]),
    ("no members", {"members": "0"}, [("members", "'0' is too small; give a whole number, 1 or")]),
    ("two and a half members", {"members": "2.5"},
     [("members", "'2.5' is not a whole number; give a whole number, 1 or more")]),
    ("members in words", {"members": "six"}, [("members", "'six' is not a number")]),
    ("no spans", {"spans": "0"}, [("spans", "'0' is too small")]),
    ("negative spares", {"spares": "-1"}, [("spares", "'-1' is negative")]),
    ("no builds", {"builds": "0"}, [("builds", "'0' is too small; give a whole number, 1 or")]),
    ("half a build", {"builds": "1.5"}, [("builds", "'1.5' is not a whole number")]),
    ("more builds than anybody", {"builds": "1000001"}, [("builds", "is too large")]),
    ("discount of 120 %", {"discount_pct": "120"},
     [("discount_pct", "'120' is too large; give a percentage from 0 to 100")]),
    ("discount with its sign", {"discount_pct": "5%"}, [("discount_pct", "'5%' is not a number")]),
    ("negative discount", {"discount_pct": "-5"}, [("discount_pct", "'-5' is negative")]),
    ("loss of 101 %", {"max_loss_pct": "101"}, [("max_loss_pct", "'101' is too large")]),
    ("negative price", {"max_price": "-1"}, [("max_price", "'-1' is negative")]),
    ("half a slot", {"free_slots": "0.5"}, [("free_slots", "'0.5' is not a whole number")]),
    ("survive most", {"survive": "most"}, [("survive", "'most' is not a number; give a whole")]),
    ("owned but not pinned", {"owned": "chassis"},
     [("owned", "'chassis' says the customer has the chassis, but does not say which; give its")]),
    ("two owned, one pinned", {"owned": "chassis;drive", "drive": "DISK-4T"},
     [("owned", "says the customer has the chassis, but does not say which")]),
    ("owned by another name", {"owned": "server"},
     [("owned", "has 'server' in its list, which is not known; use chassis; controller; drive")]),
    ("owned twice", {"owned": "drive;drive", "drive": "DISK-4T"},
     [("owned", "names 'drive' twice")]),
    ("accept what stops", {"accept": "bays_full"},
     [("accept", "has 'bays_full' in its list, which is a stop finding; only these can be")]),
    ("accept a note", {"accept": "heavy"},
     [("accept", "has 'heavy' in its list, which is a note finding; only these can be accepted: "
       "no_redundancy, loss_over_limit, cache_unprotected, erases_data, controller_unknown, "
       "wide_group, chipset_parity, memory_uneven or expander_shared")]),
    ("accept what is unknown", {"accept": "anything"},
     [("accept", "has 'anything' in its list, which is not known; only these can be accepted")]),
    ("members of a warehouse", {"members": "100000"},
     [("members", "'100000' is too large; give a whole number, 1 or more, at most 1000")]),
    ("spans of a warehouse", {"spans": "1001"}, [("spans", "is too large; give a whole number")]),
    ("spares of a warehouse", {"spares": "1001"}, [("spares", "is too large; give a whole")]),
    ("more than there is on Earth", {"usable_tb": "1000001"},
     [("usable_tb", "is too large; give TB, 0 or 0.000001 to 1000000")]),
    ("next to nothing", {"usable_tb": "1e-28"}, [("usable_tb", "is too small; give TB, 0 or")]),
    ("next to no watts", {"max_watts": "1e-28"}, [("max_watts", "is too small; give watts")]),
    ("a budget of states", {"max_price": "1e13"},
     [("max_price", "is too large; give an amount of 0 or more, at most a million million")]),
    ("endless operations", {"host_iops": "1e12"}, [("host_iops", "is too large; give operat")]),
    ("slots of a warehouse", {"free_slots": "257"}, [("free_slots", "is too large")]),
    ("slots of many kinds", {"free_slots": "1;" * 16 + "1"},
     [("free_slots", "lists 17 kinds; list at most 16")]),
    ("endless options", {"options": ";".join(["BELL*64"] * 16)},
     [("options", "asks for too many in all; ask for at most 1000 in one row"),
      ("options", "has 'BELL', which is not among the price list's options")]),
    ("endless note", {"note": "x" * 2001}, [("note", "is 2001 characters long; use at most 2000")]),
    ("several at once",
     {"customer": "", "usable_tb": "x", "drive": "GONE", "level": "7", "builds": "-1"},
     [("customer", "is blank"), ("usable_tb", "'x' is not a number"), ("drive", "'GONE' is not"),
      ("level", "'7' is not known"), ("builds", "'-1' is negative")]),
]  # fmt: skip

# Name, bytes of the file, and (row, column, words) of every problem.
HEAD = b"enquiry_id,customer,usable_tb\n"
FILES: list[tuple[str, bytes, list[tuple[int | None, str, str]]]] = [
    ("empty", b"", [(1, "", "is empty or has no header row; start it with a header row: enq")]),
    ("header alone", HEAD, [(None, "", "lists no enquiry; give it at least one row")]),
    ("blank rows alone", HEAD + b",,\n\n", [(None, "", "lists no enquiry")]),
    ("semicolons", HEAD.replace(b",", b";") + b"A;B;4\n",
     [(1, "", "has one single column; separate columns by commas")]),
    ("no header row", b"A,B,4\n", [(1, "", "has no known column name in its first row")]),
    ("unknown column", HEAD.replace(b"tb\n", b"tb,colour\n") + b"A,B,4,red\n",
     [(1, "colour", "'colour' is not a known column; rename or remove it; known are enquiry_id")]),
    ("column twice", HEAD.replace(b"tb\n", b"tb,customer\n") + b"A,B,4,C\n",
     [(1, "customer", "is there more than once; keep one of them")]),
    ("required column missing", b"enquiry_id,usable_tb\nA,4\n",
     [(1, "customer", "is a column that is missing; add it to the header row")]),
    ("not UTF-8", HEAD + b"A,Gr\xf6\xdfe,4\n",
     [(2, "", "has a byte (0xf6) that is not UTF-8; save the file as UTF-8")]),
    ("NUL", HEAD + b"A,B\0,4\n", [(2, "", "has a NUL character in it")]),
]  # fmt: skip

# Rows whose shape is wrong: the row, and words of its one problem.
SHAPES: list[tuple[str, bytes, str]] = [
    ("too few cells", b"E-1,Somebody\n", "has only 2 cells under 3 columns; leave unused cells"),
    ("too many cells", b"E-1,Some,body,4\n", "'4' has 4 cells under 3 columns; put a cell that"),
    ("unbalanced quote", b'E-1,"Somebody,4\n', "is not well-formed CSV"),
    ("text after a quote", b'E-1,"Some"body,4\n', "is not well-formed CSV"),
]


def write(path: Path, *rows: dict[str, str]) -> Path:
    out = io.StringIO(newline="")
    writer = csv.DictWriter(out, COLUMNS, lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    path.write_text(out.getvalue(), encoding="utf-8")
    return path


@pytest.mark.parametrize(("name", "cells", "told"), ROWS, ids=[name for name, *_ in ROWS])
def test_a_broken_row_is_told_what_is_wrong(
    small: PriceList,
    tmp_path: Path,
    name: str,
    cells: dict[str, str],
    told: list[tuple[str, str]],
) -> None:
    path = write(tmp_path / "asked.csv", GOOD, {**BASE, **cells}, {**GOOD, "enquiry_id": "GOOD-2"})
    first, broken, last = read_enquiries(path, small)
    assert first.request is not None
    assert last.request is not None
    assert broken.request is None
    (row,) = broken.rows
    listing = "\n".join(map(str, row.problems))
    assert {(p.file, p.row) for p in row.problems} == {("asked.csv", 3)}
    for column, words in told:
        found = [p for p in row.problems if p.column == column and words in str(p)]
        assert len(found) == 1, f"{column}: {words} in\n{listing}"
        assert found[0].right
    assert len(row.problems) == len(told), listing


@pytest.mark.parametrize(("name", "data", "told"), FILES, ids=[name for name, *_ in FILES])
def test_a_broken_file_is_told_what_is_wrong(
    small: PriceList,
    tmp_path: Path,
    name: str,
    data: bytes,
    told: list[tuple[int | None, str, str]],
) -> None:
    path = tmp_path / "asked.csv"
    path.write_bytes(data)
    with pytest.raises(InputError) as caught:
        read_enquiries(path, small)
    problems = caught.value.problems
    assert [(p.file, p.row, p.column) for p in problems] == [
        ("asked.csv", row, column) for row, column, _ in told
    ]
    for problem, (_, _, words) in zip(problems, told, strict=True):
        assert words in str(problem)


@pytest.mark.parametrize(("name", "line", "words"), SHAPES, ids=[name for name, *_ in SHAPES])
def test_a_row_of_the_wrong_shape(
    small: PriceList, tmp_path: Path, name: str, line: bytes, words: str
) -> None:
    path = tmp_path / "asked.csv"
    path.write_bytes(HEAD + b"GOOD-1,Somebody,4\n" + line)
    good, bad = read_enquiries(path, small)
    assert good.request is not None
    assert bad.request is None
    ((problem,),) = (row.problems for row in bad.rows)
    assert (problem.row, problem.column) == (3, "")
    assert words in str(problem)


def test_a_file_that_is_not_there(small: PriceList, tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"asked\.csv: is missing; put asked\.csv into"):
        read_enquiries(tmp_path / "asked.csv", small)


@pytest.mark.parametrize(
    ("column", "typed", "meant"),
    [
        ("drive", "DRV-HDD-4-SATA", "DRV-HDD-4T-SATA"),
        ("drive", "DRV-SSD-3840-NVME", "DRV-SSD-3840-NVME-RD"),
        ("controller", "CTL-RB2-12G", "CTL-RB2-12G-CD"),
    ],
)
def test_among_many_the_near_ones_are_proposed(
    starter: PriceList, tmp_path: Path, column: str, typed: str, meant: str
) -> None:
    (asked,) = read_enquiries(write(tmp_path / "asked.csv", {**BASE, column: typed}), starter)
    ((problem,),) = (row.problems for row in asked.rows)
    assert problem.right.startswith("did you mean ")
    assert meant in problem.right


def test_nothing_near_is_not_guessed_at(starter: PriceList, tmp_path: Path) -> None:
    (asked,) = read_enquiries(write(tmp_path / "asked.csv", {**BASE, "drive": "§§§"}), starter)
    assert asked.rows[0].problems[0].right == "look it up in the price list"


def test_the_corpus_is_as_large_as_it_claims() -> None:
    names = [name for name, *_ in (*ROWS, *FILES, *SHAPES)]
    assert len(names) >= 35
