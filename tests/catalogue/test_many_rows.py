"""Is a file of very many rows read, and told about, in the time of one reading."""

import csv
import time
from pathlib import Path

import pytest

from quotelib.catalogue.price_list import PriceList, load_price_list, read_folder
from quotelib.documents.batch.files import file_stems
from quotelib.enquiry.reading import read_enquiries
from quotelib.errors import MOST_SHOWN, InputError, Problem, table
from tests.catalogue.breaking import CHASSIS, SLOTS

# Quadratic work took minutes for each of these; straight work takes a second or two.
SECONDS = 20


def test_one_id_in_a_hundred_thousand_rows_gives_as_many_file_names() -> None:
    start = time.process_time()
    stems = file_stems(["A"] * 100_000)
    assert time.process_time() - start < SECONDS
    assert len(set(stems)) == len(stems)
    assert stems[0] == "A"
    # The names that a small batch has always got.
    assert stems[:3] == file_stems(["A"] * 3)


def test_one_unknown_part_in_many_enquiries(starter: PriceList, tmp_path: Path) -> None:
    path = tmp_path / "enquiries.csv"
    rows = "A,Somebody,10,DRV-NONE\n" * 20_000
    path.write_text(f"enquiry_id,customer,usable_tb,drive\n{rows}", "utf-8")
    start = time.process_time()
    read = read_enquiries(path, starter)
    assert time.process_time() - start < SECONDS
    (asked,) = read  # one number, one quote
    assert [p.column for p in asked.rows[0].problems] == ["drive"]
    assert {p.column for row in asked.rows for p in row.problems} == {"drive"}


def test_a_cell_of_very_many_unknown_parts(starter: PriceList, tmp_path: Path) -> None:
    path = tmp_path / "enquiries.csv"
    names = ";".join(f"DRV-{n}" for n in range(14_000))
    path.write_text(f"enquiry_id,customer,parts\nA,Somebody,{names}\n", "utf-8")
    start = time.process_time()
    (asked,) = read_enquiries(path, starter)
    assert time.process_time() - start < SECONDS
    told = [problem.why for problem in asked.rows[0].problems]
    assert len(told) == 5
    assert told[0] == "has 'DRV-0', which is not among the price list's parts sold loose"


def test_two_numbers_in_turn_in_many_enquiries(starter: PriceList, tmp_path: Path) -> None:
    path = tmp_path / "enquiries.csv"
    path.write_text("enquiry_id,customer,usable_tb\n" + "A,One,1\nB,Two,2\n" * 20_000, "utf-8")
    start = time.process_time()
    read = read_enquiries(path, starter)
    assert time.process_time() - start < SECONDS
    assert len(read) == 40_000
    assert all(asked.request is None for asked in read)
    (told,) = read[0].rows[0].problems
    assert "apart from here, from row 4, 6, 8, 10, 12 and 19994 others on" in str(told)
    assert max(len(str(asked.rows[0].problems[0])) for asked in read) < 300


def test_a_quote_of_very_many_servers(starter: PriceList, tmp_path: Path) -> None:
    path = tmp_path / "enquiries.csv"
    rows = "".join(f"A,Somebody,1,server {n}\n" for n in range(20_000))
    path.write_text(f"enquiry_id,customer,usable_tb,server\n{rows}", "utf-8")
    start = time.process_time()
    (asked,) = read_enquiries(path, starter)
    assert time.process_time() - start < SECONDS
    assert asked.request is None
    told = {row.row: row.problems for row in asked.rows if row.problems}
    assert list(told) == [502]
    assert "is in more than 500 rows; ask for the rest in another quote" in str(told[502][0])


def test_slots_of_very_many_chassis(copy_of_small: Path) -> None:
    count = 15_000
    with (copy_of_small / CHASSIS).open(newline="", encoding="utf-8") as file:
        header, row, *others = csv.reader(file)
    place = header.index("sku")
    more = [[*row[:place], f"X-{i}", *row[place + 1 :]] for i in range(count)]
    with (copy_of_small / CHASSIS).open("w", newline="", encoding="utf-8") as file:
        csv.writer(file, lineterminator="\n").writerows([header, row, *others, *more])
    with (copy_of_small / SLOTS).open("a", encoding="utf-8") as file:
        file.writelines(f"X-{i},{slot},3,8,low\n" for i in range(count) for slot in (2, 1))
    start = time.process_time()
    chassis = load_price_list(copy_of_small).chassis
    assert time.process_time() - start < SECONDS
    assert [slot.slot for slot in chassis["X-77"].slots] == [1, 2]


def test_tens_of_thousands_of_problems_are_counted_not_listed(copy_of_small: Path) -> None:
    path = copy_of_small / SLOTS
    header, row, *_ = path.read_text("utf-8").splitlines()
    path.write_text("\n".join([header, *[row] * 30_000, ""]), "utf-8")
    problems = read_folder(copy_of_small)[1]
    assert len(problems) == 29_999
    assert problems[-1].row == 30_001
    start = time.process_time()
    told = table(problems).splitlines()
    assert time.process_time() - start < SECONDS
    assert told[-1] == f"  and {29_999 - MOST_SHOWN} more in slots.csv"
    assert sum("is there already" in line for line in told) == MOST_SHOWN
    with pytest.raises(InputError) as caught:
        load_price_list(copy_of_small)
    assert str(caught.value).splitlines()[-1] == f"and {29_999 - MOST_SHOWN} more"
    assert len(caught.value.problems) == 29_999


def test_the_problems_of_another_file_are_not_crowded_out() -> None:
    many = [Problem("a.csv", row, "sku", "", "is blank", "fill it") for row in range(5000)]
    told = table([*many, Problem("b.csv", 7, "sku", "", "is blank", "fill it")]).splitlines()
    assert told[-3].startswith("b.csv")
    assert "7" in told[-1]
