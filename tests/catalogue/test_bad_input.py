"""Does every broken price list get the message it needs: place, value, why, what is right.

Each entry of the corpus breaks the small list in one way and names every problem that has to
be told for it, and no other.
"""

import shutil
from pathlib import Path

import pytest

from quotelib.catalogue.price_list import load_price_list, read_folder
from quotelib.errors import InputError, table
from tests.catalogue.breaking import (
    ACCESSORIES,
    CHASSIS,
    CONTROLLERS,
    DRIVES,
    SERVICES,
    SLOTS,
    TERMS_TOML,
    WORKLOADS,
    Broken,
    Edit,
    Told,
    agrees,
    cell,
    put,
    swap,
    terms,
    whole,
    without_column,
)
from tests.catalogue.broken_bounds import OF_BOUNDS
from tests.catalogue.broken_cells import IMPOSSIBLE, numbers, words_and_lists
from tests.catalogue.broken_columns import OPTIONAL
from tests.catalogue.broken_files import FILES, REFERENCES
from tests.catalogue.broken_terms import IN_TERMS
from tests.small_list import TABLES, TERMS, write

CORPUS = [*numbers(), *words_and_lists(), *IMPOSSIBLE, *REFERENCES, *FILES, *IN_TERMS, *OPTIONAL]
CORPUS += OF_BOUNDS


@pytest.mark.parametrize("entry", CORPUS, ids=lambda entry: entry.name)
def test_a_broken_price_list_is_told_what_is_wrong(entry: Broken, copy_of_small: Path) -> None:
    entry.edit(copy_of_small)
    price_list, problems = read_folder(copy_of_small)
    assert price_list is None
    listing = "\n".join(map(str, problems))
    for told in entry.told:
        assert sum(agrees(problem, told) for problem in problems) == 1, f"{told} in\n{listing}"
    assert len(problems) == len(entry.told), listing
    for problem in problems:
        assert problem.why
        assert problem.right
        assert "Error" not in str(problem)


def test_the_corpus_is_as_large_as_it_claims() -> None:
    assert len(CORPUS) >= 60
    assert len({entry.name for entry in CORPUS}) == len(CORPUS)


def test_what_is_sound_has_no_problem(copy_of_small: Path, copy_of_starter: Path) -> None:
    for folder in (copy_of_small, copy_of_starter):
        price_list, problems = read_folder(folder)
        assert problems == []
        assert price_list is not None


@pytest.mark.parametrize(
    "edit",
    [
        whole(DRIVES, lambda data: b"\xef\xbb\xbf" + data),
        whole(TERMS_TOML, lambda data: b"\xef\xbb\xbf" + data),
        whole(DRIVES, lambda data: data.replace(b"\n", b"\r\n")),
        whole(DRIVES, lambda data: data + b"\n\n" + b"," * 24 + b"\n"),
        whole(SLOTS, lambda data: data.replace(b"BOX-4,1,3,8,low", b" BOX-4 , 1,3 ,8,low ")),
        whole(SLOTS, lambda data: data.replace(b"BOX-4,1,3,8,low", b'"BOX-4","1","3","8","low"')),
        without_column(CONTROLLERS, "max_iops"),
        without_column(CHASSIS, "board_controller"),
        cell(DRIVES, 2, "width_in", "3.50"),
        cell(DRIVES, 2, "unit_price", "1e2"),
        cell(DRIVES, 2, "bit_error_rate", ""),
        terms("EUR = 1.164", "EUR = 1.164\nGBP = 1"),
        lambda folder: (folder / "notes.txt").write_text("not ours"),
        put(
            DRIVES, 3, x_shelf="B\u200b7", x_shelf_row="", link_gbit_s="12", condition="refurbished"
        ),
        put(DRIVES, 2, last_buy="2026-03-02", replaced_by="DISK-8T"),
        put(DRIVES, 5, lanes="2"),
        put(CONTROLLERS, 3, family="Alder", imports="Alder", grows="5;6", connector_lanes="8"),
        put(ACCESSORIES, 2, with_="BOX-12;DISK-8T", interfaces="sas;nvme", per="4"),
        put(SLOTS, 2, connector_lanes="16", needs_processors="2"),
        terms("S = 20", 'S = 20\nx_T = "old"\nx_U = {a = 1}'),
        terms("[risk]", "[x_keeper]\nanything = [1, 2]\n\n[risk]\nx_note = true"),
        terms("[risk]", "[bench]\nholidays = [2026-12-25, '2026-12-28']\n\n[risk]"),
    ],
    ids=[
        "byte order mark",
        "byte order mark in TOML",
        "CRLF",
        "blank rows",
        "spaces",
        "quotes",
        "optional column missing",
        "another optional column missing",
        "3.50 inches",
        "exponent",
        "blank optional cell",
        "own currency at 1",
        "another file",
        "the keeper's own columns",
        "last buy",
        "lanes",
        "families",
        "accessories by drives",
        "slots",
        "the keeper's own keys",
        "the keeper's own table",
        "holidays",
    ],
)
def test_what_is_allowed(edit: Edit, copy_of_small: Path) -> None:
    edit(copy_of_small)
    assert read_folder(copy_of_small)[1] == []


