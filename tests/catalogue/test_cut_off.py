"""Is a price list cut off in copying noticed, and whoever edits one left in peace?"""

from collections.abc import Callable
from dataclasses import fields
from pathlib import Path

import pytest

from quotelib.catalogue import price_list as reading
from quotelib.catalogue import tables
from quotelib.catalogue.price_list import PriceList, read_folder
from quotelib.catalogue.tables import Row
from quotelib.resources import starter_prices
from tests.catalogue.breaking import DRIVES, SERVICES, SLOTS, TERMS_TOML, Edit, cell, whole

CONTENTS = "contents.csv"
FILES = sorted(p.name for p in starter_prices().iterdir() if p.suffix in {".csv", ".toml"})


def lines(count: int) -> Callable[[bytes], bytes]:
    """Take lines from the end."""
    return lambda data: b"".join(data.splitlines(keepends=True)[:-count])


def same(one: PriceList, other: PriceList) -> bool:
    """Compare every value, not the bytes of the files."""
    names = (field.name for field in fields(PriceList) if field.name != "fingerprint")
    return all(getattr(one, name) == getattr(other, name) for name in names)


def keep_other_files(monkeypatch: pytest.MonkeyPatch, changing: str) -> None:
    """Make thousands of readings of one changing file quick: the other files are read once."""
    kept: dict[str, object] = {}
    read, read_terms = reading._read_file, reading._read_terms

    def keep(name: str, afresh: Callable[[], object]) -> object:
        if name == changing:
            return afresh()
        if name not in kept:
            kept[name] = afresh()
        return kept[name]

    def read_once(folder: Path, model: type[Row]) -> object:
        return keep(model.file_name, lambda: read(folder, model))

    monkeypatch.setattr(reading, "_read_file", read_once)
    monkeypatch.setattr(
        reading, "_read_terms", lambda folder: keep(TERMS_TOML, lambda: read_terms(folder))
    )


def test_every_file_is_tried() -> None:
    assert len(FILES) == 11
    assert CONTENTS in FILES


@pytest.mark.parametrize("end", [b"\n", b"\r\n"], ids=["LF", "CRLF"])
@pytest.mark.parametrize("file", FILES)
def test_every_cut_is_noticed_or_without_effect(
    file: str,
    end: bytes,
    copy_of_starter: Path,
    starter: PriceList,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    keep_other_files(monkeypatch, file)
    path = copy_of_starter / file
    data = path.read_bytes().replace(b"\n", end)
    path.write_bytes(data)
    assert read_folder(copy_of_starter)[1] == []
    # Every byte about a line's end, and of the first and last lines; within lines every seventh,
    # which falls on all places of a cell; with the line ends of a spreadsheet only those about.
    ends = {at for at in range(len(data)) if end in data[max(at - 2, 0) : at + 3]}
    if end == b"\n":
        ends |= {*range(300), *range(len(data) - 300, len(data)), *range(0, len(data), 7)}
    cuts = sorted(ends & {*range(len(data))})
    # Opening files is what takes the time of some thousands of readings, so it is left out.
    contents = {path.name: path.read_bytes() for path in copy_of_starter.iterdir()}

    def kept(path: Path, _: int = 0) -> bytes:
        if path.name not in contents:
            raise FileNotFoundError(path)
        return contents[path.name]

    for module in (tables, reading):
        monkeypatch.setattr(module, "read_bytes", kept)
    harmful = 0
    for at in cuts:
        contents[file] = data[:at]
        cut, problems = read_folder(copy_of_starter)
        if cut is None:
            harmful += 1
            assert any(p.file in {file, CONTENTS} for p in problems), (at, problems)
        else:
            assert same(cut, starter), f"{file} cut at {at} of {len(data)}"
    assert harmful >= len(cuts) - 2


@pytest.mark.parametrize(
    ("edit", "file", "words"),
    [
        (whole(DRIVES, lines(3)), DRIVES,
         "has 31 rows where contents.csv counts 34, so it looks cut off; copy the file again; if "
         "rows were taken out on purpose, put 31 for drives.csv into contents.csv"),
        (whole(DRIVES, lambda data: data[:-4]), DRIVES,
         "is a last line without an end, so the file looks cut off; copy the file again; if the "
         "line is whole, press Enter behind it and save"),
        (whole(TERMS_TOML, lines(3)), TERMS_TOML, "has 46 values where contents.csv counts 53"),
        (whole(TERMS_TOML, lambda data: data[:-2]), TERMS_TOML,
         "'soak_hours = 2' is a last line without an end"),
        (whole(CONTENTS, lines(2)), CONTENTS,
         "has no row for terms.toml, so it looks cut off itself"),
        (whole(CONTENTS, lambda data: b""), CONTENTS, "is empty or has no header row"),
        (cell(CONTENTS, 2, "file", "drive.csv"), CONTENTS, "'drive.csv' is no file of a price"),
        (cell(CONTENTS, 2, "file", SLOTS), CONTENTS, "'slots.csv' is there already"),
        (cell(CONTENTS, 2, "rows", "many"), CONTENTS, "'many' is not a number"),
    ],
)  # fmt: skip
def test_what_looks_cut_is_said(edit: Edit, file: str, words: str, copy_of_starter: Path) -> None:
    edit(copy_of_starter)
    price_list, problems = read_folder(copy_of_starter)
    assert price_list is None
    assert [words in str(p) for p in problems if p.file == file].count(True) == 1, problems


@pytest.mark.parametrize(
    "edit",
    [
        cell(DRIVES, 2, "unit_price", "81.50"),
        whole(SERVICES, lambda data: data + b"SVC-LABEL,Label the cables,build,5,4.00,6.00,,\n"),
        whole(SERVICES, lambda data: data.replace(b"\n", b"\r\n")),
        whole(SERVICES, lambda data: data + b"  "),
        whole(SERVICES, lambda data: data + b",,,,,\n\n"),
        lambda folder: (whole(SERVICES, lines(1))(folder), cell(CONTENTS, 8, "rows", "5")(folder)),
        lambda folder: (whole(SERVICES, lines(1))(folder), (folder / CONTENTS).unlink()),
    ],
    ids=["a cell", "a row more", "CRLF", "spaces behind", "blank rows", "confirmed", "no counts"],
)
def test_an_edit_is_left_in_peace(edit: Edit, copy_of_starter: Path) -> None:
    edit(copy_of_starter)
    assert read_folder(copy_of_starter)[1] == []


def test_the_counts_are_no_part_of_what_is_sold(copy_of_starter: Path, starter: PriceList) -> None:
    (copy_of_starter / CONTENTS).unlink()
    price_list, _ = read_folder(copy_of_starter)
    assert price_list == starter


def test_a_file_that_is_wrong_otherwise_is_not_called_short_too(copy_of_starter: Path) -> None:
    whole(DRIVES, lambda data: data.replace(b"sku,", b"skew,", 1))(copy_of_starter)
    assert {p.row for p in read_folder(copy_of_starter)[1] if p.file == DRIVES} == {1}