def test_a_folder_that_is_not_there(tmp_path: Path) -> None:
    (problem,) = read_folder(tmp_path / "nowhere")[1]
    assert "nowhere: does not exist; name a folder that holds a price list" in str(problem)


def test_a_file_in_place_of_a_folder(copy_of_small: Path) -> None:
    (problem,) = read_folder(copy_of_small / DRIVES)[1]
    assert "drives.csv: is not a folder; name a folder that holds a price list" in str(problem)


def test_an_empty_folder(tmp_path: Path) -> None:
    problems = read_folder(tmp_path)[1]
    assert [p.file for p in problems] == [*TABLES, TERMS_TOML]
    assert {p.why for p in problems} == {"is missing"}


def test_ten_faults_are_told_at_once(copy_of_starter: Path) -> None:
    # One of each sort, in every file, on the list that ships with the package.
    faults: list[tuple[Edit, Told]] = [
        (
            swap(DRIVES, "5.1,620,63.50,78.00", '5.1,620,63.50,"78,00"'),
            (DRIVES, 2, "unit_price", "has a comma in it"),
        ),
        (swap(DRIVES, "7200 rpm,hdd,sata,3.5,4000,512,", "7200 rpm,hdd,sata,3.5,4000,520,"),
         (DRIVES, 3, "block_bytes", "use 512 or 4096")),
        (swap(DRIVES, "8000,512,7200,8.4,246", "8000,512,,8.4,246"),
         (DRIVES, 4, "rpm", "is blank for a disk")),
        (swap(CONTROLLERS, "mezzanine\",pass_through,,0", "mezzanine\",pass_through,1,0"),
         (CONTROLLERS, 4, "levels", "are listed for a pass-through adapter")),
        (swap(CHASSIS, "0,CTL-BOARD-6,350", "0,CTL-BOARD-7,350"),
         (CHASSIS, 2, "board_controller", "is not in controllers.csv")),
        (swap(SLOTS, "CHS-1U-4L,1,3,8,low", "CHS-1U-4L,1,3,7,low"),
         (SLOTS, 2, "lanes", "is not a lane count")),
        (swap(ACCESSORIES, "carrier,CHS-1U-8N;", "carrier,CHS-1U-9N;"),
         (ACCESSORIES, 16, "needed_by", "is neither a drive, a controller, a chassis nor an opt")),
        (swap(SERVICES, "build,25,22.50,30.00", "build,25,22.50,-30.00"),
         (SERVICES, 10, "unit_price", "is negative")),
        (swap(WORKLOADS, "block_kib,outstanding", "block_kb,outstanding"),
         (WORKLOADS, 1, "block_kb", "is not a known column")),
        (swap(TERMS_TOML, "S = 20.0", "S = 200.0"), (TERMS_TOML, None, "tax.S", "is too large")),
    ]  # fmt: skip
    for edit, _ in faults:
        edit(copy_of_starter)
    price_list, problems = read_folder(copy_of_starter)
    assert price_list is None
    for _, told in faults:
        assert sum(agrees(problem, told) for problem in problems) == 1, told
    # Beside the ten there is only the other half of the renamed column.
    (other,) = [p for p in problems if not any(agrees(p, told) for _, told in faults)]
    assert (other.column, other.why) == ("block_kib", "is a column that is missing")
    files = [p.file for p in problems]
    assert files == sorted(files, key=[*TABLES, TERMS_TOML].index)

    # and the readable table names every one of them
    text = table(problems)
    assert all(f"\n{file}\n" in f"\n{text}" for file in [*TABLES, TERMS_TOML])
    assert max(map(len, text.splitlines())) <= 100


def test_loading_raises_with_every_problem(copy_of_small: Path) -> None:
    cell(DRIVES, 2, "unit_price", "x")(copy_of_small)
    cell(SERVICES, 2, "unit_price", "y")(copy_of_small)
    with pytest.raises(InputError) as caught:
        load_price_list(copy_of_small)
    assert [p.value for p in caught.value.problems] == ["x", "y"]


def test_a_changed_file_is_read_again(tmp_path: Path) -> None:
    folder = write(tmp_path / "prices")
    before = load_price_list(folder)
    assert load_price_list(folder) is before
    shutil.rmtree(folder)
    write(folder, terms=TERMS.replace("quote_valid_days = 30", "quote_valid_days = 14"))
    after = load_price_list(folder)
    assert (before.terms.quote_valid_days, after.terms.quote_valid_days) == (30, 14)
    assert before.fingerprint != after.fingerprint


def test_a_message_stays_on_one_line_and_short(copy_of_small: Path) -> None:
    hostile = "\x1b[31mred\n" + "x" * 5000
    cell(DRIVES, 2, "unit_price", hostile)(copy_of_small)
    cell(CONTROLLERS, 3, "levels", hostile)(copy_of_small)
    problems = read_folder(copy_of_small)[1]
    assert len(problems) == 2
    for problem in problems:
        assert str(problem).isprintable()
        assert len(str(problem)) < 300
